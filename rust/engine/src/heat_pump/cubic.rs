//! Polynomials as the hourly loop evaluates them.

use super::curves::HIGHEST_DEGREE;
use super::operation::Sloped;

const COEFFICIENTS: usize = HIGHEST_DEGREE + 1;

/// A polynomial of the third degree or less, with its derivative.
///
/// All degrees cost the same: the terms are paired (Estrin's scheme), so that the processor works on them side by side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cubic {
    value: [f64; COEFFICIENTS],
    slope: [f64; COEFFICIENTS - 1],
}

impl Cubic {
    /// The polynomial c0 + c1 x + ...; `coefficients` are four at most.
    #[must_use]
    pub fn new(coefficients: &[f64]) -> Self {
        let value: [f64; COEFFICIENTS] =
            std::array::from_fn(|power| coefficients.get(power).copied().unwrap_or(0.0));
        Self { value, slope: std::array::from_fn(|power| (power + 1) as f64 * value[power + 1]) }
    }

    /// The same polynomial times a factor.
    #[must_use]
    pub fn times(&self, factor: f64) -> Self {
        Self { value: self.value.map(|c| factor * c), slope: self.slope.map(|c| factor * c) }
    }

    /// Value and slope at x.
    #[must_use]
    #[inline(always)]
    pub fn at(&self, x: f64) -> Sloped {
        let (squared, c, d) = (x * x, &self.value, &self.slope);
        Sloped {
            value: squared.mul_add(x.mul_add(c[3], c[2]), x.mul_add(c[1], c[0])),
            slope: squared.mul_add(d[2], x.mul_add(d[1], d[0])),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn value_and_slope_are_those_of_the_sum() {
        let polynomial = Cubic::new(&[1.0, -2.0, 3.0, -4.0]);
        // 1 - 4 + 12 - 32 and -2 + 12 - 48 at 2.
        assert_eq!(polynomial.at(2.0), Sloped { value: -23.0, slope: -38.0 });
        assert_eq!(polynomial.times(2.0).at(2.0), Sloped { value: -46.0, slope: -76.0 });
        assert_eq!(Cubic::new(&[7.0]).at(3.0), Sloped { value: 7.0, slope: 0.0 });
    }
}
