//! A well that is stepped from outside, one hour at a time.

use std::slice::from_mut;
use std::sync::Arc;

use super::PreparedWell;
use super::state::WellState;
use crate::error::Error;
use crate::ground_side::GroundSide;
use crate::history::{Ladder, PastHours};
use crate::prepared::hour_by_hour::{Numbers, Steppable, fill, listed};

/// A well with the effect of its past pumping on the level: a run computes that afterwards.
#[derive(Debug, Clone)]
pub struct WellHours {
    state: WellState,
    /// Drawdown (m) due to the share of each hour in which it pumps.
    level: PastHours,
}

impl PreparedWell {
    /// The well before any heat is extracted, for `hours` hours.
    #[must_use]
    pub fn initial_hours(self: &Arc<Self>, hours: usize) -> WellHours {
        let ladder = Ladder::for_horizon(hours);
        WellHours {
            state: self.initial(0),
            level: PastHours::none(&ladder, &ladder.fit(&self.tabulated_drawdown(hours))),
        }
    }
}

/// Name of the returned water in the numbers of a state.
const RETURNED: &str = "returned_water";

impl Steppable for WellHours {
    type State = WellState;
    type Trace = ();

    fn state(&mut self) -> &mut WellState {
        &mut self.state
    }

    fn trace(&self) {}

    fn take_back(&mut self, _trace: ()) {}

    #[inline(always)]
    fn end(&mut self, heat: f64) -> f64 {
        self.state.commit(&[heat]);
        let share = self.state.forget();
        let well = &self.state.well;
        let fall = self.level.per_watt().mul_add(share, self.level.no_load_drop());
        let power = well.pump_power(share, fall + well.local_drawdown(share));
        self.level.take(share);
        power
    }

    fn numbers(&self) -> Numbers {
        let mut copy = self.clone();
        let returned = copy.state.water.returned.clone();
        let mut numbers = listed(copy.places());
        numbers.insert(RETURNED.to_owned(), returned);
        numbers
    }

    fn restore(&mut self, hour: usize, numbers: &Numbers) -> Result<(), Error> {
        let most = self.state.water.most_intervals();
        let count = numbers.get(RETURNED).map_or(0, |returned| returned.len().min(most));
        let mut returned = vec![0.0; count];
        fill([(RETURNED, &mut returned[..])], numbers)?;
        fill(self.places(), numbers)?;
        self.state.water.returned = returned;
        self.level.go_to(hour);
        Ok(())
    }
}

impl WellHours {
    /// Where the numbers of the state are kept, by name, except those of the returned water.
    fn places(&mut self) -> impl Iterator<Item = (&'static str, &mut [f64])> {
        let water = &mut self.state.water;
        let places: [(&str, &mut [f64]); 3] = [
            ("well_water", from_mut(&mut water.temperature)),
            ("hours_of_interval", from_mut(&mut water.hours)),
            ("sum_of_interval", from_mut(&mut water.sum)),
        ];
        places.into_iter().chain(self.level.numbers())
    }
}
