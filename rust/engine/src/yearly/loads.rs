//! Annual loads of a run.

use crate::heat_pump::Demand;
use crate::loads::HOURS_PER_YEAR;
use crate::stepper::Course;

/// Loads in a year of a run.
#[derive(Debug, Clone, Copy)]
pub(super) struct YearlyDemand {
    /// Including heat recovered for hot water from the compressor in cooling.
    pub heating_kwh: f64,
    pub cooling_kwh: f64,
    /// Heat from an electric element for hot water.
    pub element_kwh: f64,
    /// Hours in which the heat pump runs.
    pub hours_running: u32,
}

/// One entry per year of the loads, which repeat; the first is the run's first year.
pub(super) fn yearly_demands(course: &Course) -> Vec<YearlyDemand> {
    let all = course.demands;
    let year = |year: usize| {
        let first = (course.start() + year * HOURS_PER_YEAR) % all.len();
        // Loads are whole years: a year that starts at any hour is one piece of them, or two.
        let until_end = &all[first..all.len().min(first + HOURS_PER_YEAR)];
        sum_of(until_end.iter().chain(&all[..HOURS_PER_YEAR - until_end.len()]))
    };
    (0..all.len() / HOURS_PER_YEAR).map(year).collect()
}

fn sum_of<'a>(demands: impl Iterator<Item = &'a Demand>) -> YearlyDemand {
    let mut sum = YearlyDemand { heating_kwh: 0.0, cooling_kwh: 0.0, element_kwh: 0.0, hours_running: 0 };
    for demand in demands {
        sum.heating_kwh += (demand.heating + demand.recovered) / 1000.0;
        sum.cooling_kwh += demand.cooling / 1000.0;
        sum.element_kwh += demand.element / 1000.0;
        sum.hours_running += u32::from(demand.asks_heat_pump());
    }
    sum
}
