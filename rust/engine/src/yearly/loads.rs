//! Annual loads of a run.

use std::ops::Range;

use crate::heat_pump::Demands;
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

/// Those of each design: one entry per year of its loads, which repeat; the first is the run's first year.
pub(super) fn yearly_demands(course: &Course) -> Vec<Vec<YearlyDemand>> {
    let of_design = |design: usize| of(&course.demands[design], course.start(design));
    if course.shares_demand() {
        return vec![of_design(0); course.designs.len()];
    }
    (0..course.designs.len()).map(of_design).collect()
}

fn of(demands: &Demands, start: usize) -> Vec<YearlyDemand> {
    let hours = demands.len();
    let year = |first: usize| {
        // A year that begins within a year of the loads is two pieces of them.
        let (first, end) = (first % hours, hours.min(first % hours + HOURS_PER_YEAR));
        let mut sum = YearlyDemand { heating_kwh: 0.0, cooling_kwh: 0.0, element_kwh: 0.0, hours_running: 0 };
        sum.add(demands, first..end);
        sum.add(demands, 0..HOURS_PER_YEAR - (end - first));
        sum
    };
    (start..start + hours).step_by(HOURS_PER_YEAR).map(year).collect()
}

impl YearlyDemand {
    /// Adds some hours of the demand.
    fn add(&mut self, demands: &Demands, hours: Range<usize>) {
        let (series, scales) = (demands.series(), demands.scales());
        let [heating, hot_water, cooling, recovered, element] =
            [&series.heating, &series.hot_water, &series.cooling, &series.recovered, &series.element]
                .map(|values| &values[hours.clone()]);
        for hour in 0..heating.len() {
            let heat = scales.heating * heating[hour] + scales.hot_water * hot_water[hour];
            let cold = scales.cooling * cooling[hour];
            self.heating_kwh += (heat + recovered[hour]) / 1000.0;
            self.cooling_kwh += cold / 1000.0;
            self.element_kwh += element[hour] / 1000.0;
            self.hours_running += u32::from(heat > 0.0 || cold > 0.0);
        }
    }
}
