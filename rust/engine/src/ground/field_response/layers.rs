//! Interaction of bores of any depths, sine by sine of the depth.
//!
//! Between the surface, whose temperature is fixed, and a depth H, the kernel exp(-s^2 (z - z')^2) - exp(-s^2 (z +
//! z')^2) is a sum over k = pi / H, 2 pi / H, ... of 2 sqrt pi / (s H) exp(-k^2 / (4 s^2)) sin(k z) sin(k z'), as long
//! as z, z' and half the reach of s together are less than H. The sines are therefore independent: a sum over pairs of
//! bores is one across the field for each sine, whatever the depths and tops.

use std::f64::consts::PI;

use super::kernel::STEP;
use super::lattice::Grade;

/// Most sines. Finer ones only matter for touching bores, near their ends.
pub const MOST: usize = 1500;

/// The sines needed for the kernel at some s.
#[derive(Clone, Copy)]
pub struct Layers {
    /// H (m).
    depth: f64,
    /// Smallest and largest s (1/m).
    s: [f64; 2],
}

impl Layers {
    /// Sines for bores that end at `deepest` (m) at most, and s from `least` to `greatest` (1/m).
    pub fn new(deepest: f64, grade: Grade, least: f64, greatest: f64) -> Self {
        Self { depth: deepest + 0.5 * grade.reach(least), s: [least, greatest] }
    }

    /// Wave number of the first sine (1/m).
    pub fn rate(&self) -> f64 {
        PI / self.depth
    }

    /// Sines for which exp(-r^2 s^2 - k^2 / (4 s^2)) is at least exp(-cut), for some r^2 (m2) and s (1/m).
    pub fn up_to(&self, grade: Grade, square: f64, s: f64) -> usize {
        let rate = 2.0 * s * (grade.cut - square * s * s).max(0.0).sqrt();
        // Rounded up, which requires a function call on some machines.
        (1 + (self.depth * rate / PI) as usize).min(MOST)
    }

    /// Sines through which two bores at some distance (m) interact: those for the s that passes most of them.
    pub fn within(&self, grade: Grade, distance: f64) -> usize {
        let [least, greatest] = self.s;
        self.up_to(grade, distance * distance, ((0.5 * grade.cut).sqrt() / distance).clamp(least, greatest))
    }

    /// Factor of a sine in F (see [`Nodes`](super::kernel::Nodes)) at s (1/m), multiplying the integrals of both
    /// segments' heat x sine.
    pub fn weight(&self, layer: usize, s: f64) -> f64 {
        let rate = (layer + 1) as f64 * self.rate();
        2.0 * STEP / self.depth * (-(rate / (2.0 * s)).powi(2)).exp()
    }
}
