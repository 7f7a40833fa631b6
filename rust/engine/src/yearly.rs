//! Hourly series gathered by year.

use rayon::prelude::*;

use crate::design::Design;
use crate::heat_pump::{Demand, ReadyHeatPump};
use crate::hourly::Hourly;
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
pub fn yearly(design: &Design, course: &Course, hourly: &Hourly) -> Vec<Year> {
    let heat_pump = ReadyHeatPump::from(&design.heat_pump);
    let coldest_allowed = design.fluid.freezing_point + design.limits.freezing_margin;
    let gather = |year: usize| {
        let first = year * HOURS_PER_YEAR;
        let mut place = (course.start + first) % course.demands.len();
        let mut sum = Year::EMPTY;
        for hour in first..first + HOURS_PER_YEAR {
            let demand = &course.demands[place];
            place = if place + 1 == course.demands.len() { 0 } else { place + 1 };
            sum.add(hourly, hour, demand);
            if *demand == Demand::default() {
                continue;
            }
            let entering = hourly.entering_fluid[hour];
            sum.hours_running += 1;
            sum.hours_outside_limits += u32::from(!design.limits.allow(entering));
            sum.hours_outside_table += u32::from(heat_pump.is_outside_table(entering, demand));
            sum.hours_near_freezing += u32::from(hourly.leaving_fluid[hour] < coldest_allowed);
            let is_short = hourly.heating_shortfall[hour] > 0.0 || hourly.cooling_shortfall[hour] > 0.0;
            sum.hours_short_of_capacity += u32::from(is_short);
        }
        sum
    };
    let years = hourly.len() / HOURS_PER_YEAR;
    (0..years).into_par_iter().map(gather).collect()
}

impl Year {
    const EMPTY: Self = Self {
        entering_fluid_min: f64::INFINITY,
        entering_fluid_mean: 0.0,
        entering_fluid_max: f64::NEG_INFINITY,
        leaving_fluid_min: f64::INFINITY,
        heat_extracted_kwh: 0.0,
        heat_rejected_kwh: 0.0,
        heating_kwh: 0.0,
        cooling_kwh: 0.0,
        electricity_kwh: 0.0,
        backup_kwh: 0.0,
        unmet_cooling_kwh: 0.0,
        hours_running: 0,
        hours_outside_limits: 0,
        hours_outside_table: 0,
        hours_near_freezing: 0,
        hours_short_of_capacity: 0,
    };

    /// Takes an hour's temperatures and energies in.
    fn add(&mut self, hourly: &Hourly, hour: usize, demand: &Demand) {
        let (entering, heat) = (hourly.entering_fluid[hour], hourly.heat_extracted[hour]);
        let (backup, unmet) = (hourly.heating_shortfall[hour], hourly.cooling_shortfall[hour]);
        self.entering_fluid_min = self.entering_fluid_min.min(entering);
        self.entering_fluid_mean += entering * (1.0 / HOURS_PER_YEAR as f64);
        self.entering_fluid_max = self.entering_fluid_max.max(entering);
        self.leaving_fluid_min = self.leaving_fluid_min.min(hourly.leaving_fluid[hour]);
        self.heat_extracted_kwh += heat.max(0.0) * KWH_PER_WATT;
        self.heat_rejected_kwh += (-heat).max(0.0) * KWH_PER_WATT;
        self.heating_kwh += (demand.heating - backup) * KWH_PER_WATT;
        self.cooling_kwh += (demand.cooling - unmet) * KWH_PER_WATT;
        self.electricity_kwh += hourly.electricity[hour] * KWH_PER_WATT;
        self.backup_kwh += backup * KWH_PER_WATT;
        self.unmet_cooling_kwh += unmet * KWH_PER_WATT;
    }
}

/// Energy of one watt over an hour [kWh].
const KWH_PER_WATT: f64 = 1e-3;
