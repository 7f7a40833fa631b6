//! Ponds prepared for runs.

mod basin;
mod bed;
mod body;
mod coils;
mod hours;
mod radiation;
mod sky;
mod state;
mod surface;
mod vapour;

pub use coils::outside_film;
pub use state::PondState;

use std::sync::Arc;

use multiversion::multiversion;

use super::single_hours::step_single_hours;
use super::{GroundSideResults, HourByHour, Prepare, PreparedGroundSide, ShapeResponse, Stepped};
use crate::cancel_token::CancelToken;
use crate::design::Design;
use crate::error::Error;
use crate::fluid::Fluid;
use crate::ground::Ground;
use crate::ground_side::Description;
use crate::ground_side::fresh_water::HEAT_CAPACITY;
use crate::ground_side::pond::Pond;
use crate::history::HOUR;
use crate::hourly::Hourly;
use crate::stepper::Course;
use basin::{Basin, LAYERS};
use bed::Bed;
use body::{Body, WaterState};
use coils::Coils;
use sky::Above;

/// Years without heat before a run begins, which eliminate the effect of the initial state.
const YEARS_BEFORE: usize = 3;

/// A pond with everything that can be computed before the first hour.
#[derive(Debug, Clone)]
pub struct PreparedPond {
    ground: Ground,
    body: Body,
    coils: Coils,
    /// The weather's year, starting with the run's first hour.
    above: Vec<Above>,
    /// The water at the beginning of that hour.
    water: WaterState,
}

impl Prepare for Pond {
    fn prepare(
        &self,
        design: &Design,
        _hours: usize,
        _response: &ShapeResponse,
    ) -> Result<Box<dyn PreparedGroundSide>, Error> {
        let Design { ground, fluid, flow, .. } = design;
        Ok(Box::new(Arc::new(PreparedPond::new(self, ground, fluid, *flow, design.start_hour())?)))
    }
}

impl PreparedGroundSide for Arc<PreparedPond> {
    fn run(
        &self,
        course: &Course,
        hourly: &mut Hourly,
        token: &CancelToken,
    ) -> Result<(Stepped, GroundSideResults), Error> {
        let hours = hourly.len();
        let mut state = self.initial(hours);
        let stepped = step_single_hours(&mut state, course, hours, Some(hourly), token)?;
        Ok((stepped, state.results(&hourly.heat_extracted)))
    }

    fn step(&self, course: &Course, hours: usize, token: &CancelToken) -> Result<Stepped, Error> {
        let mut state = self.initial(hours);
        let stepped = step_single_hours(&mut state, course, hours, None, token)?;
        Ok(Stepped { criteria: state.criteria(), ..stepped })
    }

    fn hour_by_hour(&self, _hours: usize) -> Box<dyn HourByHour> {
        Box::new(self.initial(0))
    }
}

impl PreparedPond {
    /// Prepares a pond for runs that begin in the hour `start` of the calendar year, with a total mass `flow` (kg/s).
    ///
    /// # Errors
    /// [`Error::InvalidInput`] for an unsuitable flow.
    pub fn new(pond: &Pond, ground: &Ground, fluid: &Fluid, flow: f64, start: usize) -> Result<Self, Error> {
        let basin = Basin::new(pond);
        let mut above = Above::all(&pond.weather, &basin);
        let hours = above.len();
        above.rotate_left(start % hours);
        let mean = pond.undisturbed(ground);
        let inflow = [pond.inflow * HEAT_CAPACITY, pond.inflow_temperature.unwrap_or(0.0)];
        let body = Body::new(basin, ground, HOUR, inflow);
        let water = WaterState {
            layers: [mean; LAYERS],
            ice: 0.0,
            surface: mean,
            columns: Bed::even(0.5 * (mean + body.deep())),
        };
        let coils = Coils::new(pond, fluid, flow)?;
        let water = without_heat(&body, water, &above, YEARS_BEFORE * hours);
        Ok(Self { ground: ground.clone(), body, coils, above, water })
    }

    /// Error of hourly steps for the water at the coils in the first year of a run (K): twice the difference from
    /// half-hourly steps, because the error of an implicit step is proportional to its length.
    fn step_error(&self, heat: &[f64], at_coils: &[f64]) -> f64 {
        2.0 * self.difference_from_steps(2, heat, at_coils)
    }

    /// Largest difference between the water at the coils (degC) and that with `count` steps per hour for the same heat
    /// (W) in the first year (K).
    fn difference_from_steps(&self, count: usize, heat: &[f64], at_coils: &[f64]) -> f64 {
        let body = self.body.by_steps(&self.ground, HOUR / count as f64);
        largest_difference(&body, count, self.water, &self.above, heat, at_coils)
    }
}

#[multiversion(targets("x86_64+avx+avx2+fma"))]
fn largest_difference(
    body: &Body,
    count: usize,
    mut water: WaterState,
    above: &[Above],
    heat: &[f64],
    at_coils: &[f64],
) -> f64 {
    let mut apart = 0.0;
    for ((above, &heat), at_coils) in above.iter().zip(heat).zip(at_coils) {
        for _ in 0..count {
            let step = body.begin(&water, above);
            body.end(&mut water, &step, heat);
        }
        apart = f64::max(apart, (water.layers[LAYERS - 1] - at_coils).abs());
    }
    apart
}

/// The water after `hours` hours without heat.
#[multiversion(targets("x86_64+avx+avx2+fma"))]
fn without_heat(body: &Body, mut water: WaterState, above: &[Above], hours: usize) -> WaterState {
    for above in above.iter().cycle().take(hours) {
        let hour = body.begin(&water, above);
        body.end(&mut water, &hour, 0.0);
    }
    water
}

#[cfg(test)]
mod tests;
