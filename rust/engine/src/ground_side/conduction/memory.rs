//! Loops while their runs step.

use std::array::from_fn;

use super::resistance_table::ResistanceTable;
use super::responses::Responses;
use crate::ground_side::{GroundSide, Offer};
use crate::history::PastHeat;
use crate::lanes::Lanes;

/// Loops of one horizon, and what their heat has left behind.
///
/// The resistance is that at the mean fluid temperature of the hour before last, so that no hour waits for it.
#[derive(Debug, Clone)]
pub struct ConductionMemory<const L: usize> {
    /// Temperature of the fluid without heat, hour by hour, which repeats.
    undisturbed: Vec<Lanes<L>>,
    /// The next hour's place there.
    place: usize,
    resistances: [ResistanceTable; L],
    past: PastHeat<L>,
    fluid: Lanes<L>,
    fluid_before: Lanes<L>,
}

impl<const L: usize> ConductionMemory<L> {
    /// Loops at rest at their undisturbed temperatures; all must have been made ready for the same horizon.
    #[must_use]
    pub fn at_rest(loops: [&Responses; L]) -> Self {
        let hours = loops.map(|ready| ready.undisturbed.len()).into_iter().max().unwrap_or(1);
        let undisturbed: Vec<Lanes<L>> =
            (0..hours).map(|hour| Lanes(loops.map(|ready| ready.undisturbed(hour)))).collect();
        let first = undisturbed[0];
        Self {
            undisturbed,
            place: 0,
            resistances: loops.map(|ready| ready.resistances.clone()),
            past: PastHeat::none(&loops[0].ladder, loops.map(|ready| &ready.fluid_response)),
            fluid: first,
            fluid_before: first,
        }
    }
}

impl<const L: usize> GroundSide<L> for ConductionMemory<L> {
    #[inline(always)]
    fn offer(&mut self) -> Offer<L> {
        let rows: [(f64, f64); L] = from_fn(|lane| self.resistances[lane].at(self.fluid_before.0[lane]));
        let kelvins_per_watt = Lanes(rows.map(|row| row.1));
        Offer {
            settled: self.undisturbed[self.place] - self.past.settled_drop(),
            carry: self.past.carry,
            resistance: self.past.at_once + Lanes(rows.map(|row| row.0)) - kelvins_per_watt * 0.5,
            kelvins_per_watt,
        }
    }

    #[inline(always)]
    fn commit(&mut self, heat_extracted: Lanes<L>, mean_fluid: Lanes<L>) {
        self.past.take(heat_extracted);
        self.place = if self.place + 1 == self.undisturbed.len() { 0 } else { self.place + 1 };
        self.fluid_before = std::mem::replace(&mut self.fluid, mean_fluid);
    }
}
