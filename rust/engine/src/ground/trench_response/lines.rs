//! Straight pipes along a trench.

use std::f64::consts::FRAC_2_SQRT_PI;

use super::Sources;

/// Parallel straight pipes of equal length, with their ends aligned.
#[derive(Debug, Clone, PartialEq)]
pub struct Lines {
    /// Length (m).
    pub length: f64,
    /// Outer radius of the pipes (m).
    pub radius: f64,
    /// Axis of each pipe: position across the trench, and depth below the surface (m).
    pub axes: Vec<[f64; 2]>,
}

impl Lines {
    /// Distances of a point on the wall of one pipe, in a trench `across` (m) farther, from the axis of another and
    /// from its image.
    pub fn distances(&self, across: f64, from: usize, to: usize) -> [f64; 2] {
        let ([x, depth], [other_x, other_depth]) = (self.axes[from], self.axes[to]);
        let sideways = across + other_x - x;
        let apart = sideways.hypot(other_depth - depth);
        [apart.max(self.radius), sideways.hypot(other_depth + depth)]
    }
}

impl Sources for Lines {
    fn count(&self) -> usize {
        self.axes.len()
    }

    fn radius(&self) -> f64 {
        self.radius
    }

    /// (exp(-r^2 s^2) - exp(-r'^2 s^2)) ierf(s L) / (s L), where r and r' are the distances of source and image: the
    /// finite line source of Claesson & Javed 2011, equation 9, for two parallel lines (Claesson & Dunand 1983 for the
    /// image).
    fn between(&self, s: f64, across: &[f64], from: usize, to: usize) -> Vec<f64> {
        let along = mean_along(s * self.length);
        let gaussian = |distance: f64| (-(distance * s).powi(2)).exp();
        let at = |&across: &f64| {
            let [near, image] = self.distances(across, from, to).map(gaussian);
            (near - image) * along
        };
        across.iter().map(at).collect()
    }
}

/// ierf(x) / x, with the integral ierf of erf from zero: the effect of a line on itself relative to that of an infinite
/// one.
fn mean_along(x: f64) -> f64 {
    libm::erf(x) + 0.5 * FRAC_2_SQRT_PI * (-x * x).exp_m1() / x
}
