//! A bore field while a run steps.

use std::hint::black_box;

use super::resistance_table::ResistanceTable;
use crate::ground_side::{GroundSide, LoopState, Offer};
use crate::history::{RUNGS, Rungs};

/// Exponentials summed side by side; the order of the sums is fixed by it, so that every processor gives the same bits.
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

/// Exponentials that are stepped side by side, with the factors that bring them on and sum them up.
#[derive(Debug, Clone, Copy)]
struct Group {
    state: [f64; LANES],
    decay: [f64; LANES],
    gain: [f64; LANES],
    wall_weight: [f64; LANES],
    fluid_weight: [f64; LANES],
}

/// States of the exponentials and what follows from them.
///
/// With heat q_n of hour n and a = exp(-1 h / tau) each state is s_n = a s_(n-1) + (1 - a) q_n, and the drop at the hour's end
/// is the sum of w s_n. The sums for hour n + 1 are taken from s_(n-1) and completed by one term in q_n, so that the processor
/// can work on them while the heat pump's hour n is being solved.
#[derive(Debug, Clone)]
pub struct BoreFieldMemory {
    undisturbed: f64,
    resistances: ResistanceTable,
    rungs: [Group; RUNGS / LANES],
    wall_by_heat: f64,
    fluid_by_heat: f64,
    fluid_by_heat_before: f64,
    heat: f64,
    wall_drop: f64,
    fluid_drop: f64,
    next_fluid_drop: f64,
    fluid_temperature: f64,
    resistance: f64,
}

impl BoreFieldMemory {
    /// A field at rest at its undisturbed temperature [degC].
    #[must_use]
    pub fn at_rest(undisturbed: f64, weights: &Weights, resistances: ResistanceTable) -> Self {
        let Weights { decay, wall, fluid } = weights;
        let sum = |f: &dyn Fn(usize) -> f64| (0..RUNGS).map(f).sum::<f64>();
        let group = |number: usize| {
            let lanes = |f: &dyn Fn(usize) -> f64| std::array::from_fn(|lane| f(number * LANES + lane));
            Group {
                state: [0.0; LANES],
                decay: lanes(&|i| decay[i]),
                gain: lanes(&|i| 1.0 - decay[i]),
                wall_weight: lanes(&|i| wall[i] * decay[i]),
                fluid_weight: lanes(&|i| fluid[i] * decay[i] * decay[i]),
            }
        };
        Self {
            undisturbed,
            resistances,
            rungs: std::array::from_fn(group),
            wall_by_heat: sum(&|i| wall[i] * (1.0 - decay[i])),
            fluid_by_heat: sum(&|i| fluid[i] * (1.0 - decay[i])),
            fluid_by_heat_before: sum(&|i| fluid[i] * decay[i] * (1.0 - decay[i])),
            heat: 0.0,
            wall_drop: 0.0,
            fluid_drop: 0.0,
            next_fluid_drop: 0.0,
            fluid_temperature: undisturbed,
            resistance: 0.0,
        }
    }

    /// Brings the states to the end of the hour before; from them the wall's drop of this hour and the fluid's of the next,
    /// both but for this hour's heat.
    #[inline(always)]
    fn advance_states(&mut self) {
        let (mut wall, mut fluid) = ([0.0; LANES], [0.0; LANES]);
        for rungs in &mut self.rungs {
            for lane in 0..LANES {
                let state = rungs.decay[lane] * rungs.state[lane] + rungs.gain[lane] * self.heat;
                wall[lane] += rungs.wall_weight[lane] * state;
                fluid[lane] += rungs.fluid_weight[lane] * state;
                rungs.state[lane] = state;
            }
        }
        self.wall_drop = pairwise(wall);
        self.next_fluid_drop = pairwise(fluid);
    }
}

impl GroundSide for BoreFieldMemory {
    #[inline(always)]
    fn offer(&mut self) -> Offer {
        self.advance_states();
        let (resistance, capacity_rate) = self.resistances.at(self.fluid_temperature);
        self.resistance = resistance;
        Offer {
            open_circuit: self.undisturbed - self.fluid_drop,
            resistance: self.fluid_by_heat + resistance - 0.5 / capacity_rate,
            capacity_rate,
        }
    }

    #[inline(always)]
    fn commit(&mut self, heat_extracted: f64) -> LoopState {
        let wall = self.undisturbed - self.wall_drop - self.wall_by_heat * heat_extracted;
        let fluid =
            self.undisturbed - self.fluid_drop - (self.fluid_by_heat + self.resistance) * heat_extracted;
        self.fluid_drop = self.next_fluid_drop + self.fluid_by_heat_before * heat_extracted;
        self.heat = heat_extracted;
        self.fluid_temperature = fluid;
        LoopState { fluid, wall }
    }
}

/// The sum of the lanes, in an order that is the same on every processor.
#[inline(always)]
fn pairwise(lanes: [f64; LANES]) -> f64 {
    // Seen through, the sum tempts the compiler to pair the lanes already in the loop above, which halves its speed.
    let lanes = black_box(lanes);
    let halves: [f64; LANES / 2] = std::array::from_fn(|i| lanes[i] + lanes[i + LANES / 2]);
    (halves[0] + halves[2]) + (halves[1] + halves[3])
}
