//! A pond that is stepped from outside, one hour at a time.

use super::state::PondState;
use crate::error::Error;
use crate::ground_side::GroundSide;
use crate::prepared::hour_by_hour::{Numbers, Steppable, fill, listed};

impl Steppable for PondState {
    type State = Self;
    /// The film outside the coils in the hour, and the largest error due to it.
    type Trace = [f64; 2];

    fn state(&mut self) -> &mut Self {
        self
    }

    fn trace(&self) -> [f64; 2] {
        [self.outside[self.place], self.film_error]
    }

    fn take_back(&mut self, [outside, film_error]: [f64; 2]) {
        self.outside[self.place] = outside;
        self.film_error = film_error;
    }

    #[inline(always)]
    fn end(&mut self, heat: f64) -> f64 {
        self.commit(&[heat]);
        self.series.forget();
        0.0
    }

    fn numbers(&self) -> Numbers {
        let mut copy = self.clone();
        listed(copy.places())
    }

    fn restore(&mut self, hour: usize, numbers: &Numbers) -> Result<(), Error> {
        fill(self.places(), numbers)?;
        self.go_to(hour);
        Ok(())
    }
}

impl PondState {
    /// Where the numbers of the state are kept, by name.
    fn places(&mut self) -> impl Iterator<Item = (&'static str, &mut [f64])> {
        use std::slice::from_mut;

        let water = &mut self.water;
        let places: [(&str, &mut [f64]); 6] = [
            ("water_layers", &mut water.layers),
            ("ice", from_mut(&mut water.ice)),
            ("surface", from_mut(&mut water.surface)),
            ("ground_below", water.columns.as_flattened_mut()),
            ("films_outside", &mut self.outside),
            ("film_error", from_mut(&mut self.film_error)),
        ];
        places.into_iter()
    }
}
