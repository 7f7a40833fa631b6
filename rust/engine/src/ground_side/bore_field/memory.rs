//! A bore field while a run steps.

use std::hint::black_box;

use super::resistance_table::ResistanceTable;
use crate::ground_side::{GroundSide, LoopState, Offer};
use crate::history::{RUNGS, Rungs};

/// Products summed side by side.
const LANES: usize = 8;

/// Weights of the exponentials for wall and fluid, in kelvins per watt of the whole field.
#[derive(Debug, Clone)]
pub struct Weights {
    /// What an hour leaves of each state.
    pub decay: Rungs,
    /// Drop of the wall temperature for each state [K/W].
    pub wall: Rungs,
    /// Drop of the mean fluid temperature for each state, the bore's resistance left out [K/W].
    pub fluid: Rungs,
}

/// States of the exponentials and what follows from them.
///
/// With heat q_n of hour n and a = exp(-1 h / tau) each state is s_n = a s_(n-1) + (1 - a) q_n, and the drop at the hour's end
/// is the sum of w s_n. The sums for hour n + 1 are taken from s_(n-1) and completed by one term in q_n, so that the processor
/// can work on them while the heat pump's hour n is being solved. For the same reason the bore's resistance is that at the mean
/// fluid temperature of the hour before last.
#[derive(Debug, Clone)]
pub struct BoreFieldMemory {
    undisturbed: f64,
    resistances: ResistanceTable,
    state: Rungs,
    decay: Rungs,
    gain: Rungs,
    wall_weight: Rungs,
    fluid_weight: Rungs,
    wall_by_heat: f64,
    fluid_by_heat: f64,
    fluid_by_heat_before: f64,
    heat: f64,
    wall_drop: f64,
    fluid_drop: f64,
    next_fluid_drop: f64,
    fluid: f64,
    fluid_before: f64,
    resistance: f64,
}

impl BoreFieldMemory {
    /// A field at rest at its undisturbed temperature [degC].
    #[must_use]
    pub fn at_rest(undisturbed: f64, weights: &Weights, resistances: ResistanceTable) -> Self {
        let Weights { decay, wall, fluid } = weights;
        let sum = |f: &dyn Fn(usize) -> f64| (0..RUNGS).map(f).sum::<f64>();
        Self {
            undisturbed,
            resistances,
            state: [0.0; RUNGS],
            decay: *decay,
            gain: decay.map(|a| 1.0 - a),
            wall_weight: std::array::from_fn(|i| wall[i] * decay[i]),
            fluid_weight: std::array::from_fn(|i| fluid[i] * decay[i] * decay[i]),
            wall_by_heat: sum(&|i| wall[i] * (1.0 - decay[i])),
            fluid_by_heat: sum(&|i| fluid[i] * (1.0 - decay[i])),
            fluid_by_heat_before: sum(&|i| fluid[i] * decay[i] * (1.0 - decay[i])),
            heat: 0.0,
            wall_drop: 0.0,
            fluid_drop: 0.0,
            next_fluid_drop: 0.0,
            fluid: undisturbed,
            fluid_before: undisturbed,
            resistance: 0.0,
        }
    }

    /// Brings the states to the end of the hour before; from them the wall's drop of this hour and the fluid's of the next,
    /// both but for this hour's heat.
    #[inline(always)]
    fn advance_states(&mut self) {
        let heat = self.heat;
        for i in 0..RUNGS {
            self.state[i] = self.decay[i].mul_add(self.state[i], self.gain[i] * heat);
        }
        self.wall_drop = dot(&self.wall_weight, &self.state);
        self.next_fluid_drop = dot(&self.fluid_weight, &self.state);
    }
}

impl GroundSide for BoreFieldMemory {
    #[inline(always)]
    fn offer(&mut self) -> Offer {
        let (resistance, kelvins_per_watt) = self.resistances.at(self.fluid_before);
        self.resistance = resistance;
        Offer {
            open_circuit: self.undisturbed - self.fluid_drop,
            resistance: self.fluid_by_heat + resistance - 0.5 * kelvins_per_watt,
            kelvins_per_watt,
        }
    }

    #[inline(always)]
    fn commit(&mut self, heat_extracted: f64) -> LoopState {
        self.advance_states();
        let wall = self.undisturbed - self.wall_drop - self.wall_by_heat * heat_extracted;
        let fluid =
            self.undisturbed - self.fluid_drop - (self.fluid_by_heat + self.resistance) * heat_extracted;
        self.fluid_drop = self.fluid_by_heat_before.mul_add(heat_extracted, self.next_fluid_drop);
        self.heat = heat_extracted;
        self.fluid_before = std::mem::replace(&mut self.fluid, fluid);
        LoopState { fluid, wall }
    }
}

/// Sum of the products, lane by lane and then over the lanes: an order that is the same on every processor.
#[inline(always)]
fn dot(weights: &Rungs, state: &Rungs) -> f64 {
    let mut lanes = [0.0; LANES];
    for (weights, state) in weights.chunks_exact(LANES).zip(state.chunks_exact(LANES)) {
        for lane in 0..LANES {
            lanes[lane] = weights[lane].mul_add(state[lane], lanes[lane]);
        }
    }
    // Seen through, the sum of the lanes tempts the compiler to pair them in the loop above, at twice its cost.
    let lanes = black_box(lanes);
    let halves: [f64; LANES / 2] = std::array::from_fn(|i| lanes[i] + lanes[i + LANES / 2]);
    (halves[0] + halves[2]) + (halves[1] + halves[3])
}
