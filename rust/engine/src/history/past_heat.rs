//! What the heat of all past hours does to the hours that come.

use std::array::from_fn;
use std::sync::Arc;

use super::{BLOCK, Ladder, RECENT, RUNGS, Response};
use crate::lanes::Lanes;

/// Numbers that are worked on together: as many as ten vector registers hold.
const AT_ONCE: usize = 40;

/// Exponentials that are summed together.
const GROUP: usize = 20;

/// Loops of one horizon, and what their heat has left behind.
///
/// The drop at the end of an hour is the sum of the answers to all hours up to that one. The recent hours are added one by one as
/// soon as their heat is known, all older ones once a block through the states of the exponentials.
#[derive(Debug, Clone)]
pub struct PastHeat<const L: usize> {
    ladder: Arc<Ladder>,
    /// Answer to one watt in the hour itself, and in the next.
    pub at_once: Lanes<L>,
    /// Answer to one watt in the hour after it.
    pub carry: Lanes<L>,
    /// Answers to one watt after 2, 3, ... hours, with zeros before them.
    recent: [Lanes<L>; BLOCK + RECENT],
    past: [[Lanes<L>; BLOCK]; RUNGS],
    states: [Lanes<L>; RUNGS],
    /// Heat of the block before this one, and of this one.
    heat_before: [Lanes<L>; BLOCK],
    heat: [Lanes<L>; BLOCK],
    /// Drops in the hours of this block and the next, of the hours committed so far but for what the last one leaves to the next.
    drops: [Lanes<L>; RECENT],
    /// The hour of the block.
    hour: usize,
}

impl<const L: usize> PastHeat<L> {
    /// Loops that never gave nor took any heat; their responses [K/W] must be fitted with this ladder.
    #[must_use]
    pub fn none(ladder: &Arc<Ladder>, responses: [&Response; L]) -> Self {
        let each = |of: &dyn Fn(&Response) -> f64| Lanes(responses.map(of));
        let recent = |age: usize| each(&|response| response.recent[age]);
        Self {
            ladder: Arc::clone(ladder),
            at_once: recent(0),
            carry: recent(1),
            recent: from_fn(|place| match place.checked_sub(BLOCK) {
                Some(age @ 2..RECENT) => recent(age),
                _ => Lanes::default(),
            }),
            past: from_fn(|i| from_fn(|k| each(&|response| response.past[i][k]))),
            states: [Lanes::default(); RUNGS],
            heat_before: [Lanes::default(); BLOCK],
            heat: [Lanes::default(); BLOCK],
            drops: [Lanes::default(); RECENT],
            hour: 0,
        }
    }

    /// Drop at the end of the next hour that all hours but the one before it leave, without heat in the hour [K].
    #[inline(always)]
    pub fn settled_drop(&mut self) -> Lanes<L> {
        if self.hour == BLOCK {
            self.turn_to_next_block();
        }
        self.drops[self.hour]
    }

    /// Takes the heat extracted in the next hour [W].
    #[inline(always)]
    pub fn take(&mut self, heat_extracted: Lanes<L>) {
        // This hour's heat acts from the hour after the next on. It is added an hour late, so that the next offer does not wait for it.
        if self.hour > 0 {
            self.add_recent(self.hour - 1);
        }
        self.heat[self.hour] = heat_extracted;
        self.hour += 1;
    }

    /// Tells the exponentials the heat of the block before the one that ends, and turns to the next.
    #[inline(always)]
    fn turn_to_next_block(&mut self) {
        self.add_recent(BLOCK - 1);
        self.advance_states();
        let past = self.drops_by_states();
        for (k, past) in past.into_iter().enumerate() {
            self.drops[k] = self.drops[BLOCK + k] + past;
            self.drops[BLOCK + k] = Lanes::default();
        }
        self.heat_before = self.heat;
        self.hour = 0;
    }

    /// Adds the answers to the heat of an hour of this block from the second hour after it on.
    #[inline(always)]
    fn add_recent(&mut self, hour: usize) {
        let mut drops = self.drops;
        let answers = &self.recent[BLOCK - hour..BLOCK - hour + RECENT];
        for (drop, answer) in drops.iter_mut().zip(answers) {
            *drop = answer.mul_add(self.heat[hour], *drop);
        }
        self.drops = drops;
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
            for (gain, heat) in self.ladder.gain.iter().zip(&self.heat_before) {
                for i in 0..together {
                    advanced[i] = heat.mul_add(Lanes::all(gain[first + i]), advanced[i]);
                }
            }
            states.copy_from_slice(&advanced[..together]);
        }
    }

    /// Drops in the hours of the block that all older blocks lead to.
    ///
    /// The exponentials are summed in two groups, so that no long sum waits for itself.
    #[inline(always)]
    fn drops_by_states(&self) -> [Lanes<L>; BLOCK] {
        let mut drops = [Lanes::default(); BLOCK];
        for (past, states) in self.past.chunks_exact(GROUP).zip(self.states.chunks_exact(GROUP)) {
            let mut sums = [Lanes::default(); BLOCK];
            for (past, state) in past.iter().zip(states) {
                for k in 0..BLOCK {
                    sums[k] = past[k].mul_add(*state, sums[k]);
                }
            }
            for k in 0..BLOCK {
                drops[k] = drops[k] + sums[k];
            }
        }
        drops
    }
}
