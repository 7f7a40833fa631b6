//! Loops while their runs step.

use std::array::from_fn;

use super::resistance_table::ResistanceTable;
use super::responses::Responses;
use crate::abreast::Abreast;
use crate::ground_side::{GroundSide, Offer};
use crate::history::{BLOCK, PastHeat};
use crate::lanes::Lanes;

/// Loops of one horizon, and what their heat has left behind.
///
/// The resistance of a block of hours is that at the mean fluid temperature at its beginning.
#[derive(Debug, Clone)]
pub struct ConductionMemory<'a, A: Abreast> {
    abreast: A,
    /// Temperature of the fluid without heat, block by block, which repeats.
    undisturbed: Vec<[A::Designs; BLOCK]>,
    /// The next block's place there.
    place: usize,
    /// Of each design.
    resistances: Vec<&'a ResistanceTable>,
    past: PastHeat<A>,
    /// Mean fluid temperature of the last hour.
    fluid: A::Designs,
}

impl<'a, A: Abreast> ConductionMemory<'a, A> {
    /// Loops at rest at their undisturbed temperatures; all must have been made ready for the same horizon. Lanes that are left over
    /// have the last one.
    #[must_use]
    pub fn at_rest(abreast: A, loops: &[&'a Responses]) -> Self {
        let of = |lane: usize| loops[lane.min(loops.len() - 1)];
        let hours = loops.iter().map(|ready| ready.undisturbed.len()).max().unwrap_or(1);
        let hour = |hour: usize| A::Designs::each(abreast.of_designs(), |lane| of(lane).undisturbed(hour));
        let block = |block: usize| from_fn(|k| hour(block * BLOCK + k));
        Self {
            abreast,
            undisturbed: (0..hours.div_ceil(BLOCK)).map(block).collect(),
            place: 0,
            resistances: (0..A::Designs::COUNT).map(|lane| &of(lane).resistances).collect(),
            past: PastHeat::none(abreast, &loops[0].ladder, |lane| &of(lane).fluid_response),
            fluid: hour(0),
        }
    }
}

impl<A: Abreast> GroundSide<A::Designs, BLOCK> for ConductionMemory<'_, A> {
    #[inline(always)]
    fn offer(&mut self) -> Offer<A::Designs, BLOCK> {
        let at = |lane: usize| self.resistances[lane].at(self.fluid.lane(lane));
        let [resistance, kelvins_per_watt] = A::Designs::each_pair(self.abreast.of_designs(), at);
        let mut answers = self.past.answers();
        answers[0] = answers[0] + resistance - kelvins_per_watt * kelvins_per_watt.like(0.5);
        let (undisturbed, mut settled) = (&self.undisturbed[self.place], self.past.settled_drops());
        for hour in 0..BLOCK {
            settled[hour] = undisturbed[hour] - settled[hour];
        }
        Offer { settled, answers, kelvins_per_watt }
    }

    #[inline(always)]
    fn commit(&mut self, heat_extracted: &[A::Designs; BLOCK], mean_fluid: A::Designs) {
        self.past.take(heat_extracted);
        self.place = if self.place + 1 == self.undisturbed.len() { 0 } else { self.place + 1 };
        self.fluid = mean_fluid;
    }
}
