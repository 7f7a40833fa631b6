//! Effect of the heat of all past hours on the coming hours.

use std::array::from_fn;
use std::sync::Arc;

use super::{Ladder, RECENT, RUNGS, Response};
use crate::lane_layout::{BLOCK, LaneLayout};
use crate::lanes::Lanes;

/// Sums that are accumulated together: as many as the registers of any processor hold.
const SUMS: usize = 8;

/// Loops of one horizon with the effect of their past heat.
///
/// The temperature drop at the end of an hour is the sum of the responses to all hours up to that one. The heat of the
/// previous block acts hour by hour, all older heat through the states of the exponentials.
#[derive(Debug, Clone)]
#[repr(C, align(64))] // No vector lies across two lines of the processor's cache.
pub struct PastHeat<A: LaneLayout> {
    /// Responses to one watt in the hour itself and after 1, 2, ... hours.
    recent: [A::Designs; RECENT],
    past: [[A::Designs; BLOCK]; RUNGS],
    states: [A::Designs; RUNGS],
    /// Drops in the next block that follow from the states.
    old: [A::Designs; BLOCK],
    /// Heat of the last block.
    heat: [A::Designs; BLOCK],
    layout: A,
    ladder: Arc<Ladder>,
}

impl<A: LaneLayout> PastHeat<A> {
    /// Loops without any past heat; the responses (K/W) of the lanes must be fitted with this ladder.
    #[must_use]
    pub fn none<'a>(layout: A, ladder: &Arc<Ladder>, response: impl Fn(usize) -> &'a Response) -> Self {
        let each =
            |of: &dyn Fn(&Response) -> f64| A::Designs::each(layout.of_designs(), |lane| of(response(lane)));
        let zero = each(&|_| 0.0);
        Self {
            layout,
            ladder: Arc::clone(ladder),
            recent: from_fn(|age| each(&|response| response.recent[age])),
            past: from_fn(|i| from_fn(|k| each(&|response| response.past[i][k]))),
            states: [zero; RUNGS],
            old: [zero; BLOCK],
            heat: [zero; BLOCK],
        }
    }

    /// Replaces the responses from the next block on; they act on the past heat, too.
    #[inline(always)]
    pub fn respond_with<'a>(&mut self, response: impl Fn(usize) -> &'a Response) {
        let fresh = Self::none(self.layout, &self.ladder, response);
        self.recent = fresh.recent;
        self.past = fresh.past;
        self.old = self.drops_by_states();
    }

    /// Drops (K/W) due to one watt in an hour of a block, in that hour and in the following hours of the block.
    #[inline(always)]
    pub fn pulse_response(&self) -> [A::Designs; BLOCK] {
        from_fn(|age| self.recent[age])
    }

    /// Drops in the hours of the next block without heat in them (K); called once per block.
    ///
    /// The remaining update of the states is placed where the processor would otherwise wait for the heat pump: one
    /// half here, while the block's hours are prepared, and the other in [`take`](Self::take), while they are chained
    /// to each other.
    #[inline(always)]
    pub fn no_load_drops(&mut self) -> [A::Designs; BLOCK] {
        let mut drops = self.old;
        for part in 0..A::parts(BLOCK) {
            let mut drop = self.layout.part(&drops, part);
            for hour in 0..BLOCK {
                let responses = self.layout.part(&self.recent[BLOCK - hour..RECENT - hour], part);
                drop = responses.mul_add(self.layout.throughout(self.heat[hour]), drop);
            }
            self.layout.set_part(&mut drops, part, drop);
        }
        self.advance_states();
        drops
    }

    /// Records the heat extracted in each hour of the block (W).
    #[inline(always)]
    pub fn take(&mut self, heat_extracted: &[A::Designs; BLOCK]) {
        self.old = self.drops_by_states();
        self.heat = *heat_extracted;
    }

    /// The numbers that past heat has left, by name: the states of the exponentials, the drops in the next block that
    /// follow from them, and the heat of the last block.
    pub(super) fn numbers(&mut self) -> [(&'static str, &mut [A::Designs]); 3] {
        [("states", &mut self.states), ("old_drops", &mut self.old), ("last_block", &mut self.heat)]
    }

    #[inline(always)]
    fn advance_states(&mut self) {
        let (layout, ladder) = (self.layout, &*self.ladder);
        let heat: [A::Wide; BLOCK] = from_fn(|hour| layout.throughout(self.heat[hour]));
        for part in 0..A::parts(RUNGS) {
            let decay = layout.shared(&ladder.decay, part);
            let mut state = layout.part(&self.states, part);
            for hour in 0..BLOCK {
                state = state.mul_add(decay, heat[hour]);
            }
            layout.set_part(&mut self.states, part, state);
        }
    }

    /// Drops in the hours of a block that follow from the states: two sums per hour, to shorten the chain of dependent
    /// additions.
    #[inline(always)]
    fn drops_by_states(&self) -> [A::Designs; BLOCK] {
        let layout = self.layout;
        let mut drops = self.old;
        let parts = A::parts(BLOCK);
        let together = parts.min(SUMS / 2);
        for first in (0..parts).step_by(together) {
            let mut sums = [[layout.throughout(self.states[0].like(0.0)); SUMS / 2]; 2];
            for pair in 0..RUNGS / 2 {
                for odd in 0..2 {
                    let i = 2 * pair + odd;
                    let state = layout.throughout(self.states[i]);
                    for k in 0..together {
                        sums[odd][k] = layout.part(&self.past[i], first + k).mul_add(state, sums[odd][k]);
                    }
                }
            }
            for k in 0..together {
                layout.set_part(&mut drops, first + k, sums[0][k] + sums[1][k]);
            }
        }
        drops
    }
}
