//! Effect of the heat of all past hours on the next hour.

use std::sync::Arc;

use super::{Ladder, PastHeat, Response};
use crate::lane_layout::{BLOCK, OneByOne};

/// One loop whose heat becomes known hour by hour.
///
/// The drops of a block are those of [`PastHeat`], to which each hour adds what its heat does to the later ones.
#[derive(Debug, Clone)]
pub struct PastHours {
    past: PastHeat<OneByOne>,
    /// Drops in the hours of the block without heat from the next hour on.
    drops: [f64; BLOCK],
    /// Drops per watt in an hour and the following ones.
    pulse_response: [f64; BLOCK],
    /// Heat of the block's hours so far (W).
    heat: [f64; BLOCK],
    /// Index of the next hour in the block.
    next: usize,
}

impl PastHours {
    /// A loop without past heat; its response (K/W) must be fitted with this ladder.
    #[must_use]
    pub fn none(ladder: &Arc<Ladder>, response: &Response) -> Self {
        let mut past = PastHeat::none(OneByOne, ladder, |_| response);
        let drops = past.no_load_drops();
        Self { pulse_response: past.pulse_response(), past, drops, heat: [0.0; BLOCK], next: 0 }
    }

    /// Drop in the next hour without heat in it (K).
    #[must_use]
    #[inline(always)]
    pub fn no_load_drop(&self) -> f64 {
        self.drops[self.next]
    }

    /// Drop in the same hour due to one watt in it (K/W).
    #[must_use]
    #[inline(always)]
    pub fn per_watt(&self) -> f64 {
        self.pulse_response[0]
    }

    /// Ends the hour with the heat extracted in it (W).
    #[inline(always)]
    pub fn take(&mut self, heat: f64) {
        self.heat[self.next] = heat;
        for later in self.next + 1..BLOCK {
            self.drops[later] = self.pulse_response[later - self.next].mul_add(heat, self.drops[later]);
        }
        self.next += 1;
        if self.next == BLOCK {
            self.past.take(&self.heat);
            self.drops = self.past.no_load_drops();
            self.next = 0;
        }
    }

    /// The numbers of the state, by name.
    pub fn numbers(&mut self) -> impl Iterator<Item = (&'static str, &mut [f64])> {
        let of_block: [(&str, &mut [f64]); 2] = [("drops", &mut self.drops), ("block", &mut self.heat)];
        of_block.into_iter().chain(self.past.numbers())
    }

    /// Sets the place of the next hour, counted from the start; its numbers are set through
    /// [`numbers`](Self::numbers).
    pub fn go_to(&mut self, hour: usize) {
        self.next = hour % BLOCK;
    }
}
