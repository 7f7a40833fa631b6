//! What a run finds for each hour.

use crate::heat_pump::Demand;
use crate::stepper::{Moment, Record};

/// Hourly series of a run, each as long as the run; temperatures are those at the hour's end.
#[derive(Debug, Clone, PartialEq)]
pub struct Hourly {
    /// Entering fluid temperature [degC].
    pub entering_fluid: Vec<f64>,
    /// Leaving fluid temperature [degC].
    pub leaving_fluid: Vec<f64>,
    /// Temperature of the ground or the water that the loop meets [degC].
    pub wall: Vec<f64>,
    /// Heat extracted from the ground [W].
    pub heat_extracted: Vec<f64>,
    /// Electricity of heat pump, circulation pump and the pump of a well [W].
    pub electricity: Vec<f64>,
    /// Heating that the heat pump's capacity can't carry, left to back-up heat [W].
    pub heating_shortfall: Vec<f64>,
    /// Cooling that the heat pump's capacity can't carry, left undone [W].
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

impl Record<1> for Hourly {
    #[inline(always)]
    fn take(&mut self, hour: usize, demand: &Demand, moment: &Moment<1>) {
        self.entering_fluid[hour] = moment.entering_fluid.0[0];
        self.leaving_fluid[hour] = moment.leaving_fluid.0[0];
        self.heat_extracted[hour] = moment.heat_extracted.0[0];
        self.electricity[hour] = moment.electricity.0[0];
        self.heating_shortfall[hour] = (demand.heating - moment.heating.0[0]).max(0.0);
        self.cooling_shortfall[hour] = (demand.cooling - moment.cooling.0[0]).max(0.0);
    }
}
