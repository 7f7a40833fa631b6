//! Polynomials as the hourly loop evaluates them.

use std::array::from_fn;

use super::curves::HIGHEST_DEGREE;
use crate::lanes::Lanes;

const COEFFICIENTS: usize = HIGHEST_DEGREE + 1;

/// Polynomials c0 + c1 x + c2 x2 + c3 x3 of several designs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cubic<const L: usize>([Lanes<L>; COEFFICIENTS]);

impl<const L: usize> Cubic<L> {
    /// The polynomials with the coefficients of each design, four at most.
    #[must_use]
    pub fn new(coefficients: [&[f64]; L]) -> Self {
        Self(from_fn(|power| Lanes::each(|lane| coefficients[lane].get(power).copied().unwrap_or(0.0))))
    }

    /// The polynomials of some lanes.
    #[must_use]
    pub fn lanes<const M: usize>(&self, lanes: [usize; M]) -> Cubic<M> {
        Cubic(self.0.map(|coefficient| coefficient.lanes(lanes)))
    }

    /// The polynomials with constant and slope moved by `steps` times those of `by`.
    #[must_use]
    #[inline(always)]
    pub fn moved(&self, steps: Lanes<L>, by: &Self) -> Self {
        let [c0, c1, c2, c3] = self.0;
        let [by0, by1, ..] = by.0;
        Self([steps.mul_add(by0, c0), steps.mul_add(by1, c1), c2, c3])
    }

    /// The polynomials at x.
    ///
    /// The terms are paired (Estrin's scheme), so that the processor works on them at the same time.
    #[must_use]
    #[inline(always)]
    pub fn value(&self, x: Lanes<L>) -> Lanes<L> {
        let [c0, c1, c2, c3] = self.0;
        (x * x).mul_add(c3.mul_add(x, c2), c1.mul_add(x, c0))
    }

    /// Their derivatives at x.
    #[must_use]
    #[inline(always)]
    pub fn slope(&self, x: Lanes<L>) -> Lanes<L> {
        let [_, c1, c2, c3] = self.0;
        x.mul_add((c3 * 3.0).mul_add(x, c2 * 2.0), c1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn terms_are_those_of_the_sum() {
        let (cubic, x) = (Cubic::new([&[1.0, -2.0, 3.0, -4.0], &[7.0]]), Lanes([2.0, 3.0]));
        // 1 - 4 + 12 - 32, then -2 + 12 - 48 at 2.
        assert_eq!(cubic.value(x), Lanes([-23.0, 7.0]));
        assert_eq!(cubic.slope(x), Lanes([-38.0, 0.0]));
    }
}
