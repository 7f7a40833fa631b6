//! Hourly series gathered by year.

use multiversion::multiversion;
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
    let year_of_loads = |year: usize| {
        let first = (course.start + year * HOURS_PER_YEAR) % course.demands.len();
        YearOfLoads::beginning(course.demands, first)
    };
    let loads: Vec<_> = (0..course.demands.len() / HOURS_PER_YEAR).map(year_of_loads).collect();
    let heat_pump = ReadyHeatPump::new([&design.heat_pump]);
    let gather =
        |year: usize| gather(design, &heat_pump, &loads[year % loads.len()], hourly, year * HOURS_PER_YEAR);
    (0..hourly.len() / HOURS_PER_YEAR).into_par_iter().map(gather).collect()
}

/// What is asked for in a year of the run.
struct YearOfLoads<'a> {
    /// Loads are whole years: from any hour on a year of them is one piece, or two.
    demands: [&'a [Demand]; 2],
    heating_kwh: f64,
    cooling_kwh: f64,
    hours_running: u32,
    /// All that is asked for, with the lowest and the highest temperatures from the building.
    extremes: [Demand; 2],
}

impl<'a> YearOfLoads<'a> {
    fn beginning(all: &'a [Demand], first: usize) -> Self {
        let until_end = &all[first..all.len().min(first + HOURS_PER_YEAR)];
        let demands = [until_end, &all[..HOURS_PER_YEAR - until_end.len()]];
        let all = || demands.into_iter().flatten();
        let kwh = |of: fn(&Demand) -> f64| (sum(demands[0], of) + sum(demands[1], of)) / 1000.0;
        let (heating, cooling) = (kwh(|demand| demand.heating), kwh(|demand| demand.cooling));
        let extreme = |of: fn(f64, f64) -> f64| Demand {
            heating,
            cooling,
            heating_side: all()
                .filter(|demand| demand.heating > 0.0)
                .filter_map(|d| d.heating_side)
                .reduce(of),
            cooling_side: all()
                .filter(|demand| demand.cooling > 0.0)
                .filter_map(|d| d.cooling_side)
                .reduce(of),
            ..Demand::default()
        };
        Self {
            demands,
            heating_kwh: heating,
            cooling_kwh: cooling,
            hours_running: all().map(|demand| u32::from(demand.asks_heat_pump())).sum(),
            extremes: [extreme(f64::min), extreme(f64::max)],
        }
    }

    /// Hours in which the heat pump runs and something is the case; not looked through where it can't be.
    #[inline(always)]
    fn count(&self, possible: bool, is_so: impl Fn(usize, &Demand) -> bool) -> u32 {
        if !possible {
            return 0;
        }
        let demands = self.demands.into_iter().flatten().enumerate();
        demands.map(|(hour, demand)| u32::from(demand.asks_heat_pump() && is_so(hour, demand))).sum()
    }
}

#[multiversion(targets("x86_64+avx+avx2+fma"))]
fn gather(
    design: &Design,
    heat_pump: &ReadyHeatPump<1>,
    loads: &YearOfLoads<'_>,
    hourly: &Hourly,
    first: usize,
) -> Year {
    let hours = first..first + HOURS_PER_YEAR;
    let entering = &hourly.entering_fluid[hours.clone()];
    let leaving = &hourly.leaving_fluid[hours.clone()];
    let heat = &hourly.heat_extracted[hours.clone()];
    let heating_shortfall = &hourly.heating_shortfall[hours.clone()];
    let cooling_shortfall = &hourly.cooling_shortfall[hours.clone()];
    let positive = |values: &[f64]| sum(values, |&v| if v > 0.0 { v } else { 0.0 }) / 1000.0;
    let backup_kwh = positive(heating_shortfall);
    let unmet_cooling_kwh = positive(cooling_shortfall);
    let coldest = least(entering, |&v| v);
    let warmest = -least(entering, |&v| -v);
    let coldest_leaving = least(leaving, |&v| v);

    let limits = &design.limits;
    let coldest_allowed = design.fluid.freezing_point + limits.freezing_margin;
    let may_leave_limits = !(limits.allow(coldest) && limits.allow(warmest));
    let is_outside_table =
        |entering: f64, demand: &Demand| heat_pump.is_outside_table(Lanes([entering]), demand) == [true];
    let [lowest, highest] = &loads.extremes;
    let may_leave_table = is_outside_table(coldest, lowest) || is_outside_table(warmest, highest);
    let is_short = |hour: usize| heating_shortfall[hour] > 0.0 || cooling_shortfall[hour] > 0.0;
    Year {
        entering_fluid_min: coldest,
        entering_fluid_mean: sum(entering, |&v| v) / HOURS_PER_YEAR as f64,
        entering_fluid_max: warmest,
        leaving_fluid_min: coldest_leaving,
        heat_extracted_kwh: positive(heat),
        heat_rejected_kwh: sum(heat, |&v| if v < 0.0 { -v } else { 0.0 }) / 1000.0,
        heating_kwh: loads.heating_kwh - backup_kwh,
        cooling_kwh: loads.cooling_kwh - unmet_cooling_kwh,
        electricity_kwh: positive(&hourly.electricity[hours]),
        backup_kwh,
        unmet_cooling_kwh,
        hours_running: loads.hours_running,
        hours_outside_limits: loads.count(may_leave_limits, |hour, _| !limits.allow(entering[hour])),
        hours_outside_table: loads
            .count(may_leave_table, |hour, demand| is_outside_table(entering[hour], demand)),
        hours_near_freezing: loads
            .count(coldest_leaving < coldest_allowed, |hour, _| leaving[hour] < coldest_allowed),
        hours_short_of_capacity: loads
            .count(backup_kwh > 0.0 || unmet_cooling_kwh > 0.0, |hour, _| is_short(hour)),
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

/// Least of what `of` makes of each value.
#[inline(always)]
fn least<T>(values: &[T], of: impl Fn(&T) -> f64) -> f64 {
    let lesser = |a: f64, b: f64| if b < a { b } else { a };
    let mut lanes = [f64::INFINITY; LANES];
    let (chunks, rest) = values.as_chunks::<LANES>();
    for chunk in chunks {
        for lane in 0..LANES {
            lanes[lane] = lesser(lanes[lane], of(&chunk[lane]));
        }
    }
    lanes.into_iter().chain(rest.iter().map(of)).fold(f64::INFINITY, lesser)
}
