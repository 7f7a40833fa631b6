//! What the heat of all past hours does to the hours that come.

use std::array::from_fn;
use std::sync::Arc;

use super::{BLOCK, Ladder, RECENT, RUNGS, Response};
use crate::lanes::Lanes;

/// Numbers that are worked on together: as many as eight vector registers hold.
const AT_ONCE: usize = 32;

/// Loops of one horizon, and what their heat has left behind.
///
/// The drop at the end of an hour is the sum of the answers to all hours up to that one. The hours of the block before are answered
/// as they are, all older ones through the states of the exponentials.
#[derive(Debug, Clone)]
pub struct PastHeat<const L: usize> {
    ladder: Arc<Ladder>,
    /// Answers to one watt in the hour itself and after 1, 2, ... hours.
    recent: [Lanes<L>; RECENT],
    past: [[Lanes<L>; BLOCK]; RUNGS],
    states: [Lanes<L>; RUNGS],
    /// Drops that the states lead to in the next block.
    old: [Lanes<L>; BLOCK],
    /// Heat of the last block.
    heat: [Lanes<L>; BLOCK],
}

impl<const L: usize> PastHeat<L> {
    /// Loops that never gave nor took any heat; their responses [K/W] must be fitted with this ladder.
    #[must_use]
    pub fn none(ladder: &Arc<Ladder>, responses: [&Response; L]) -> Self {
        let each = |of: &dyn Fn(&Response) -> f64| Lanes(responses.map(of));
        Self {
            ladder: Arc::clone(ladder),
            recent: from_fn(|age| each(&|response| response.recent[age])),
            past: from_fn(|i| from_fn(|k| each(&|response| response.past[i][k]))),
            states: [Lanes::default(); RUNGS],
            old: [Lanes::default(); BLOCK],
            heat: [Lanes::default(); BLOCK],
        }
    }

    /// Drops [K/W] that one watt in an hour of a block leads to in that hour and in those that follow it there.
    #[inline(always)]
    pub fn answers(&self) -> [Lanes<L>; BLOCK] {
        from_fn(|age| self.recent[age])
    }

    /// Drops in the hours of the next block without heat in them [K]; asked for once a block.
    ///
    /// The states of the block after it are worked out here, so that they are ready when the heat pump's work is done.
    #[inline(always)]
    pub fn settled_drops(&mut self) -> [Lanes<L>; BLOCK] {
        let mut drops = self.old;
        for (hour, &heat) in self.heat.iter().enumerate() {
            let answers = &self.recent[BLOCK - hour..RECENT - hour];
            for (drop, answer) in drops.iter_mut().zip(answers) {
                *drop = answer.mul_add(heat, *drop);
            }
        }
        self.advance_states();
        self.old = self.drops_by_states();
        drops
    }

    /// Takes the heat extracted in each hour of the block [W].
    #[inline(always)]
    pub fn take(&mut self, heat_extracted: &[Lanes<L>; BLOCK]) {
        self.heat = *heat_extracted;
    }

    #[inline(always)]
    fn advance_states(&mut self) {
        const { assert!(RUNGS.is_multiple_of(AT_ONCE / L)) };
        let together = AT_ONCE / L;
        for first in (0..RUNGS).step_by(together) {
            let states = &mut self.states[first..first + together];
            let mut advanced = [Lanes::<L>::default(); AT_ONCE];
            for i in 0..together {
                advanced[i] = states[i] * self.ladder.decay[first + i];
            }
            for (gain, heat) in self.ladder.gain.iter().zip(&self.heat) {
                for i in 0..together {
                    advanced[i] = heat.mul_add(Lanes::all(gain[first + i]), advanced[i]);
                }
            }
            states.copy_from_slice(&advanced[..together]);
        }
    }

    /// Drops in the hours of a block that the states lead to.
    ///
    /// Two sums for each hour, so that no long sum waits for itself; as many hours at a time as keep all sums in registers.
    #[inline(always)]
    fn drops_by_states(&self) -> [Lanes<L>; BLOCK] {
        let together = if L == 1 { BLOCK } else { BLOCK / 4 };
        let mut drops = [Lanes::default(); BLOCK];
        for first in (0..BLOCK).step_by(together) {
            let mut sums = [[Lanes::default(); BLOCK]; 2];
            for i in (0..RUNGS).step_by(2) {
                for (i, sums) in (i..i + 2).zip(&mut sums) {
                    let past = &self.past[i][first..first + together];
                    for (sum, past) in sums.iter_mut().zip(past) {
                        *sum = past.mul_add(self.states[i], *sum);
                    }
                }
            }
            for k in 0..together {
                drops[first + k] = sums[0][k] + sums[1][k];
            }
        }
        drops
    }
}
