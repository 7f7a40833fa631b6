//! What the heat of all past hours does to the hours that come.

use std::array::from_fn;
use std::sync::Arc;

use super::{BLOCK, Ladder, RECENT, RUNGS, Response};
use crate::lane_layout::LaneLayout;
use crate::lanes::Lanes;

/// Sums that are formed at a time: as many as the registers of any processor hold.
const SUMS: usize = 8;

/// Loops of one horizon, and what their heat has left behind.
///
/// The drop at the end of an hour is the sum of the answers to all hours up to that one. The hours of the block before are answered
/// as they are, all older ones through the states of the exponentials.
#[derive(Debug, Clone)]
#[repr(C, align(64))] // No vector lies across two lines of the processor's cache.
pub struct PastHeat<A: LaneLayout> {
    /// Answers to one watt in the hour itself and after 1, 2, ... hours.
    recent: [A::Designs; RECENT],
    past: [[A::Designs; BLOCK]; RUNGS],
    states: [A::Designs; RUNGS],
    /// Drops that the states lead to in the next block.
    old: [A::Designs; BLOCK],
    /// Heat of the last block.
    heat: [A::Designs; BLOCK],
    layout: A,
    ladder: Arc<Ladder>,
}

impl<A: LaneLayout> PastHeat<A> {
    /// Loops that never gave nor took any heat; the responses [K/W] of the lanes must be fitted with this ladder.
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

    /// Drops [K/W] that one watt in an hour of a block leads to in that hour and in those that follow it there.
    #[inline(always)]
    pub fn pulse_response(&self) -> [A::Designs; BLOCK] {
        from_fn(|age| self.recent[age])
    }

    /// Drops in the hours of the next block without heat in them [K]; asked for once a block.
    ///
    /// What the states need besides is done where the processor would else wait for the heat pump: one half here, while its hours
    /// are prepared, and the other in [`take`](Self::take), while they follow from each other.
    #[inline(always)]
    pub fn no_load_drops(&mut self) -> [A::Designs; BLOCK] {
        let mut drops = self.old;
        for part in 0..A::parts(BLOCK) {
            let mut drop = self.layout.part(&drops, part);
            for hour in 0..BLOCK {
                let answers = self.layout.part(&self.recent[BLOCK - hour..RECENT - hour], part);
                drop = answers.mul_add(self.layout.throughout(self.heat[hour]), drop);
            }
            self.layout.set_part(&mut drops, part, drop);
        }
        self.advance_states();
        drops
    }

    /// Takes the heat extracted in each hour of the block [W].
    #[inline(always)]
    pub fn take(&mut self, heat_extracted: &[A::Designs; BLOCK]) {
        self.old = self.drops_by_states();
        self.heat = *heat_extracted;
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

    /// Drops in the hours of a block that the states lead to: two sums for each hour, so that no long sum waits for itself.
    #[inline(always)]
    fn drops_by_states(&self) -> [A::Designs; BLOCK] {
        let layout = self.layout;
        let mut drops = self.old;
        let parts = A::parts(BLOCK);
        let together = parts.min(SUMS / 2);
        for first in (0..parts).step_by(together) {
            let mut sums = [[layout.throughout(self.states[0].like(0.0)); SUMS / 2]; 2];
            for i in (0..RUNGS).step_by(2) {
                for odd in 0..2 {
                    let state = layout.throughout(self.states[i + odd]);
                    for k in 0..together {
                        sums[odd][k] =
                            layout.part(&self.past[i + odd], first + k).mul_add(state, sums[odd][k]);
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
