//! Conduction loops that are stepped from outside, one hour at a time.

use std::sync::Arc;

use super::responses::Responses;
use super::undisturbed::Undisturbed;
use crate::error::Error;
use crate::ground_side::{Bend, GroundSide, Offer};
use crate::heat_pump::Tangent;
use crate::history::PastHours;
use crate::lane_layout::OneByOne;
use crate::prepared::TableLanes;
use crate::prepared::hour_by_hour::{Numbers, Steppable, fill, listed};

/// A loop with the effect of its past heat.
#[derive(Debug, Clone)]
pub struct ConductionHours {
    undisturbed: Arc<Undisturbed>,
    /// The next hour of the run.
    hour: usize,
    resistances: TableLanes<OneByOne>,
    past: PastHours,
}

impl ConductionHours {
    /// A loop without past heat at its undisturbed temperature.
    #[must_use]
    pub fn of(prepared: &Responses) -> Self {
        Self {
            undisturbed: Arc::new(prepared.undisturbed.clone()),
            hour: 0,
            resistances: TableLanes::new(OneByOne, &[&prepared.resistances]),
            past: PastHours::none(&prepared.ladder, &prepared.fluid_response),
        }
    }
}

impl GroundSide<OneByOne, 1> for ConductionHours {
    #[inline(always)]
    fn offer(&mut self) -> Offer<f64, 1> {
        let temperature = self.undisturbed.at(self.hour) - self.past.no_load_drop();
        Offer { no_load_temperature: [temperature], pulse_response: [self.past.per_watt()] }
    }

    #[inline(always)]
    fn resistance(&self, mean_fluid: f64) -> Tangent<f64> {
        self.resistances.resistance(mean_fluid)
    }

    #[inline(always)]
    fn kelvins_per_watt(&self, mean_fluid: f64) -> Tangent<f64> {
        self.resistances.kelvins_per_watt(mean_fluid)
    }

    #[inline(always)]
    fn approximate_kelvins_per_watt(&self, mean_fluid: f64) -> f64 {
        self.resistances.approximate_kelvins_per_watt(mean_fluid)
    }

    #[inline(always)]
    fn bends(&self) -> &[Bend<f64>] {
        self.resistances.bends()
    }

    #[inline(always)]
    fn commit(&mut self, heat_extracted: &[f64; 1]) {
        self.past.take(heat_extracted[0]);
        self.hour += 1;
    }
}

impl Steppable for ConductionHours {
    type State = Self;
    type Trace = ();

    fn state(&mut self) -> &mut Self {
        self
    }

    fn trace(&self) {}

    fn take_back(&mut self, _trace: ()) {}

    #[inline(always)]
    fn end(&mut self, heat: f64) -> f64 {
        self.commit(&[heat]);
        0.0
    }

    fn numbers(&self) -> Numbers {
        listed(self.past.clone().numbers())
    }

    fn restore(&mut self, hour: usize, numbers: &Numbers) -> Result<(), Error> {
        fill(self.past.numbers(), numbers)?;
        self.past.go_to(hour);
        self.hour = hour;
        Ok(())
    }
}
