//! A step response read from a table that is even in ln t.

use rayon::prelude::*;

use super::HOUR;

/// Pairs of intervals of the table in one e-fold of time.
const PAIRS_PER_E_FOLD: f64 = 32.0;

/// A step response between the first hour and a horizon, interpolated with cubic polynomials in ln t.
#[derive(Debug, Clone, PartialEq)]
pub struct TabulatedResponse {
    step: f64,
    values: Vec<f64>,
}

impl TabulatedResponse {
    /// Tabulates `response`, a function of time [s], from one hour to `hours` hours.
    #[must_use]
    pub fn new(hours: usize, response: impl Fn(f64) -> f64 + Sync) -> Self {
        let span = (hours.max(2) as f64).ln();
        let intervals = 2.0 * (span * PAIRS_PER_E_FOLD).ceil();
        let step = span / intervals;
        let values = (0..=intervals as usize)
            .into_par_iter()
            .map(|j| response(HOUR * (j as f64 * step).exp()))
            .collect();
        Self { step, values }
    }

    /// The same table with every second point only, to judge what interpolation costs.
    #[must_use]
    pub fn halved(&self) -> Self {
        Self { step: 2.0 * self.step, values: self.values.iter().step_by(2).copied().collect() }
    }

    /// The response at a time [s], at least one hour.
    #[must_use]
    pub fn at(&self, time: f64) -> f64 {
        let place = (time / HOUR).ln() / self.step;
        let first = (place as usize).saturating_sub(1).min(self.values.len().saturating_sub(4));
        let x = place - first as f64;
        let y = &self.values[first..first + 4];
        // Lagrange through the four points at x = 0, 1, 2, 3.
        let (a, b, c, d) = (x, x - 1.0, x - 2.0, x - 3.0);
        (a * b * c * y[3] - b * c * d * y[0]) / 6.0 + a * d * (c * y[1] - b * y[2]) / 2.0
    }

    /// The response after 1, 2, ... `hours` hours.
    #[must_use]
    pub fn hourly(&self, hours: usize) -> Vec<f64> {
        (1..=hours).map(|hour| self.at(hour as f64 * HOUR)).collect()
    }
}
