//! The integral of erfc from a table.

use std::f64::consts::FRAC_2_SQRT_PI;

/// Points of the table per unit of x.
const FINENESS: f64 = 32.0;

/// Beyond this x the integral is below rounding.
const FAR: f64 = 6.0;

/// Integral of erfc from x to infinity, by Taylor's series to the fifth power from the nearest point of a table.
///
/// f' = -erfc, f'' = 2 / sqrt pi exp(-x^2), and so on. The remainder is below 3e-13.
pub struct Ierfc {
    rows: Vec<[f64; 6]>,
}

impl Ierfc {
    pub fn new() -> Self {
        let row = |index: usize| {
            let x = index as f64 / FINENESS;
            let (erfc, gaussian) = (libm::erfc(x), FRAC_2_SQRT_PI * (-x * x).exp());
            let square = x * x;
            [
                0.5 * gaussian - x * erfc,
                -erfc,
                gaussian / 2.0,
                -gaussian * x / 3.0,
                gaussian * (2.0 * square - 1.0) / 12.0,
                gaussian * x * (3.0 - 2.0 * square) / 30.0,
            ]
        };
        Self { rows: (0..=(FAR * FINENESS) as usize + 1).map(row).collect() }
    }

    /// The value at x >= 0.
    pub fn at(&self, x: f64) -> f64 {
        if x > FAR {
            return 0.0;
        }
        let place = (x * FINENESS).round();
        let rest = x - place / FINENESS;
        self.rows[place as usize].iter().rev().fold(0.0, |sum, coefficient| sum * rest + coefficient)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Analytic: ierfc x = exp(-x^2) / sqrt pi - x erfc x.
    #[test]
    fn equals_the_integral_of_erfc() {
        let table = Ierfc::new();
        for step in 0..700 {
            let x = f64::from(step) * 0.01;
            let exact = 0.5 * FRAC_2_SQRT_PI * (-x * x).exp() - x * libm::erfc(x);
            let error = table.at(x) - exact;
            assert!(error.abs() < 1e-12, "{x}: {error:e}");
        }
    }
}
