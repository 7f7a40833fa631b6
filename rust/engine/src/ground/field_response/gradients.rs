//! State of the conjugate gradients for a few bores, processed by one thread at a time.
//!
//! The preconditioner solves for each bore separately.

use super::coarse::{add, products, turned};
use super::lattice::{F32Lanes, LANES};
use super::own::{solve, triangle_size};
use super::segments::SEGMENTS;

/// Bores that are processed together, and their segments.
const BORES: usize = 32;
pub const TOGETHER: usize = BORES * SEGMENTS;

/// A few bores, segment by segment.
pub struct FewBores<'a> {
    /// Factors of their own matrices (see [`factors`](super::own::factors)).
    factors: &'a [F32Lanes],
    /// Heat per metre.
    heat: Vec<F32Lanes>,
    /// Residual of the drops, times the segments' lengths.
    residual: Vec<F32Lanes>,
    /// The residual, solved for each bore separately.
    solved: Vec<F32Lanes>,
    /// Action of the direction on its own bore.
    own: Vec<F32Lanes>,
}

impl<'a> FewBores<'a> {
    /// All bores without heat, from the factors of their matrices and the lengths of their segments (m).
    pub fn all(factors: &'a [F32Lanes], lengths: &[f64]) -> Vec<Self> {
        let few = |(factors, lengths): (&'a [F32Lanes], &[f64])| {
            let nothing = vec![[0.0; LANES]; lengths.len()];
            let residual = lengths.iter().map(|&length| [length as f32; LANES]).collect();
            Self { factors, heat: nothing.clone(), residual, solved: nothing.clone(), own: nothing }
        };
        factors.chunks(BORES * triangle_size(SEGMENTS)).zip(lengths.chunks(TOGETHER)).map(few).collect()
    }

    /// Heat per metre.
    pub fn heat(&self) -> &[F32Lanes] {
        &self.heat
    }

    /// Adds heat along a direction.
    pub fn add_heat(&mut self, step: F32Lanes, direction: &[F32Lanes]) {
        add(&mut self.heat, step, direction);
    }

    /// Subtracts a step, given its image, from the residual of the drops.
    pub fn take_off(&mut self, step: F32Lanes, image: &[F32Lanes]) {
        add(&mut self.residual, step.map(|step| -step), image);
    }

    /// Sets the residual of the drops to zero in some lanes, where numbers would become so small that arithmetic is
    /// very slow.
    pub fn silence(&mut self, lanes: &[bool; LANES]) {
        for values in &mut self.residual {
            values.iter_mut().zip(lanes).filter(|(_, silent)| **silent).for_each(|(value, _)| *value = 0.0);
        }
    }

    /// Solves for each bore separately, and returns the products of the residual with its solution.
    pub fn solve(&mut self) -> [f64; LANES] {
        self.solved.copy_from_slice(&self.residual);
        solve(self.factors, SEGMENTS, &mut self.solved);
        products(&self.residual, &self.solved)
    }

    /// Updates the direction with the separate solutions of the bores, and starts its image with the action on its own
    /// bore.
    pub fn turn(&mut self, turn: F32Lanes, direction: &mut [F32Lanes], image: &mut [F32Lanes]) {
        turned(direction, turn, &self.solved);
        turned(&mut self.own, turn, &self.residual);
        image.copy_from_slice(&self.own);
    }
}
