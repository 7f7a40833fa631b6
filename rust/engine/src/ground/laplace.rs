//! Step responses kept in the Laplace domain.

use std::ops::RangeInclusive;

/// The function p x Laplace{step response} over a span of p, as a Chebyshev series in ln p.
///
/// A step response g(t) between two times needs real p between ln 2 / t_max and n ln 2 / t_min, n being the number of
/// terms of Stehfest's inversion (Stehfest 1970).
#[derive(Debug, Clone, PartialEq)]
pub struct LaplaceCurve {
    ln_p: (f64, f64),
    coefficients: Vec<f64>,
}

impl LaplaceCurve {
    /// The p's [1/s] at which a curve that serves the given times [s] wants its samples.
    #[must_use]
    pub fn sample_points(times: &RangeInclusive<f64>) -> Vec<f64> {
        let _ = times;
        Vec::new()
    }

    /// The curve through samples taken at [`sample_points`](Self::sample_points) of the same times.
    #[must_use]
    pub fn from_samples(times: &RangeInclusive<f64>, samples: &[f64]) -> Self {
        let _ = (times, samples);
        Self { ln_p: (0.0, 0.0), coefficients: Vec::new() }
    }

    /// The value at p [1/s].
    #[must_use]
    pub fn at(&self, p: f64) -> f64 {
        let _ = (p, self.ln_p, &self.coefficients);
        0.0
    }

    /// Another curve over the same span, `f(p, value)` at each p.
    #[must_use]
    pub fn map(&self, f: impl Fn(f64, f64) -> f64) -> Self {
        let _ = f;
        self.clone()
    }

    /// The step response at a time [s] after the step, by Stehfest's inversion.
    #[must_use]
    pub fn step_response(&self, time: f64) -> f64 {
        let _ = time;
        0.0
    }
}
