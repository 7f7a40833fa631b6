//! Step responses represented in the Laplace domain.

use std::array::from_fn;
use std::f64::consts::LN_2;
use std::ops::RangeInclusive;
use std::sync::LazyLock;

use rayon::prelude::*;

use crate::chebyshev::ChebyshevSeries;

/// Terms of Stehfest's sum: 14 invert the response of a field to 1e-5, at the cost of seven of sixteen digits.
const TERMS: usize = 14;

/// Logarithms of the indices of the terms.
static LN_TERMS: LazyLock<[f64; TERMS]> = LazyLock::new(|| from_fn(|k| ((k + 1) as f64).ln()));

/// Weights of Stehfest's sum for p x Laplace{g}: g(t) is the sum over k of weight x value at k ln 2 / t, with k from 1.
const WEIGHTS: [f64; TERMS] = stehfest_weights();

/// Chebyshev points per unit of ln p, and the additional points that short intervals need.
///
/// A step response of diffusion has its singularities at p <= 0, so in ln p it is analytic up to a distance of pi from
/// the real axis, however long the interval: each additional point per unit reduces the error by the same factor.
const POINTS_PER_UNIT: f64 = 5.0;
const POINTS_AT_ENDS: f64 = 8.0;

/// Chebyshev points of a correction per unit of ln t: the steepest fronts take a tenth of a unit.
const CORRECTIONS_PER_UNIT: f64 = 16.0;

/// The function p x Laplace{step response} over an interval of p, as a Chebyshev series in ln p.
///
/// A step response g(t) between two times needs real p between ln 2 / t_max and n ln 2 / t_min, where n is the number
/// of terms of Stehfest's inversion (Stehfest 1970). Inversion and interpolation together are within 2e-5 of g once the
/// heat has reached the wall of the bore (time x diffusivity > radius^2), and within 1e-6 of the latest g before.
#[derive(Debug, Clone, PartialEq)]
pub struct LaplaceCurve {
    over_ln_p: ChebyshevSeries,
    /// What Stehfest's inversion lacks, over ln t: zero unless fronts are too steep for it.
    correction: Option<ChebyshevSeries>,
    error: f64,
}

impl LaplaceCurve {
    /// The p's (1/s) at which a curve for the given times (s) is sampled.
    ///
    /// The times must be positive and finite, the first no later than the last.
    #[must_use]
    pub fn sample_points(times: &RangeInclusive<f64>) -> Vec<f64> {
        let (least, most) = span(times);
        let count = (POINTS_PER_UNIT * (most - least) + POINTS_AT_ENDS).round() as usize;
        ChebyshevSeries::points(least, most, count).map(f64::exp).collect()
    }

    /// The curve through samples at [`sample_points`](Self::sample_points) of the same times.
    #[must_use]
    pub fn from_samples(times: &RangeInclusive<f64>, samples: &[f64]) -> Self {
        let (least, most) = span(times);
        Self { over_ln_p: ChebyshevSeries::through(least, most, samples), correction: None, error: 0.0 }
    }

    /// The same curve with the step response `exact`, a function of the time (s), at the times (s) that it covers.
    ///
    /// Curves made from it by [`map`](Self::map) are corrected by the same difference.
    #[must_use]
    pub fn corrected(self, times: &RangeInclusive<f64>, exact: impl Fn(f64) -> f64 + Sync) -> Self {
        let (least, most) = (times.start().ln(), times.end().ln());
        let count = (CORRECTIONS_PER_UNIT * (most - least) + POINTS_AT_ENDS).ceil() as usize;
        let instants: Vec<f64> = ChebyshevSeries::points(least, most, count).map(f64::exp).collect();
        let lacks = |&time: &f64| exact(time) - self.step_response(time);
        let samples: Vec<f64> = instants.par_iter().map(lacks).collect();
        Self { correction: Some(ChebyshevSeries::through(least, most, &samples)), ..self }
    }

    /// The same curve with a stated relative error.
    #[must_use]
    pub fn with_error(self, error: f64) -> Self {
        Self { error, ..self }
    }

    /// The curve as plain numbers.
    #[must_use]
    pub fn to_numbers(&self) -> Vec<f64> {
        let numbers = |series: &ChebyshevSeries| -> Vec<f64> {
            let (least, most) = series.span();
            [least, most].into_iter().chain(series.coefficients().iter().copied()).collect()
        };
        let over_ln_p = numbers(&self.over_ln_p);
        let correction = self.correction.as_ref().map_or_else(Vec::new, numbers);
        [vec![self.error, over_ln_p.len() as f64], over_ln_p, correction].concat()
    }

    /// The curve that [`to_numbers`](Self::to_numbers) converted; `None` for too few numbers.
    #[must_use]
    pub fn from_numbers(numbers: &[f64]) -> Option<Self> {
        let series = |numbers: &[f64]| {
            let &[least, most, ref coefficients @ ..] = numbers else { return None };
            Some(ChebyshevSeries::of(least, most, coefficients.to_vec()))
        };
        let &[error, count, ref rest @ ..] = numbers else { return None };
        let (over_ln_p, correction) = rest.split_at_checked(count as usize)?;
        Some(Self { over_ln_p: series(over_ln_p)?, correction: series(correction), error })
    }

    /// Bound of the relative error of the samples, as stated by their source; otherwise 0.
    #[must_use]
    pub fn error(&self) -> f64 {
        self.error
    }

    /// The value at p (1/s), which must lie in the sampled interval.
    #[must_use]
    pub fn at(&self, p: f64) -> f64 {
        let [value] = self.over_ln_p.at([p.ln()]);
        value
    }

    /// Other curves over the same interval, with values `f(p, value)` at each p.
    #[must_use]
    pub fn map<const N: usize>(&self, f: impl Fn(f64, f64) -> [f64; N]) -> [Self; N] {
        let (least, most) = self.over_ln_p.span();
        let samples: Vec<[f64; N]> = ChebyshevSeries::points(least, most, self.over_ln_p.terms())
            .map(|ln_p| f(ln_p.exp(), self.over_ln_p.at([ln_p])[0]))
            .collect();
        from_fn(|curve| {
            let samples: Vec<f64> = samples.iter().map(|values| values[curve]).collect();
            Self { over_ln_p: ChebyshevSeries::through(least, most, &samples), ..self.clone() }
        })
    }

    /// The sum of this curve and another one over the same interval.
    #[must_use]
    pub fn plus(&self, other: &Self) -> Self {
        let [sum] = self.map(|p, value| [value + other.at(p)]);
        sum
    }

    /// The curve of the same response slowed by a factor of `times`.
    #[must_use]
    pub fn slowed(&self, times: f64) -> Self {
        Self {
            over_ln_p: self.over_ln_p.moved(-times.ln()),
            correction: self.correction.as_ref().map(|correction| correction.moved(times.ln())),
            error: self.error,
        }
    }

    /// The step response at a time (s) after the step, by Stehfest's inversion.
    ///
    /// The time must be within those for which the curve was sampled.
    #[must_use]
    pub fn step_response(&self, time: f64) -> f64 {
        let ln_p = (LN_2 / time).ln();
        let places = LN_TERMS.map(|ln_term| ln_term + ln_p);
        let sum: f64 =
            WEIGHTS.iter().zip(self.over_ln_p.at(places)).map(|(weight, value)| weight * value).sum();
        self.correction.as_ref().map_or(sum, |correction| sum + correction.at([time.ln()])[0])
    }
}

/// Smallest and largest ln p that Stehfest's inversion needs.
fn span(times: &RangeInclusive<f64>) -> (f64, f64) {
    ((LN_2 / times.end()).ln(), (TERMS as f64 * LN_2 / times.start()).ln())
}

/// Stehfest (1970), algorithm 368, with N = TERMS and each weight divided by its index, because p x Laplace{g} is
/// inverted.
const fn stehfest_weights() -> [f64; TERMS] {
    let half = TERMS / 2;
    let mut weights = [0.0; TERMS];
    let mut k = 1;
    while k <= TERMS {
        let mut j = k.div_ceil(2);
        while j <= k && j <= half {
            weights[k - 1] += power(j, half) * factorial(2 * j)
                / (factorial(half - j)
                    * factorial(j)
                    * factorial(j - 1)
                    * factorial(k - j)
                    * factorial(2 * j - k));
            j += 1;
        }
        let sign = if (k + half).is_multiple_of(2) { 1.0 } else { -1.0 };
        weights[k - 1] *= sign / k as f64;
        k += 1;
    }
    weights
}

const fn power(base: usize, exponent: usize) -> f64 {
    if exponent == 0 { 1.0 } else { base as f64 * power(base, exponent - 1) }
}

const fn factorial(n: usize) -> f64 {
    if n < 2 { 1.0 } else { n as f64 * factorial(n - 1) }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TIMES: RangeInclusive<f64> = 3600.0..=100.0 * 8760.0 * 3600.0;

    fn curve(f: impl Fn(f64) -> f64) -> LaplaceCurve {
        let samples: Vec<f64> = LaplaceCurve::sample_points(&TIMES).into_iter().map(f).collect();
        LaplaceCurve::from_samples(&TIMES, &samples)
    }

    fn times() -> impl Iterator<Item = f64> {
        (0..=100).map(|i| TIMES.start() * (TIMES.end() / TIMES.start()).powf(f64::from(i) / 100.0))
    }

    /// Analytic: p x Laplace{erfc(sqrt(a / t))} = exp(-2 sqrt(a p)); Carslaw & Jaeger 1959, appendix V, 8.
    #[test]
    fn inverts_the_half_space() {
        let a = 1e5_f64;
        let curve = curve(|p| 1.0 + (-2.0 * (a * p).sqrt()).exp());
        for time in times() {
            let exact = 1.0 + libm::erfc((a / time).sqrt());
            let error = curve.step_response(time) / exact - 1.0;
            assert!(error.abs() < 2e-5, "{time} s: {error:e}");
        }
    }

    #[test]
    fn a_constant_is_inverted_exactly_at_every_time() {
        let curve = curve(|_| 3.25);
        for time in times() {
            let error = curve.step_response(time) - 3.25;
            assert!(error.abs() < 1e-6, "{time} s: {error:e}");
        }
    }

    #[test]
    fn interpolates_between_the_samples() {
        let exact = |p: f64| 1.0 / (1.0 + (1e6 * p).sqrt());
        let curve = curve(exact);
        for time in times() {
            let p = 3.0 / time;
            let error = curve.at(p) - exact(p);
            assert!(error.abs() < 1e-11, "{p}: {error:e}");
        }
    }

    #[test]
    fn maps_point_by_point() {
        let curve = curve(|p| 1.0 / (1.0 + (1e6 * p).sqrt()));
        let [mapped] = curve.map(|p, value| [value + (1e4 * p).sqrt()]);
        for time in times() {
            let p = 1.0 / time;
            let error = mapped.at(p) / (curve.at(p) + (1e4 * p).sqrt()) - 1.0;
            assert!(error.abs() < 1e-9, "{p}: {error:e}");
        }
    }
}
