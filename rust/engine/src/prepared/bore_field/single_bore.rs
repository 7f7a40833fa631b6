//! Step responses of one bore, as a run of it uses them.

use std::f64::consts::TAU;

use crate::bore::{Bore, HeatCapacityInside, resistances};
use crate::cancel_token::CancelToken;
use crate::error::Error;
use crate::fluid::Fluid;
use crate::ground::{Ground, LineSource, Shape, check_instants, span};

/// Step responses of the mean fluid and of the wall of a single bore at `times` (s), with the mass `flow` (kg/s) of a
/// fluid at one `temperature` (degC).
///
/// Both are dimensionless: 2 pi k x temperature drop per W/m extracted from the fluid. The fluid's contains the
/// effective resistance. Without heat capacity inside, the wall follows the ground alone, and the fluid is lower by the
/// resistance from the first moment on.
///
/// # Errors
/// [`Error::InvalidInput`] for an unsuitable time, flow or bore.
pub fn single_bore(
    bore: &Bore,
    ground: &Ground,
    fluid: &Fluid,
    flow: f64,
    temperature: f64,
    times: &[f64],
) -> Result<[Vec<f64>; 2], Error> {
    check_instants("bore_response", times)?;
    if times.is_empty() {
        return Ok([Vec::new(), Vec::new()]);
    }
    let source = LineSource { depth: bore.depth, buried_depth: bore.buried_depth, radius: bore.radius() };
    let state = fluid.at(temperature);
    let resistances = resistances(bore, ground.conductivity, &state, flow)?;
    let (shape, slower) = Shape::of(ground, &[source], &[[0.0, 0.0]], &[], &span(times));
    let curve = shape.response(&CancelToken::default())?.slowed(slower);
    let steady = TAU * ground.conductivity * resistances.effective;
    let [fluid, wall] = match HeatCapacityInside::new(bore, ground, &state, &resistances) {
        Some(inside) => curve.map(|p, response| inside.fluid_and_wall(p, response)),
        None => curve.map(|_, response| [response + steady, response]),
    };
    Ok([fluid, wall].map(|curve| times.iter().map(|&time| curve.step_response(time)).collect()))
}
