//! Smooth functions of one variable as Chebyshev series.

use std::f64::consts::PI;

use multiversion::multiversion;

/// A function on an interval, given by its values at Chebyshev points of the first kind.
#[derive(Debug, Clone, PartialEq)]
pub struct ChebyshevSeries {
    least: f64,
    most: f64,
    coefficients: Vec<f64>,
}

impl ChebyshevSeries {
    /// The points between `least` and `most` at which a series of `count` terms needs its samples.
    pub fn points(least: f64, most: f64, count: usize) -> impl Iterator<Item = f64> {
        let (middle, half) = (0.5 * (most + least), 0.5 * (most - least));
        (0..count).map(move |node| middle + half * quarter_turns(2 * node + 1, count).cos())
    }

    /// The series through samples at [`points`](Self::points) of the same interval.
    #[must_use]
    pub fn through(least: f64, most: f64, samples: &[f64]) -> Self {
        let count = samples.len();
        let cosines: Vec<f64> = (0..4 * count).map(|steps| quarter_turns(steps, count).cos()).collect();
        let coefficient = |order: usize| {
            let cosine = |node: usize| cosines[order * (2 * node + 1) % cosines.len()];
            let sum: f64 = samples.iter().enumerate().map(|(node, value)| value * cosine(node)).sum();
            sum * if order == 0 { 1.0 } else { 2.0 } / count as f64
        };
        Self { least, most, coefficients: (0..count).map(coefficient).collect() }
    }

    /// The same function shifted by a distance.
    #[must_use]
    pub fn moved(&self, by: f64) -> Self {
        Self { least: self.least + by, most: self.most + by, coefficients: self.coefficients.clone() }
    }

    /// The series with the given terms.
    #[must_use]
    pub fn of(least: f64, most: f64, coefficients: Vec<f64>) -> Self {
        Self { least, most, coefficients }
    }

    /// Coefficients of the terms in ascending order.
    #[must_use]
    pub fn coefficients(&self) -> &[f64] {
        &self.coefficients
    }

    /// Smallest and largest argument.
    #[must_use]
    pub fn span(&self) -> (f64, f64) {
        (self.least, self.most)
    }

    /// Number of terms.
    #[must_use]
    pub fn terms(&self) -> usize {
        self.coefficients.len()
    }

    /// Values at several points of the interval, evaluated together.
    #[must_use]
    pub fn at<const N: usize>(&self, places: [f64; N]) -> [f64; N] {
        let x = places.map(|place| (2.0 * place - self.most - self.least) / (self.most - self.least));
        clenshaw(&self.coefficients, &x)
    }
}

/// Clenshaw's recurrence at points between -1 and 1.
#[multiversion(targets("x86_64+avx512f", "x86_64+avx2+fma"))]
fn clenshaw<const N: usize>(coefficients: &[f64], x: &[f64; N]) -> [f64; N] {
    let [constant, rest @ ..] = coefficients else { return [0.0; N] };
    let twice = x.map(|x| 2.0 * x);
    let (mut last, mut before) = ([0.0; N], [0.0; N]);
    for coefficient in rest.iter().rev() {
        for i in 0..N {
            // In this order, only one operation depends on the previous one.
            (last[i], before[i]) = (twice[i].mul_add(last[i], coefficient - before[i]), last[i]);
        }
    }
    std::array::from_fn(|i| x[i].mul_add(last[i], constant - before[i]))
}

/// Steps, `count` of which make a quarter turn.
fn quarter_turns(steps: usize, count: usize) -> f64 {
    0.5 * PI * steps as f64 / count as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reproduces_a_polynomial() {
        let cubic = |x: f64| 1.0 - 2.0 * x + 0.5 * x.powi(3);
        for count in 4..7 {
            let samples: Vec<f64> = ChebyshevSeries::points(-1.0, 3.0, count).map(cubic).collect();
            let places = [-1.0, 0.3, 2.5, 3.0];
            for (found, place) in
                ChebyshevSeries::through(-1.0, 3.0, &samples).at(places).into_iter().zip(places)
            {
                assert!((found - cubic(place)).abs() < 1e-13, "{found} at {place}");
            }
        }
    }
}
