//! Loops while their runs step.

use std::array::from_fn;

use super::resistance_table::ResistanceTable;
use super::responses::Responses;
use crate::ground_side::{GroundSide, Offer};
use crate::history::{BLOCK, PastHeat};
use crate::hours::Hours;
use crate::lanes::Lanes;

/// Loops of one horizon, and what their heat has left behind.
///
/// The resistance of a block of hours is that at the mean fluid temperature at its beginning.
#[derive(Debug, Clone)]
pub struct ConductionMemory<const L: usize> {
    /// Temperature of the fluid without heat, block by block, which repeats.
    undisturbed: Vec<[Lanes<L>; BLOCK]>,
    /// The next block's place there.
    place: usize,
    resistances: [ResistanceTable; L],
    past: PastHeat<L>,
    /// Mean fluid temperature of the last hour.
    fluid: Lanes<L>,
}

impl<const L: usize> ConductionMemory<L> {
    /// Loops at rest at their undisturbed temperatures; all must have been made ready for the same horizon.
    #[must_use]
    pub fn at_rest(loops: [&Responses; L]) -> Self {
        let hours = loops.map(|ready| ready.undisturbed.len()).into_iter().max().unwrap_or(1);
        let hour = |hour: usize| Lanes(loops.map(|ready| ready.undisturbed(hour)));
        let block = |block: usize| from_fn(|k| hour(block * BLOCK + k));
        Self {
            undisturbed: (0..hours.div_ceil(BLOCK)).map(block).collect(),
            place: 0,
            resistances: loops.map(|ready| ready.resistances.clone()),
            past: PastHeat::none(&loops[0].ladder, loops.map(|ready| &ready.fluid_response)),
            fluid: hour(0),
        }
    }
}

impl<const L: usize> GroundSide<L, BLOCK> for ConductionMemory<L> {
    #[inline(always)]
    fn offer(&mut self) -> Offer<L, BLOCK> {
        let rows: [(f64, f64); L] = from_fn(|lane| self.resistances[lane].at(self.fluid.0[lane]));
        let kelvins_per_watt = Lanes(rows.map(|row| row.1));
        let mut answers = self.past.answers();
        answers[0] = answers[0] + Lanes(rows.map(|row| row.0)) - kelvins_per_watt * 0.5;
        let (undisturbed, drops) = (&self.undisturbed[self.place], self.past.settled_drops());
        Offer { settled: Hours(from_fn(|hour| undisturbed[hour] - drops[hour])), answers, kelvins_per_watt }
    }

    #[inline(always)]
    fn commit(&mut self, heat_extracted: &Hours<L, BLOCK>, mean_fluid: &Hours<L, BLOCK>) {
        self.past.take(&heat_extracted.0);
        self.place = if self.place + 1 == self.undisturbed.len() { 0 } else { self.place + 1 };
        self.fluid = mean_fluid[BLOCK - 1];
    }
}
