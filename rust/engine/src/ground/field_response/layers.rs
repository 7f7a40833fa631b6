//! What bores of any depths do to each other, sine by sine of the depth.
//!
//! Between the surface, which is kept as it is, and a depth H, the kernel exp(-s^2 (z - z')^2) - exp(-s^2 (z + z')^2)
//! is a sum over k = pi / H, 2 pi / H, ... of 2 sqrt pi / (s H) exp(-k^2 / (4 s^2)) sin(k z) sin(k z'), as long as z, z'
//! and half the reach of s are less than H together. So the sines do not mix: a sum over pairs of bores is one across
//! the field for each sine, however the depths and tops differ.

use std::f64::consts::PI;

use multiversion::multiversion;

use super::kernel::STEP;
use super::lattice::Grade;

/// The sines that carry the kernel for some s.
#[derive(Clone, Copy)]
pub struct Layers {
    /// H [m].
    depth: f64,
    /// Number of sines.
    pub count: usize,
}

impl Layers {
    /// Sines for bores that end at `deepest` [m] at most, and s from `least` to `greatest` [1/m].
    pub fn new(deepest: f64, grade: Grade, least: f64, greatest: f64) -> Self {
        let depth = deepest + 0.5 * grade.reach(least);
        let count = 2.0 * grade.cut.sqrt() * greatest * depth / PI;
        Self { depth, count: (count.ceil() as usize).max(1) }
    }

    /// So many of the sines at most.
    pub fn at_most(self, count: usize) -> Self {
        Self { count: self.count.min(count), ..self }
    }

    /// What a sine brings to F (see [`Nodes`](super::kernel::Nodes)) at s [1/m], over the integrals of both segments'
    /// heat x sine.
    pub fn weight(&self, layer: usize, s: f64) -> f64 {
        let rate = PI * (layer + 1) as f64 / self.depth;
        2.0 * STEP / self.depth * (-(rate / (2.0 * s)).powi(2)).exp()
    }

    /// Calls `f` with each sine and what it is worth at some depths [m]: -cos(k z) / k, of which the difference between
    /// the edges of a segment is the integral over it.
    pub fn for_each_integral(&self, depths: &[f64], mut f: impl FnMut(usize, &[f64])) {
        let first: Vec<f64> = depths.iter().map(|depth| (PI * depth / self.depth).cos()).collect();
        let (mut before, mut now) = (vec![1.0; depths.len()], first.clone());
        let mut integrals = vec![0.0; depths.len()];
        for layer in 0..self.count {
            let scale = -self.depth / (PI * (layer + 1) as f64);
            step(&first, &mut before, &mut now, &mut integrals, scale);
            f(layer, &integrals);
        }
    }
}

/// Takes the cosines on by one: cos((n + 1) x) = 2 cos x cos(n x) - cos((n - 1) x).
#[multiversion(targets("x86_64+avx+avx2+fma"))]
fn step(first: &[f64], before: &mut [f64], now: &mut [f64], integrals: &mut [f64], scale: f64) {
    let places = first.iter().zip(before).zip(now).zip(integrals);
    for (((first, before), now), integral) in places {
        *integral = scale * *now;
        (*before, *now) = (*now, 2.0 * first * *now - *before);
    }
}
