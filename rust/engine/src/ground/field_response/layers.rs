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

/// Sines at most. Finer ones are felt by touching bores alone, near their ends.
pub const MOST: usize = 1500;

/// The sines that carry the kernel for some s.
#[derive(Clone, Copy)]
pub struct Layers {
    /// H [m].
    depth: f64,
    /// Least and greatest s [1/m].
    s: [f64; 2],
}

impl Layers {
    /// Sines for bores that end at `deepest` [m] at most, and s from `least` to `greatest` [1/m].
    pub fn new(deepest: f64, grade: Grade, least: f64, greatest: f64) -> Self {
        Self { depth: deepest + 0.5 * grade.reach(least), s: [least, greatest] }
    }

    /// Sines of which exp(-r^2 s^2 - k^2 / (4 s^2)) is not below exp(-cut), for some r [m] and s [1/m].
    pub fn up_to(&self, grade: Grade, distance: f64, s: f64) -> usize {
        let rate = 2.0 * s * (grade.cut - (distance * s).powi(2)).max(0.0).sqrt();
        ((self.depth * rate / PI).ceil() as usize).clamp(1, MOST)
    }

    /// Sines that two bores at some distance [m] act on each other by: those for the s that lets most of them pass.
    pub fn within(&self, grade: Grade, distance: f64) -> usize {
        let [least, greatest] = self.s;
        self.up_to(grade, distance, ((0.5 * grade.cut).sqrt() / distance).clamp(least, greatest))
    }

    /// What a sine brings to F (see [`Nodes`](super::kernel::Nodes)) at s [1/m], over the integrals of both segments'
    /// heat x sine.
    pub fn weight(&self, layer: usize, s: f64) -> f64 {
        let rate = PI * (layer + 1) as f64 / self.depth;
        2.0 * STEP / self.depth * (-(rate / (2.0 * s)).powi(2)).exp()
    }

    /// Calls `f` with what each of the first sines is worth at some depths [m]: -cos(k z) / k, of which the difference
    /// between the edges of a segment is the integral over it.
    pub fn for_each_integral(&self, depths: &[f64], count: usize, mut f: impl FnMut(usize, &[f64])) {
        let first: Vec<f64> = depths.iter().map(|depth| (PI * depth / self.depth).cos()).collect();
        let (mut before, mut now) = (vec![1.0; depths.len()], first.clone());
        let mut integrals = vec![0.0; depths.len()];
        for layer in 0..count {
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
