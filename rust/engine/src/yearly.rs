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
    /// Electricity of heat pump and circulation pump.
    pub electricity_kwh: f64,
    /// Heating left to back-up heat.
    pub backup_kwh: f64,
    /// Cooling left undone.
    pub unmet_cooling_kwh: f64,
    /// Hours with demand.
    pub hours_running: u32,
    /// Hours with demand and an entering fluid temperature outside the limits.
    pub hours_outside_limits: u32,
    /// Hours with demand and an entering fluid temperature outside the heat pump's table.
    pub hours_outside_table: u32,
    /// Hours with demand and a leaving fluid temperature closer to freezing than the margin.
    pub hours_near_freezing: u32,
    /// Hours in which the heat pump's capacity fell short of the demand.
    pub hours_short_of_capacity: u32,
}

impl Year {
    /// Heat and cold delivered by the heat pump over the electricity of heat pump and circulation pump; back-up heat left out.
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
    let limits = &design.limits;
    let heat_pump = ReadyHeatPump::new([&design.heat_pump]);
    let entering = &hourly.entering_fluid[hours.clone()];
    let leaving = &hourly.leaving_fluid[hours.clone()];
    let kwh = |values: &[f64], sign: f64| values.iter().map(|v| (sign * v).max(0.0)).sum::<f64>() / 1000.0;
    let least = |values: &[f64]| values.iter().copied().fold(f64::INFINITY, f64::min);
    let demand = |hour: usize| &course.demands[(course.start + hour) % course.demands.len()];
    let asked = |of: fn(&Demand) -> f64| hours.clone().map(|hour| of(demand(hour))).sum::<f64>() / 1000.0;
    let count = |bad: &dyn Fn(usize) -> bool| {
        hours.clone().filter(|&hour| *demand(hour) != Demand::default() && bad(hour)).count() as u32
    };
    let backup_kwh = kwh(&hourly.heating_shortfall[hours.clone()], 1.0);
    let unmet_cooling_kwh = kwh(&hourly.cooling_shortfall[hours.clone()], 1.0);
    let coldest_allowed = design.fluid.freezing_point + limits.freezing_margin;
    Year {
        entering_fluid_min: least(entering),
        entering_fluid_mean: entering.iter().sum::<f64>() / HOURS_PER_YEAR as f64,
        entering_fluid_max: entering.iter().copied().fold(f64::NEG_INFINITY, f64::max),
        leaving_fluid_min: least(leaving),
        heat_extracted_kwh: kwh(&hourly.heat_extracted[hours.clone()], 1.0),
        heat_rejected_kwh: kwh(&hourly.heat_extracted[hours.clone()], -1.0),
        heating_kwh: asked(|demand| demand.heating) - backup_kwh,
        cooling_kwh: asked(|demand| demand.cooling) - unmet_cooling_kwh,
        electricity_kwh: kwh(&hourly.electricity[hours.clone()], 1.0),
        backup_kwh,
        unmet_cooling_kwh,
        hours_running: count(&|_| true),
        hours_outside_limits: count(&|hour| !limits.allow(hourly.entering_fluid[hour])),
        hours_outside_table: count(&|hour| {
            heat_pump.is_outside_table(Lanes([hourly.entering_fluid[hour]]), demand(hour)) == [true]
        }),
        hours_near_freezing: count(&|hour| hourly.leaving_fluid[hour] < coldest_allowed),
        hours_short_of_capacity: count(&|hour| {
            hourly.heating_shortfall[hour] > 0.0 || hourly.cooling_shortfall[hour] > 0.0
        }),
    }
}
