//! Wells prepared for runs, and their state while a run steps.

mod hours;
mod pumping;
mod state;
mod water;

use std::f64::consts::SQRT_2;
use std::ops::Range;
use std::sync::Arc;

use super::single_hours::step_single_hours;
use super::years::{by_year, greatest, hours, least};
use super::{
    GroundSideResults, HourByHour, Prepare, PreparedGroundSide, ResistanceTable, ShapeResponse, Stepped,
};
use crate::cancel_token::CancelToken;
use crate::column::Column;
use crate::design::Design;
use crate::error::Error;
use crate::fluid::{Fluid, FluidState};
use crate::ground::Ground;
use crate::ground_side::fresh_water::{DENSITY, GRAVITY, HEAT_CAPACITY};
use crate::ground_side::well::{Well, breakthrough};
use crate::history::{HOUR, Superposition, TabulatedResponse};
use crate::hourly::Hourly;
use crate::judgement::{Bound, Criterion, FREEZING_WATER, Quality};
use crate::stepper::Course;
use water::{Returned, WellWater};

/// Freezing point above which a fluid is treated as water (degC).
const WATER_FREEZES: f64 = -0.1;

/// A well with everything that can be computed before the first hour.
#[derive(Debug, Clone)]
pub struct PreparedWell {
    well: Well,
    /// Flow of the well while it pumps (kg/s).
    flow: f64,
    /// Time of steady pumping until returned heat first arrives, in hours; `None` without a return well.
    arrival: Option<f64>,
    /// Resistance of the exchanger between the well's water and the mean fluid, and kelvins per watt (K/W).
    resistances: Arc<ResistanceTable>,
    /// Effect of the return well on the run.
    returned: Arc<Returned>,
}

impl Prepare for Well {
    fn prepare(
        &self,
        design: &Design,
        hours: usize,
        _response: &ShapeResponse,
    ) -> Result<Box<dyn PreparedGroundSide>, Error> {
        let Design { ground, fluid, flow, .. } = design;
        Ok(Box::new(Arc::new(PreparedWell::new(self, ground, fluid, *flow, hours)?)))
    }
}

impl PreparedGroundSide for Arc<PreparedWell> {
    fn run(
        &self,
        course: &Course,
        hourly: &mut Hourly,
        token: &CancelToken,
    ) -> Result<(Stepped, GroundSideResults), Error> {
        let hours = hourly.len();
        let mut state = self.initial(hours);
        let (stepped, level) = rayon::join(
            || step_single_hours(&mut state, course, hours, Some(hourly), token),
            || self.level(hours),
        );
        let mut stepped = stepped?;
        let results = state.results(level, hourly, &mut stepped.summary.years);
        Ok((stepped, results))
    }

    fn hour_by_hour(&self, hours: usize) -> Box<dyn HourByHour> {
        Box::new(self.initial_hours(hours))
    }
}

impl PreparedWell {
    /// Prepares a well for runs of `hours` hours with a mass `flow` of the loop (kg/s).
    ///
    /// # Errors
    /// [`Error::InvalidInput`] if the well yields less than the plant needs, or its water can't be the loop's fluid.
    pub fn new(well: &Well, ground: &Ground, fluid: &Fluid, flow: f64, hours: usize) -> Result<Self, Error> {
        if well.effectiveness.is_none() && fluid.freezing_point < WATER_FREEZES {
            let allowed =
                "must be that of water, 0 degC, where the well's own water goes through the heat pump";
            return Err(Error::invalid("Fluid", "freezing_point", fluid.freezing_point, "degC", allowed));
        }
        let pumped = well.flow.unwrap_or(flow);
        well.check_yield("flow", pumped)?;
        let to_mean_fluid = |state: &FluidState| {
            let of_loop = flow * state.heat_capacity;
            let exchanger = |effectiveness: f64| {
                // Heat = effectiveness x the smaller capacity flow x (well - leaving fluid).
                1.0 / (effectiveness * of_loop.min(pumped * HEAT_CAPACITY)) - 0.5 / of_loop
            };
            // Without an exchanger the well water is the entering fluid.
            well.effectiveness.map_or(0.5 / of_loop, exchanger)
        };
        let arrival = well.return_distance.map(|distance| {
            breakthrough(pumped, distance, well.aquifer.thickness, ground.volumetric_heat_capacity) / HOUR
        });
        let returned = Arc::new(Returned::for_run(hours, arrival));
        let resistances = Arc::new(ResistanceTable::new(
            fluid,
            flow,
            |_| Vec::new(),
            |states| Ok(states.iter().map(to_mean_fluid).collect()),
        )?);
        Ok(Self { well: well.clone(), flow: pumped, arrival, resistances, returned })
    }

    /// Drawdown due to each hour's pumping, prepared for a run of `hours` hours (Theis, with recovery).
    #[must_use]
    pub fn level(&self, hours: usize) -> Superposition {
        let ln_hours: Vec<f64> = (1..=hours).map(|hour| (hour as f64).ln()).collect();
        Superposition::new(hours, [self.tabulated_drawdown(hours).hourly(&ln_hours)])
    }

    /// Drawdown of steady pumping over the hours of a run.
    fn tabulated_drawdown(&self, hours: usize) -> TabulatedResponse {
        TabulatedResponse::new(hours, |time| self.well.drawdown(self.flow, time))
    }

    /// Electricity of the pump (W) in an hour in which it pumps for a share of the time, from a drawdown (m).
    fn pump_power(&self, share: f64, drawdown: f64) -> f64 {
        let head_power = GRAVITY * self.flow / self.well.pump_efficiency;
        share * head_power * (self.well.lift + drawdown).max(0.0)
    }

    /// Error of the well water (K) due to its constant temperature within an interval of pumping, from the difference
    /// made by intervals twice as long. It is largest at breakthrough, where the arriving share rises with the root of
    /// time: doubling the interval multiplies the error by the root of two.
    fn interval_error(&self, heat: &[f64], shares: &[f64], given: &[f64]) -> f64 {
        self.difference_from_intervals(2 * self.returned.interval, heat, shares, given) / (SQRT_2 - 1.0)
    }

    /// Largest difference between the well water (degC) and that with intervals of another length for the same heat (W)
    /// and the same shares of pumping (K).
    fn difference_from_intervals(&self, interval: usize, heat: &[f64], shares: &[f64], given: &[f64]) -> f64 {
        let returned = Arc::new(Returned::new(interval, heat.len(), self.arrival));
        let mut water = self.water(&returned);
        let mut apart = 0.0;
        for ((heat, share), given) in heat.iter().zip(shares).zip(given) {
            apart = f64::max(apart, (water.temperature - given).abs());
            water.take(*heat, *share);
        }
        apart
    }

    /// Additional drawdown at the end of an hour's pumping when the well pumps for a share of it, compared with the
    /// hour's mean flow (m).
    fn local_drawdown(&self, share: f64) -> f64 {
        let drawdown = |hours: f64| self.well.drawdown(self.flow, HOUR * hours);
        if share > 0.0 && share < 1.0 { drawdown(share) - share * drawdown(1.0) } else { 0.0 }
    }

    /// The well water before any heat is extracted.
    fn water(&self, returned: &Arc<Returned>) -> WellWater {
        WellWater::initial(self.well.aquifer.temperature, 1.0 / (self.flow * HEAT_CAPACITY), returned)
    }

    /// Criteria of a run: the discharge in the hours of pumping, and the drawdown if it has a limit.
    fn criteria(&self, shares: &[f64], discharged: &[f64], drawdown: &[f64]) -> Vec<Criterion> {
        let Well { lowest_discharge, available_drawdown, .. } = self.well;
        let discharge = |name, least| {
            let pumps = |hour: usize| shares[hour] > 0.0;
            Criterion::of_hours(name, true, Quality::Temperature, Bound::AtLeast(least), discharged, pumps)
        };
        let level = available_drawdown.and_then(|most| {
            let always = |_| true;
            let bound = Bound::AtMost(most);
            Criterion::of_hours("available_drawdown", true, Quality::Length, bound, drawdown, always)
        });
        let discharge = [
            discharge("lowest_discharge", lowest_discharge),
            discharge("discharge_freezing", FREEZING_WATER),
        ];
        discharge.into_iter().chain([level]).flatten().collect()
    }

    /// Columns of the yearly table; those of water refer to the hours of pumping.
    fn years(&self, shares: &[f64], given: &[f64], discharged: &[f64], drawdown: &[f64]) -> Vec<Column> {
        let Well { aquifer, lowest_discharge, .. } = self.well;
        let of_pumping = |series: &[f64], of: &(dyn Fn(&mut dyn Iterator<Item = f64>) -> f64 + Sync)| {
            by_year(series.len(), |year| {
                let hours = shares[year.clone()].iter().zip(&series[year]);
                of(&mut hours.filter(|(share, _)| **share > 0.0).map(|(_, value)| *value))
            })
        };
        let moved = |given: f64| given != aquifer.temperature;
        let pumped = |year: Range<usize>| shares[year].iter().sum::<f64>() * HOUR * self.flow / DENSITY;
        vec![
            ("water_pumped_m3", by_year(shares.len(), pumped)),
            ("drawdown_max_m", by_year(drawdown.len(), |year| greatest(drawdown[year].iter().copied()))),
            ("well_water_min_degC", of_pumping(given, &|water| least(water))),
            ("well_water_max_degC", of_pumping(given, &|water| greatest(water))),
            ("discharge_min_degC", of_pumping(discharged, &|water| least(water))),
            ("discharge_max_degC", of_pumping(discharged, &|water| greatest(water))),
            (
                "hours_discharge_too_cold",
                of_pumping(discharged, &|water| hours(water, |water| water < lowest_discharge)),
            ),
            ("hours_after_breakthrough", of_pumping(given, &|water| hours(water, moved))),
        ]
    }
}

#[cfg(test)]
mod tests;
