//! Equations that are called on their own only by tests against outside references.

use loopdrift::bore::{Bore, HeatCapacityInside};
use loopdrift::fluid::Fluid;
use loopdrift::ground::{Ground, check_instants};
use loopdrift::ground_side::GroundSideKind;
use loopdrift::ground_side::well::well_function as function_of;
use loopdrift::prepared::pond::outside_film as film_of;
use pyo3::prelude::*;

use crate::bore::state_and_resistances;
use crate::convert::{Numbers, Valid};
use crate::error::{InvalidInput, to_python};
use crate::trench::trenches;

/// p x Laplace{g} of fluid and wall at each p, from that of the ground below line sources.
#[pyfunction]
#[pyo3(signature = (bore, ground, fluid, *, flow, temperature, p, ground_response))]
pub fn bore_first_hours(
    bore: Valid<Bore>,
    ground: Valid<Ground>,
    fluid: Valid<Fluid>,
    flow: f64,
    temperature: f64,
    p: Numbers,
    ground_response: Numbers,
) -> PyResult<(Numbers, Numbers)> {
    let (state, found) = state_and_resistances(&bore.0, &ground.0, &fluid.0, flow, temperature)?;
    let Some(inside) = HeatCapacityInside::new(&bore.0, &ground.0, &state, &found) else {
        let allowed = "must be true, in a bore of pipes and grout";
        return Err(InvalidInput::new_err(("Bore", "heat_capacity_inside", "False", "", allowed)));
    };
    let pairs = p.0.into_iter().zip(ground_response.0);
    let (fluid, wall) = pairs.map(|(p, ground)| <(f64, f64)>::from(inside.fluid_and_wall(p, ground))).unzip();
    Ok((Numbers(fluid), Numbers(wall)))
}

/// Response of one pipe of a trench to the heat of another, exact in time.
#[pyfunction]
pub fn trench_source(
    py: Python<'_>,
    field: Valid<GroundSideKind>,
    ground: Valid<Ground>,
    times: Numbers,
) -> PyResult<Numbers> {
    let field = trenches(field)?;
    check_instants("trench_source", &times.0).map_err(to_python)?;
    let at = |&time: &f64| field.source(&ground.0, time, [0, 0]);
    Ok(Numbers(py.detach(|| times.0.iter().map(at).collect())))
}

/// The well function at each argument above 0.
#[pyfunction]
pub fn well_function(u: Numbers) -> Numbers {
    Numbers(u.0.into_iter().map(function_of).collect())
}

/// Film coefficient of water around a horizontal pipe.
#[pyfunction]
pub fn outside_film(
    diameter: f64,
    water: Valid<Fluid>,
    water_temperature: f64,
    pipe_temperature: f64,
) -> f64 {
    film_of(diameter, &water.0, water_temperature, pipe_temperature)
}
