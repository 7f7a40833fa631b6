//! State of conduction loops while their runs step.

use std::sync::Arc;

use super::responses::Responses;
use super::undisturbed::UndisturbedBlocks;
use crate::ground_side::{Bend, GroundSide, Offer};
use crate::heat_pump::Tangent;
use crate::history::PastHeat;
use crate::lane_layout::{BLOCK, LaneLayout};
use crate::prepared::{ResistanceTable, TableLanes};

/// Loops of one horizon with the effect of their past heat.
#[derive(Debug, Clone)]
pub struct ConductionState<'a, A: LaneLayout> {
    /// Temperature of the fluid without heat.
    undisturbed: UndisturbedBlocks<'a, A>,
    resistances: TableLanes<A>,
    past: PastHeat<A>,
}

impl<'a, A: LaneLayout> ConductionState<'a, A> {
    /// Loops without past heat at their undisturbed temperatures; all must have been prepared for the same horizon.
    /// Unused lanes repeat the last loop.
    #[must_use]
    pub fn initial(layout: A, loops: &[&'a Responses]) -> Self {
        let of = |lane: usize| loops[lane.min(loops.len() - 1)];
        Self {
            undisturbed: UndisturbedBlocks::from(layout, loops, 0),
            resistances: TableLanes::new(layout, &tables(loops)),
            past: PastHeat::none(layout, &loops[0].ladder, |lane| &of(lane).fluid_response),
        }
    }

    /// Replaces the loops from an hour of the run on by others of the same horizon, on which the past heat then acts.
    #[inline(always)]
    pub fn continue_with(&mut self, layout: A, loops: &[&'a Responses], hour: usize) {
        let of = |lane: usize| loops[lane.min(loops.len() - 1)];
        self.undisturbed = UndisturbedBlocks::from(layout, loops, hour);
        self.resistances = TableLanes::new(layout, &tables(loops));
        self.past.respond_with(|lane| &of(lane).fluid_response);
    }
}

fn tables<'a>(loops: &[&'a Responses]) -> Vec<&'a Arc<ResistanceTable>> {
    loops.iter().map(|prepared| &prepared.resistances).collect()
}

impl<A: LaneLayout> GroundSide<A, BLOCK> for ConductionState<'_, A> {
    #[inline(always)]
    fn offer(&mut self) -> Offer<A::Designs, BLOCK> {
        let pulse_response = self.past.pulse_response();
        let (undisturbed, mut no_load_temperature) = (self.undisturbed.next(), self.past.no_load_drops());
        for hour in 0..BLOCK {
            no_load_temperature[hour] = undisturbed[hour] - no_load_temperature[hour];
        }
        Offer { no_load_temperature, pulse_response }
    }

    #[inline(always)]
    fn resistance(&self, mean_fluid: A::Wide) -> Tangent<A::Wide> {
        self.resistances.resistance(mean_fluid)
    }

    #[inline(always)]
    fn kelvins_per_watt(&self, mean_fluid: A::Wide) -> Tangent<A::Wide> {
        self.resistances.kelvins_per_watt(mean_fluid)
    }

    #[inline(always)]
    fn approximate_kelvins_per_watt(&self, mean_fluid: A::Wide) -> A::Wide {
        self.resistances.approximate_kelvins_per_watt(mean_fluid)
    }

    #[inline(always)]
    fn bends(&self) -> &[Bend<A::Wide>] {
        self.resistances.bends()
    }

    #[inline(always)]
    fn commit(&mut self, heat_extracted: &[A::Designs; BLOCK]) {
        self.past.take(heat_extracted);
        self.undisturbed.pass();
    }
}
