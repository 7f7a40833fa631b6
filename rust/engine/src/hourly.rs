//! Hourly results of a run.

use crate::column::Column;
use crate::lane_layout::LaneLayout;
use crate::lanes::Lanes;
use crate::stepper::{Moments, Record, TimeBlock};

/// Hourly series of a run, each as long as the run; temperatures are those at the end of the hour.
#[derive(Debug, Clone, PartialEq)]
pub struct Hourly {
    /// Entering fluid temperature (degC).
    pub entering_fluid: Vec<f64>,
    /// Leaving fluid temperature (degC).
    pub leaving_fluid: Vec<f64>,
    /// Temperature of the ground or water at the loop (degC).
    pub wall: Vec<f64>,
    /// Heat extracted from the ground (W).
    pub heat_extracted: Vec<f64>,
    /// All electricity of the plant: heat pump, circulation pump, the pump of a well, back-up heat, the element for hot
    /// water, and the fans or pumps that distribute heating and cooling (W).
    pub electricity: Vec<f64>,
    /// Heating beyond the capacity of the heat pump, supplied by back-up heat (W).
    pub heating_shortfall: Vec<f64>,
    /// Cooling beyond the capacity of the heat pump, not supplied (W).
    pub cooling_shortfall: Vec<f64>,
}

impl Hourly {
    /// Series of zeros.
    #[must_use]
    pub fn zeros(hours: usize) -> Self {
        let zeros = || vec![0.0; hours];
        Self {
            entering_fluid: zeros(),
            leaving_fluid: zeros(),
            wall: zeros(),
            heat_extracted: zeros(),
            electricity: zeros(),
            heating_shortfall: zeros(),
            cooling_shortfall: zeros(),
        }
    }

    /// The series under names that end with their unit.
    #[must_use]
    pub fn into_columns(self) -> [Column; 7] {
        [
            ("entering_fluid_degC", self.entering_fluid),
            ("leaving_fluid_degC", self.leaving_fluid),
            ("wall_degC", self.wall),
            ("heat_extracted_W", self.heat_extracted),
            ("electricity_W", self.electricity),
            ("backup_W", self.heating_shortfall),
            ("unmet_cooling_W", self.cooling_shortfall),
        ]
    }

    /// Number of hours.
    #[must_use]
    pub fn len(&self) -> usize {
        self.entering_fluid.len()
    }

    /// Whether there are no hours at all.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.entering_fluid.is_empty()
    }
}

impl<A: LaneLayout<Designs = f64, Demand = f64>, const H: usize> Record<A, H> for Hourly {
    #[inline(always)]
    fn take(&mut self, first: usize, time_block: &TimeBlock<f64, H>, moments: &Moments<f64, H>) {
        let write = |series: &mut [f64], values: &[f64; H]| series[first..first + H].copy_from_slice(values);
        write(&mut self.entering_fluid, &moments.entering_fluid);
        write(&mut self.leaving_fluid, &moments.leaving_fluid);
        write(&mut self.heat_extracted, &moments.heat_extracted);
        let backup = short_of(time_block.heating(), &moments.heating);
        let mut electricity = moments.electricity;
        for hour in 0..H {
            electricity[hour] += backup[hour];
        }
        write(&mut self.electricity, &electricity);
        write(&mut self.heating_shortfall, &backup);
        write(&mut self.cooling_shortfall, &short_of(time_block.cooling(), &moments.cooling));
    }
}

/// What is missing of the loads in each hour (W).
#[inline(always)]
pub(crate) fn short_of<const H: usize>(required: &[f64; H], given: &[f64; H]) -> [f64; H] {
    let mut short = [0.0; H];
    for hour in 0..H {
        short[hour] = Lanes::max(required[hour] - given[hour], 0.0);
    }
    short
}
