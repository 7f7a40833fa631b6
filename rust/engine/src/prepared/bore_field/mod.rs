//! Bore fields prepared for runs, and the ground around them afterwards.

mod ground_history;
mod inside_error;
mod inside_history;
mod single_bore;

pub use ground_history::{GroundHistory, GroundState, HeatSources};
pub use inside_error::InsideError;
pub use single_bore::single_bore;

use std::f64::consts::TAU;

use rayon::prelude::*;

use super::conduction::{Responses, Undisturbed, drop_per_watt};
use super::{Prepare, PreparedGroundSide, ResistanceTable, ShapeResponse};
use crate::bore::{Bore, HeatCapacityInside, Resistances, films, resistances, resistances_over};
use crate::cancel_token::CancelToken;
use crate::design::Design;
use crate::error::Error;
use crate::fluid::{Fluid, FluidState};
use crate::ground::{Ground, LaplaceCurve, Shape};
use crate::ground_side::Description;
use crate::ground_side::bore_field::BoreField;
use crate::history::TabulatedResponse;

impl Prepare for BoreField {
    fn prepare(
        &self,
        design: &Design,
        hours: usize,
        response: &ShapeResponse,
    ) -> Result<Box<dyn PreparedGroundSide>, Error> {
        let Design { ground, fluid, flow, .. } = design;
        let (shape, slower) = self.shape(ground, hours);
        let curve = response(&shape)?.slowed(slower);
        Ok(Box::new(Responses::of_curve(&curve, self, ground, fluid, *flow, hours)?))
    }

    fn response_shape(&self, ground: &Ground, hours: usize) -> Option<Shape> {
        Some(self.shape(ground, hours).0)
    }

    fn side_by_side(&self) -> Option<&'static str> {
        Some("bore fields")
    }
}

impl Responses {
    /// Prepares a field for runs of `hours` hours with a total mass `flow` (kg/s).
    ///
    /// The bores share the flow equally. If they store heat, the responses are those with the resistance at the
    /// undisturbed temperature, and deviations of the resistance act at once: [`InsideError`] gives the resulting
    /// error.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] for an unsuitable flow or field.
    pub fn new(
        field: &BoreField,
        ground: &Ground,
        fluid: &Fluid,
        flow: f64,
        hours: usize,
    ) -> Result<Self, Error> {
        let (shape, slower) = field.shape(ground, hours);
        Self::of_curve(
            &shape.response(&CancelToken::default())?.slowed(slower),
            field,
            ground,
            fluid,
            flow,
            hours,
        )
    }

    /// The same for a known step response over the horizon: `curve`.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] for an unsuitable flow or field.
    pub fn of_curve(
        curve: &LaplaceCurve,
        field: &BoreField,
        ground: &Ground,
        fluid: &Fluid,
        flow: f64,
        hours: usize,
    ) -> Result<Self, Error> {
        let undisturbed = field.undisturbed(ground);
        let drop_per_watt = drop_per_watt(ground, field.total_depth());
        let tabulated =
            |response: &LaplaceCurve| TabulatedResponse::new(hours, |time| response.step_response(time));

        let (resistance, inside) = mean_bore(field, ground, fluid, flow)?;
        let (wall, fluid_table) = match &inside {
            Some(inside) => {
                let steady = TAU * ground.conductivity * resistance.effective;
                let [fluid, wall] = curve.map(|p, response| {
                    let [fluid, wall] = inside.fluid_and_wall(p, response);
                    [fluid - steady, wall]
                });
                (tabulated(&wall), Some(tabulated(&fluid)))
            }
            None => (tabulated(curve), None),
        };

        let resistances = resistance_table(field, ground, fluid, flow)?;
        let inside = inside.map(|_| InsideError {
            curve: curve.clone(),
            bore: mean_bore_of(field),
            ground: ground.clone(),
            fluid: fluid.clone(),
            flow: flow / field.count() as f64,
            undisturbed,
            drop_per_watt,
        });
        let prepared = Self::over(
            hours,
            Undisturbed::new(vec![undisturbed], ground, hours)?,
            drop_per_watt,
            curve.error(),
            wall,
            fluid_table,
            resistances,
        );
        Ok(prepared.with_inside(inside))
    }
}

/// A bore of the field's mean depth.
fn mean_bore_of(field: &BoreField) -> Bore {
    Bore { depth: field.total_depth() / field.count() as f64, ..field.bores[0] }
}

/// Resistances of a bore of the field's mean depth with its share of the flow, at the undisturbed temperature, and its
/// inside if it stores heat.
fn mean_bore(
    field: &BoreField,
    ground: &Ground,
    fluid: &Fluid,
    flow: f64,
) -> Result<(Resistances, Option<HeatCapacityInside>), Error> {
    let (count, bore) = (field.count() as f64, mean_bore_of(field));
    let state = fluid.at(field.undisturbed(ground));
    let resistances = resistances(&bore, ground.conductivity, &state, flow / count)?;
    let inside = HeatCapacityInside::new(&bore, ground, &state, &resistances);
    Ok((resistances, inside))
}

/// Resistance of the whole field and kelvins per watt of the flow over the temperatures of the fluid's table.
///
/// The bores are in parallel between one fluid and one wall: their conductances add up.
fn resistance_table(
    field: &BoreField,
    ground: &Ground,
    fluid: &Fluid,
    flow: f64,
) -> Result<ResistanceTable, Error> {
    let bore_flow = flow / field.count() as f64;
    let alike = field.count() / field.bores.len();
    let resistances = |states: &[FluidState]| {
        let of_one_bore = resistances_over(&field.bores[0], ground.conductivity, states, bore_flow)?;
        let of_field = |(state, of_one_bore): (&FluidState, &Resistances)| {
            let effective =
                |bore: &Bore| of_one_bore.effective_over(bore.depth, bore_flow * state.heat_capacity);
            let conductance: f64 =
                field.bores.iter().map(|bore| alike as f64 * bore.depth / effective(bore)).sum();
            let resistance = 1.0 / conductance;
            if resistance <= 0.5 / (flow * state.heat_capacity) {
                let least = 0.5 / (resistance * state.heat_capacity);
                let allowed = format!(
                    "must be above {least:.3} kg/s: with less, the fluid would cool or warm past the wall temperature"
                );
                return Err(Error::invalid("Design", "flow", flow, "kg/s", allowed));
            }
            Ok(resistance)
        };
        states.par_iter().zip(&of_one_bore).map(of_field).collect()
    };
    let reynolds = |state: &FluidState| {
        films(&field.bores[0], state, bore_flow).into_iter().map(|film| film.reynolds).collect()
    };
    ResistanceTable::new(fluid, flow, reynolds, resistances)
}
