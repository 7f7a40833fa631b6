//! Trench fields prepared for runs.

use std::f64::consts::TAU;
use std::ops::RangeInclusive;

use complex_bessel::besselk;
use faer::c64;

use super::conduction::{Responses, Undisturbed, drop_per_watt};
use super::{Prepare, PreparedGroundSide, ResistanceTable, ShapeResponse};
use crate::bore::{exchanged_along, in_pipe, pipe_resistance};
use crate::design::Design;
use crate::error::Error;
use crate::fluid::{Fluid, FluidState};
use crate::ground::{
    Ground, LaplaceCurve, Sources, SurfaceWave, check_instants, no_load_weights, response_in_time, span,
    trench_response,
};
use crate::ground_side::Description;
use crate::ground_side::trench_field::{Coil, Laid, TrenchField, lines};
use crate::history::{HOUR, TabulatedResponse};
use crate::loads::HOURS_PER_YEAR;

/// Points around an upright ring: the trapezoid rule averages a smooth wave exactly, to rounding.
const AROUND_RING: usize = 64;

impl Prepare for TrenchField {
    fn prepare(
        &self,
        design: &Design,
        hours: usize,
        _response: &ShapeResponse,
    ) -> Result<Box<dyn PreparedGroundSide>, Error> {
        let Design { ground, fluid, flow, .. } = design;
        Ok(Box::new(Responses::of_trenches(self, ground, fluid, *flow, design.start_hour(), hours)?))
    }

    fn side_by_side(&self) -> Option<&'static str> {
        Some("trench fields")
    }
}

impl Responses {
    /// Prepares a trench field for runs of `hours` hours from the hour `start` of the calendar year on, with a total
    /// mass `flow` (kg/s).
    ///
    /// The pipes share the flow equally. The step response is that with the resistance at the annual mean temperature,
    /// and deviations of the resistance act at once. Nothing inside the pipes stores heat.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] for an unsuitable flow or field.
    pub fn of_trenches(
        field: &TrenchField,
        ground: &Ground,
        fluid: &Fluid,
        flow: f64,
        start: usize,
        hours: usize,
    ) -> Result<Self, Error> {
        let resistance = field.resistance(&fluid.at(field.undisturbed(ground)), flow)?;
        let curve = field.response(ground, resistance, &(HOUR..=hours as f64 * HOUR))?;
        let wall = TabulatedResponse::new(hours, |time| curve.step_response(time));
        let of_year = field.undisturbed_hours(ground, resistance, start)?;
        let undisturbed = Undisturbed::new(of_year, ground, hours)?;
        let drop_per_watt = drop_per_watt(ground, field.total_length());
        let resistances = field.resistance_table(fluid, flow)?;
        let error = curve.error();
        let prepared = Self::over(hours, undisturbed, drop_per_watt, error, wall, None, resistances);
        Ok(prepared.in_soil())
    }
}

impl TrenchField {
    fn total_length(&self) -> f64 {
        self.circuits() as f64 * self.circuit_length()
    }

    /// Resistance from the mean of entering and leaving fluid to the outside of the pipes, per metre of pipe (m K/W).
    fn resistance(&self, state: &FluidState, flow: f64) -> Result<f64, Error> {
        let each = flow / self.circuits() as f64;
        let local = pipe_resistance(&self.pipe, state, each)?.local;
        Ok(exchanged_along(local, self.circuit_length(), each * state.heat_capacity))
    }

    /// Resistance of all pipes and kelvins per watt of the flow over the temperatures of the fluid's table.
    fn resistance_table(&self, fluid: &Fluid, flow: f64) -> Result<ResistanceTable, Error> {
        let resistances = |states: &[FluidState]| {
            states.iter().map(|state| Ok(self.resistance(state, flow)? / self.total_length())).collect()
        };
        let each = flow / self.circuits() as f64;
        ResistanceTable::new(
            fluid,
            flow,
            |state| vec![in_pipe(&self.pipe, state, each).reynolds],
            resistances,
        )
    }

    /// Step response p x Laplace{g} of the mean wall temperature of the pipes over `times` (s), for a `resistance` of
    /// one metre of pipe (m K/W); g is the drop x 2 pi k / (mean heat per metre of pipe).
    ///
    /// # Errors
    /// [`Error::InvalidInput`] if pipes are too close for the equations to be solved.
    pub fn response(
        &self,
        ground: &Ground,
        resistance: f64,
        times: &RangeInclusive<f64>,
    ) -> Result<LaplaceCurve, Error> {
        trench_response(ground, &*self.sources(), self.rows(), resistance, times)
    }

    /// The same step response at times (s), in any order.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] for a resistance or a time outside the supported range.
    pub fn response_at(&self, ground: &Ground, resistance: f64, times: &[f64]) -> Result<Vec<f64>, Error> {
        const OWNER: &str = "trench_response";
        check_instants(OWNER, times)?;
        if !(0.0..=100.0).contains(&resistance) {
            let allowed = "must be from 0 to 100 m K/W";
            return Err(Error::invalid(OWNER, "resistance", resistance, "m K/W", allowed));
        }
        if times.is_empty() {
            return Ok(Vec::new());
        }
        let curve = self.response(ground, resistance, &span(times))?;
        Ok(times.iter().map(|&time| curve.step_response(time)).collect())
    }

    /// Drop x 2 pi k / (heat per metre) at one pipe of a trench due to the heat of another, in the absence of all
    /// others, at a time (s); pipes are counted from 0.
    #[must_use]
    pub fn source(&self, ground: &Ground, time: f64, pipes: [usize; 2]) -> f64 {
        response_in_time(ground, &*self.sources(), time, 0.0, pipes)
    }

    fn sources(&self) -> Box<dyn Sources> {
        let radius = self.pipe.outer_diameter / 2.0;
        match &self.laid {
            Laid::Straight { pipes } => Box::new(lines(pipes, self.length, radius)),
            Laid::Coil(coil) => Box::new(coil.sources(self.length, radius)),
        }
    }

    /// Temperature of the fluid without heat in each hour of a year that begins in the hour `start` of the calendar
    /// year (degC).
    fn undisturbed_hours(&self, ground: &Ground, resistance: f64, start: usize) -> Result<Vec<f64>, Error> {
        let mean = self.undisturbed(ground);
        let phasor = self.phasor(ground, resistance)?;
        let at_end = |hour: usize| ((start + hour) % HOURS_PER_YEAR + 1) as f64 * HOUR;
        Ok((0..HOURS_PER_YEAR).map(|hour| mean + SurfaceWave::departure(phasor, at_end(hour))).collect())
    }

    /// The surface's wave at a fluid without heat.
    ///
    /// The ends of the trenches are neglected here: the wave penetrates only a few metres.
    fn phasor(&self, ground: &Ground, resistance: f64) -> Result<c64, Error> {
        match &self.laid {
            Laid::Straight { pipes } => {
                // p x Laplace{h} of an infinite line is K0(r sqrt(p / a)) (Carslaw & Jaeger 1959, section 10.3), here
                // at p = i omega.
                let root = (c64::new(0.0, SurfaceWave::FREQUENCY) / ground.diffusivity()).sqrt();
                let response = |distance: f64| besselk(0.0, root * distance).unwrap_or(c64::ZERO);
                let own = TAU * ground.conductivity * resistance;
                let sources = lines(pipes, self.length, self.pipe.outer_diameter / 2.0);
                let weights = no_load_weights(&sources, self.rows(), own, response)?;
                let waves = pipes.iter().map(|[_, depth]| self.surface.phasor(*depth, ground));
                Ok(weights.into_iter().zip(waves).map(|(weight, wave)| weight * wave).sum())
            }
            Laid::Coil(Coil { diameter, depth, upright, .. }) => {
                let rise = if *upright { diameter / 2.0 } else { 0.0 };
                let around = |point: usize| {
                    let cos = (TAU * point as f64 / AROUND_RING as f64).cos();
                    self.surface.phasor(depth + rise * cos, ground)
                };
                Ok((0..AROUND_RING).map(around).sum::<c64>() / AROUND_RING as f64)
            }
        }
    }
}

#[cfg(test)]
mod tests;
