//! Polynomials as the hourly loop evaluates them.

use std::array::from_fn;

use super::curves::HIGHEST_DEGREE;
use crate::lanes::Lanes;

const COEFFICIENTS: usize = HIGHEST_DEGREE + 1;

/// Polynomials c0 + c1 x + c2 x2 + c3 x3, one per lane.
#[derive(Debug, Clone, Copy)]
pub struct Cubic<N>([N; COEFFICIENTS]);

impl<N: Lanes> Cubic<N> {
    /// The polynomials with the coefficients of each lane, at most four.
    #[must_use]
    pub fn new<'a>(instructions: N::Instructions, of: impl Fn(usize) -> &'a [f64]) -> Self {
        let coefficient = |power: usize, lane: usize| of(lane).get(power).copied().unwrap_or(0.0);
        Self(from_fn(|power| N::each(instructions, |lane| coefficient(power, lane))))
    }

    /// The polynomials with constant and slope changed by `steps` times those of `by`.
    #[must_use]
    #[inline(always)]
    pub fn moved(&self, steps: N, by: &Self) -> Self {
        let [c0, c1, c2, c3] = self.0;
        let [by0, by1, ..] = by.0;
        Self([steps.mul_add(by0, c0), steps.mul_add(by1, c1), c2, c3])
    }

    /// The polynomials at x.
    ///
    /// The terms are paired (Estrin's scheme), so that the processor works on them at the same time.
    #[must_use]
    #[inline(always)]
    pub fn value(&self, x: N) -> N {
        let [c0, c1, c2, c3] = self.0;
        (x * x).mul_add(c3.mul_add(x, c2), c1.mul_add(x, c0))
    }

    /// The polynomials and their derivatives at x.
    #[must_use]
    #[inline(always)]
    pub fn value_and_slope(&self, x: N) -> (N, N) {
        let [c0, c1, c2, c3] = self.0;
        let (square, rest) = (x * x, c3.mul_add(x, c2));
        let value = square.mul_add(rest, c1.mul_add(x, c0));
        (value, square.mul_add(c3, (x + x).mul_add(rest, c1)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn value_and_slope_equal_the_sum_of_terms() {
        let cubic = Cubic::<f64>::new((), |_| &[1.0, -2.0, 3.0, -4.0]);
        // 1 - 6 + 27 - 108, then -2 + 18 - 108; not at 2, where 2 x is x squared.
        assert_eq!(cubic.value_and_slope(3.0), (-86.0, -92.0));
        assert_eq!(cubic.value(3.0), -86.0);
        let constant = Cubic::<f64>::new((), |_| &[7.0]);
        assert_eq!(constant.value_and_slope(3.0), (7.0, 0.0));
    }
}
