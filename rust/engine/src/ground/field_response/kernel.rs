//! The kernel between segments, as a sum over nodes in s.

use std::ops::RangeInclusive;

use crate::ground::LaplaceCurve;
use crate::ground::line_source::double_differences;

use super::Placed;

/// Step of the trapezoid rule in ln s.
///
/// exp(-p / (4 a s^2) - r^2 s^2) is analytic in ln s up to a distance of pi / 4 from the real axis, so that the rule
/// errs by exp(-pi^2 / 2 / STEP) = 5e-16: the error oscillates in ln p and Stehfest's sum magnifies it by 1e8.
const STEP: f64 = 0.14;

/// Exponentials below exp(-CUT) are left out.
const CUT: f64 = 37.0;

/// Nodes s [1/m] of the trapezoid rule: p x Laplace{h} x length of the receiver is the sum over nodes of
/// exp(-p / (4 a s^2)) exp(-r^2 s^2) F(s), with F the double differences x step / (2 s).
pub struct Nodes {
    diffusivity: f64,
    s: Vec<f64>,
}

impl Nodes {
    /// The nodes that carry the responses of the given bores at the given times [s]; diffusivity in m2/s.
    pub fn new(diffusivity: f64, times: &RangeInclusive<f64>, bores: &[Placed]) -> Self {
        let least_p = LaplaceCurve::sample_points(times).into_iter().fold(f64::INFINITY, f64::min);
        let least_radius = bores.iter().map(|bore| bore.source.radius).fold(f64::INFINITY, f64::min);
        let least = (least_p / (4.0 * diffusivity * CUT)).sqrt().ln();
        let most = (CUT.sqrt() / least_radius).ln();
        let count = ((most - least) / STEP).ceil().max(1.0) as usize;
        Self { diffusivity, s: (0..=count).map(|node| (least + STEP * node as f64).exp()).collect() }
    }

    /// The nodes.
    pub fn s(&self) -> &[f64] {
        &self.s
    }

    /// exp(-p / (4 a s^2)) at each node.
    pub fn decay(&self, p: f64) -> Vec<f64> {
        self.s.iter().map(|s| (-p / (4.0 * self.diffusivity * s * s)).exp()).collect()
    }

    /// F at a node for each ordered pair of shapes, given by the depths of their segments' edges [m].
    ///
    /// The pair (a, b) of n shapes stands at a n + b, its matrix in rows for the segments of a.
    pub fn kernels(s: f64, shapes: &[Vec<f64>]) -> Vec<Vec<f64>> {
        let kernel = |from: &[f64], to: &[f64]| {
            let mut kernel = double_differences(s, from, to);
            kernel.iter_mut().for_each(|value| *value *= STEP / (2.0 * s));
            kernel
        };
        shapes.iter().flat_map(|a| shapes.iter().map(|b| kernel(a, b))).collect()
    }
}

/// exp(-r^2 s^2), zero where it is below rounding.
pub fn across(distance: f64, s: f64) -> f64 {
    let square = (distance * s).powi(2);
    if square > CUT { 0.0 } else { (-square).exp() }
}
