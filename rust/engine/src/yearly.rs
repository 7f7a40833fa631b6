//! Hourly series gathered by year.

use rayon::prelude::*;

use crate::design::Design;
use crate::heat_pump::{Demand, ReadyHeatPump};
use crate::hourly::Hourly;
use crate::lanes::Lanes;
use crate::loads::HOURS_PER_YEAR;
use crate::stepper::Course;

/// A year of a run: energies [kWh], temperatures [degC], counts of hours.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Year {
    /// Lowest entering fluid temperature of all hours.
    pub entering_fluid_min: f64,
    /// Mean entering fluid temperature of all hours.
    pub entering_fluid_mean: f64,
    /// Highest entering fluid temperature of all hours.
    pub entering_fluid_max: f64,
    /// Lowest leaving fluid temperature of all hours.
    pub leaving_fluid_min: f64,
    /// Heat taken from the ground, in hours that took any.
    pub heat_extracted_kwh: f64,
    /// Heat given to the ground, in hours that gave any.
    pub heat_rejected_kwh: f64,
    /// Heat that the heat pump gave to the building.
    pub heating_kwh: f64,
    /// Heat that the heat pump took from the building.
    pub cooling_kwh: f64,
    /// Electricity of heat pump, circulation pump and the pump of a well.
    pub electricity_kwh: f64,
    /// Heating left to back-up heat.
    pub backup_kwh: f64,
    /// Cooling left undone.
    pub unmet_cooling_kwh: f64,
    /// Hours in which the heat pump runs.
    pub hours_running: u32,
    /// Hours in which it runs with an entering fluid temperature outside the limits.
    pub hours_outside_limits: u32,
    /// Hours in which it runs with an entering fluid temperature outside the heat pump's table.
    pub hours_outside_table: u32,
    /// Hours in which it runs with a leaving fluid temperature closer to freezing than the margin.
    pub hours_near_freezing: u32,
    /// Hours in which the heat pump's capacity fell short of the demand.
    pub hours_short_of_capacity: u32,
}

impl Year {
    /// Heat and cold delivered by the heat pump over the electricity of heat pump and pumps; back-up heat left out.
    ///
    /// NaN in a year without electricity.
    #[must_use]
    pub fn seasonal_cop(&self) -> f64 {
        (self.heating_kwh + self.cooling_kwh) / self.electricity_kwh
    }
}

/// The years of a run.
#[must_use]
pub fn yearly(design: &Design, course: &Course<1>, hourly: &Hourly) -> Vec<Year> {
    let years = hourly.len() / HOURS_PER_YEAR;
    (0..years).into_par_iter().map(|year| gather(design, course, hourly, year * HOURS_PER_YEAR)).collect()
}

fn gather(design: &Design, course: &Course<1>, hourly: &Hourly, first: usize) -> Year {
    let hours = first..first + HOURS_PER_YEAR;
    let entering = &hourly.entering_fluid[hours.clone()];
    let leaving = &hourly.leaving_fluid[hours.clone()];
    let heat = &hourly.heat_extracted[hours.clone()];
    let heating_shortfall = &hourly.heating_shortfall[hours.clone()];
    let cooling_shortfall = &hourly.cooling_shortfall[hours.clone()];
    // Loads are whole years: from any hour on a year of them is one piece, or two.
    let begin = (course.start + first) % course.demands.len();
    let until_end = &course.demands[begin..course.demands.len().min(begin + HOURS_PER_YEAR)];
    let demands = [until_end, &course.demands[..HOURS_PER_YEAR - until_end.len()]];
    let asked = |of: fn(&Demand) -> f64| (sum(demands[0], of) + sum(demands[1], of)) / 1000.0;
    let backup_kwh = sum(heating_shortfall, |v| v.max(0.0)) / 1000.0;
    let unmet_cooling_kwh = sum(cooling_shortfall, |v| v.max(0.0)) / 1000.0;

    let limits = &design.limits;
    let heat_pump = ReadyHeatPump::new([&design.heat_pump]);
    let coldest_allowed = design.fluid.freezing_point + limits.freezing_margin;
    let [mut running, mut outside_limits, mut outside_table, mut near_freezing, mut short] = [0; 5];
    for (hour, demand) in demands.into_iter().flatten().enumerate() {
        if !demand.asks_heat_pump() {
            continue;
        }
        running += 1;
        outside_limits += u32::from(!limits.allow(entering[hour]));
        outside_table += u32::from(heat_pump.is_outside_table(Lanes([entering[hour]]), demand) == [true]);
        near_freezing += u32::from(leaving[hour] < coldest_allowed);
        short += u32::from(heating_shortfall[hour] > 0.0 || cooling_shortfall[hour] > 0.0);
    }
    Year {
        entering_fluid_min: extreme(entering, f64::INFINITY, f64::min),
        entering_fluid_mean: sum(entering, |&v| v) / HOURS_PER_YEAR as f64,
        entering_fluid_max: extreme(entering, f64::NEG_INFINITY, f64::max),
        leaving_fluid_min: extreme(leaving, f64::INFINITY, f64::min),
        heat_extracted_kwh: sum(heat, |v| v.max(0.0)) / 1000.0,
        heat_rejected_kwh: sum(heat, |v| (-v).max(0.0)) / 1000.0,
        heating_kwh: asked(|demand| demand.heating) - backup_kwh,
        cooling_kwh: asked(|demand| demand.cooling) - unmet_cooling_kwh,
        electricity_kwh: sum(&hourly.electricity[hours], |v| v.max(0.0)) / 1000.0,
        backup_kwh,
        unmet_cooling_kwh,
        hours_running: running,
        hours_outside_limits: outside_limits,
        hours_outside_table: outside_table,
        hours_near_freezing: near_freezing,
        hours_short_of_capacity: short,
    }
}

/// Values taken side by side.
const LANES: usize = 8;

/// Sum of what `of` makes of each value, lane by lane and then over the lanes: an order that is the same on every processor.
#[inline(always)]
fn sum<T>(values: &[T], of: impl Fn(&T) -> f64) -> f64 {
    let mut lanes = [0.0; LANES];
    let (chunks, rest) = values.as_chunks::<LANES>();
    for chunk in chunks {
        for lane in 0..LANES {
            lanes[lane] += of(&chunk[lane]);
        }
    }
    lanes.into_iter().chain(rest.iter().map(of)).sum()
}

/// The least or the greatest of the values, by `of` two.
#[inline(always)]
fn extreme(values: &[f64], none: f64, of: fn(f64, f64) -> f64) -> f64 {
    let mut lanes = [none; LANES];
    let (chunks, rest) = values.as_chunks::<LANES>();
    for chunk in chunks {
        for lane in 0..LANES {
            lanes[lane] = of(lanes[lane], chunk[lane]);
        }
    }
    lanes.into_iter().chain(rest.iter().copied()).fold(none, of)
}
