//! A bore field made ready for runs, and the check of what a run lost.

use std::f64::consts::TAU;
use std::sync::Arc;

use rayon::prelude::*;

use super::memory::BoreFieldMemory;
use super::resistance_table::ResistanceTable;
use super::{BoreField, drop_per_watt};
use crate::bore::{Bore, HeatCapacityInside, resistances};
use crate::error::Error;
use crate::fluid::Fluid;
use crate::ground::{Ground, LaplaceCurve};
use crate::history::{Ladder, Response, TabulatedResponse, impulse, superpose};
use crate::hourly::Hourly;

/// Largest differences between a run's temperatures and exact superposition of the same heat [K].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RunError {
    /// What the exponentials lost: mean fluid temperature, and so entering and leaving fluid temperature.
    pub exponentials: f64,
    /// What tabulation of the step response lost: the difference that half as many points make, an upper bound.
    pub tabulation: f64,
}

/// Step responses and resistances of a field over a horizon: all that stepping needs.
#[derive(Debug, Clone)]
pub struct Responses {
    pub(super) undisturbed: f64,
    drop_per_watt: f64,
    wall: TabulatedResponse,
    /// Response of the fluid less the bore's resistance; `None` where bores store no heat, so that it is the wall's.
    fluid: Option<TabulatedResponse>,
    pub(super) resistances: ResistanceTable,
    pub(super) ladder: Arc<Ladder>,
    /// Response of the fluid [K/W].
    pub(super) fluid_response: Response,
}

impl Responses {
    /// Makes a field ready for runs of `hours` hours with a total mass `flow` [kg/s].
    ///
    /// All bores have the same share of the flow. Where bores store heat, the responses are those with the resistance at the
    /// undisturbed temperature, and what the resistance differs from that acts at once.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] for what the flow or the field can't do.
    pub fn new(
        field: &BoreField,
        ground: &Ground,
        fluid: &Fluid,
        flow: f64,
        hours: usize,
    ) -> Result<Self, Error> {
        let (shape, slower) = field.shape(ground, hours);
        Self::of_curve(&shape.response()?.slowed(slower), field, ground, fluid, flow, hours)
    }

    /// The same where the field's step response over the horizon is known: `curve`.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] for what the flow or the field can't do.
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

        let mean_depth = field.total_depth() / field.count() as f64;
        let mean_bore = Bore { depth: mean_depth, ..field.bores[0] };
        let state = fluid.at(undisturbed);
        let resistance = resistances(&mean_bore, ground.conductivity, &state, flow / field.count() as f64)?;
        let (wall, fluid_table) = match HeatCapacityInside::new(&mean_bore, ground, &state, &resistance) {
            Some(inside) => {
                let steady = TAU * ground.conductivity * resistance.effective;
                let wall = curve.map(|p, response| inside.wall(p, response));
                let fluid = curve.map(|p, response| inside.fluid(p, response) - steady);
                (tabulated(&wall), Some(tabulated(&fluid)))
            }
            None => (tabulated(curve), None),
        };

        let ladder = Ladder::for_horizon(hours);
        let fluid_response = ladder.fit(fluid_table.as_ref().unwrap_or(&wall)).times(drop_per_watt);
        let resistances = resistance_table(field, ground, fluid, flow)?;
        Ok(Self { undisturbed, drop_per_watt, wall, fluid: fluid_table, resistances, ladder, fluid_response })
    }

    /// The field at rest.
    #[must_use]
    pub fn at_rest(&self) -> BoreFieldMemory<1> {
        BoreFieldMemory::at_rest([self])
    }

    /// Superposes the heat that a run found exactly: the wall temperature [degC] of each hour, and what the run's fluid
    /// temperatures lost.
    #[must_use]
    pub fn wall_and_error(&self, hourly: &Hourly) -> (Vec<f64>, RunError) {
        let hours = hourly.len();
        let coarse = self.wall.halved();
        let tables: Vec<_> = [&self.wall, &coarse].into_iter().chain(&self.fluid).collect();
        let answers: Vec<_> = tables.into_par_iter().map(|table| impulse(&table.hourly(hours))).collect();
        let drops = superpose(&hourly.heat_extracted, &answers);
        let (wall_drop, coarse_drop) = (&drops[0], &drops[1]);
        let fluid_drop = drops.get(2).unwrap_or(wall_drop);
        let largest =
            |difference: &dyn Fn(usize) -> f64| (0..hours).map(|n| difference(n).abs()).fold(0.0, f64::max);

        let mean = |n: usize| 0.5 * (hourly.entering_fluid[n] + hourly.leaving_fluid[n]);
        let exponentials = largest(&|n| {
            let before = if n < 2 { self.undisturbed } else { mean(n - 2) };
            let (resistance, _) = self.resistances.at(before);
            let heat = hourly.heat_extracted[n];
            self.undisturbed - self.drop_per_watt * fluid_drop[n] - resistance * heat - mean(n)
        });
        let tabulation = largest(&|n| self.drop_per_watt * (wall_drop[n] - coarse_drop[n]));
        let wall = wall_drop.iter().map(|drop| self.undisturbed - self.drop_per_watt * drop).collect();
        (wall, RunError { exponentials, tabulation })
    }
}

/// Step of the table of bore resistances [K].
const TEMPERATURE_STEP: f64 = 1.0;

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
    let [first, last] = fluid.temperatures();
    let steps = ((last - first) / TEMPERATURE_STEP).ceil().max(1.0);
    let rows = (0..=steps as usize).into_par_iter().map(|row| {
        let temperature = first + row as f64 * TEMPERATURE_STEP;
        let state = fluid.at(temperature);
        let mut conductance = 0.0;
        for bore in &field.bores {
            let resistance = resistances(bore, ground.conductivity, &state, bore_flow)?;
            conductance += alike as f64 * bore.depth / resistance.effective;
        }
        let kelvins_per_watt = 1.0 / (flow * state.heat_capacity);
        let resistance = 1.0 / conductance;
        if resistance <= 0.5 * kelvins_per_watt {
            let least = 0.5 / (resistance * state.heat_capacity);
            let allowed = format!(
                "must be above {least:.3} kg/s: with less, the fluid would leave the bores beyond their wall"
            );
            return Err(Error::invalid("Design", "flow", flow, "kg/s", allowed));
        }
        Ok([resistance, kelvins_per_watt])
    });
    let rows = rows.collect::<Result<Vec<_>, Error>>()?;
    Ok(ResistanceTable::new(first, TEMPERATURE_STEP, &rows))
}
