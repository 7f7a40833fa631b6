//! A step response tabulated evenly in ln t.

use rayon::prelude::*;

use super::HOUR;

/// Pairs of table intervals per e-fold of time.
const PAIRS_PER_E_FOLD: f64 = 32.0;

/// A step response between the first hour and a horizon, interpolated with cubic polynomials in ln t.
#[derive(Debug, Clone, PartialEq)]
pub struct TabulatedResponse {
    step: f64,
    values: Vec<f64>,
}

impl TabulatedResponse {
    /// Tabulates `response`, a function of time (s), from one hour to `hours` hours.
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

    /// The same table with every second point only, to estimate the interpolation error.
    #[must_use]
    pub fn halved(&self) -> Self {
        Self { step: 2.0 * self.step, values: self.values.iter().step_by(2).copied().collect() }
    }

    /// The response at a time (s), at least one hour.
    #[must_use]
    pub fn at(&self, time: f64) -> f64 {
        let place = (time / HOUR).ln() / self.step;
        let cell = self.cell(place);
        newton(&self.differences(cell), place - cell as f64)
    }

    /// The response after 1, 2, ... hours, given their natural logarithms.
    #[must_use]
    pub fn hourly(&self, ln_hours: &[f64]) -> Vec<f64> {
        let per_step = 1.0 / self.step;
        let mut cell = 0;
        let mut differences = self.differences(cell);
        let read = |ln_hour: &f64| {
            let place = ln_hour * per_step;
            if self.cell(place) != cell {
                cell = self.cell(place);
                differences = self.differences(cell);
            }
            newton(&differences, place - cell as f64)
        };
        ln_hours.iter().map(read).collect()
    }

    /// First of the four points for interpolation at a place, which lies between the second and the third of them
    /// except at the ends of the table.
    fn cell(&self, place: f64) -> usize {
        (place as usize).saturating_sub(1).min(self.values.len().saturating_sub(4))
    }

    /// Forward differences of order 0 to 3 of four points, each divided by the factorial of its order.
    fn differences(&self, cell: usize) -> [f64; 4] {
        let y = &self.values[cell..cell + 4];
        let (first, last) = (y[1] - y[0], y[3] - y[2]);
        let middle = y[2] - y[1];
        [y[0], first, (middle - first) / 2.0, (last - 2.0 * middle + first) / 6.0]
    }
}

/// Newton's polynomial through points at x = 0, 1, 2, 3.
fn newton(differences: &[f64; 4], x: f64) -> f64 {
    let [d0, d1, d2, d3] = differences;
    d0 + x * (d1 + (x - 1.0) * (d2 + (x - 2.0) * d3))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cubic_in_ln_t_is_reproduced() {
        let hours = 20_000;
        let cubic = |ln_hour: f64| 1.0 + ln_hour - 0.3 * ln_hour.powi(2) + 0.02 * ln_hour.powi(3);
        let table = TabulatedResponse::new(hours, |time| cubic((time / HOUR).ln()));
        let ln_hours: Vec<f64> = (1..=hours).map(|hour| (hour as f64).ln()).collect();
        for table in [&table, &table.halved()] {
            for (hour, (found, ln_hour)) in table.hourly(&ln_hours).into_iter().zip(&ln_hours).enumerate() {
                assert!((found - cubic(*ln_hour)).abs() < 1e-12, "hour {}: {found}", hour + 1);
                assert!((table.at((hour + 1) as f64 * HOUR) - found).abs() < 1e-12);
            }
        }
    }
}
