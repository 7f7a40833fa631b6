//! Polynomials as the hourly loop evaluates them.

use std::array::from_fn;

use super::curves::HIGHEST_DEGREE;
use super::taylor::Taylor;
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

    /// The polynomial of one lane.
    #[must_use]
    pub fn lane(&self, lane: usize) -> Cubic<1> {
        Cubic(self.0.map(|coefficient| Lanes([coefficient.0[lane]])))
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

    /// The polynomials around x.
    #[must_use]
    #[inline(always)]
    pub fn around(&self, x: Lanes<L>) -> Taylor<L> {
        let [_, c1, c2, c3] = self.0;
        let bend = c3.mul_add(x * 3.0, c2);
        Taylor([self.value(x), x.mul_add(c2 + bend, c1), bend, c3])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn terms_are_those_of_the_sum() {
        let both = Cubic::new([&[1.0, -2.0, 3.0, -4.0], &[7.0]]).around(Lanes([2.0, 3.0]));
        // 1 - 4 + 12 - 32, then -2 + 12 - 48, then 3 - 24 at 2.
        assert_eq!(
            both.0,
            [Lanes([-23.0, 7.0]), Lanes([-38.0, 0.0]), Lanes([-21.0, 0.0]), Lanes([-4.0, 0.0])]
        );
    }
}
