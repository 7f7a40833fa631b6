//! Arithmetic with plain numbers and with numbers that know their slope.

use std::array::from_fn;
use std::ops::{Add, Mul, Sub};

use super::cubic::Cubic;
use crate::lanes::Lanes;

/// What the heat pump's equations are written in: plain numbers, or numbers that know how they change.
pub trait Number<const L: usize>:
    Copy + Default + Add<Output = Self> + Sub<Output = Self> + Mul<Output = Self>
{
    /// What curves give at x, held at the ends of a range beyond it.
    fn along(curves: &Cubic<L>, x: Lanes<L>, least: Lanes<L>, most: Lanes<L>) -> Self;

    /// A number that does not change.
    fn constant(value: Lanes<L>) -> Self;

    /// The number as it is.
    fn value(&self) -> Lanes<L>;

    /// The number times a constant.
    fn times(self, factor: Lanes<L>) -> Self;

    /// `self / divisor`.
    fn over(self, divisor: Self) -> Self;

    /// The number itself where `keep` says so, else the other one.
    fn or_else(self, keep: [bool; L], other: Self) -> Self;
}

impl<const L: usize> Number<L> for Lanes<L> {
    #[inline(always)]
    fn along(curves: &Cubic<L>, x: Self, least: Self, most: Self) -> Self {
        curves.value(x.max(least).min(most))
    }

    #[inline(always)]
    fn constant(value: Self) -> Self {
        value
    }

    #[inline(always)]
    fn value(&self) -> Self {
        *self
    }

    #[inline(always)]
    fn times(self, factor: Self) -> Self {
        self * factor
    }

    #[inline(always)]
    fn over(self, divisor: Self) -> Self {
        Self::each(|lane| self.0[lane] / divisor.0[lane])
    }

    #[inline(always)]
    fn or_else(self, keep: [bool; L], other: Self) -> Self {
        Self::or_else(self, keep, other)
    }
}

/// A quantity and how it changes with another, of several designs.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Tangent<const L: usize> {
    /// The quantity.
    pub value: Lanes<L>,
    /// Its derivative.
    pub slope: Lanes<L>,
}

impl<const L: usize> Number<L> for Tangent<L> {
    #[inline(always)]
    fn along(curves: &Cubic<L>, x: Lanes<L>, least: Lanes<L>, most: Lanes<L>) -> Self {
        let held = x.max(least).min(most);
        // Beyond the ends nothing changes with x.
        let is_held = from_fn(|lane| held.0[lane] != x.0[lane]);
        Self { value: curves.value(held), slope: Lanes::default().or_else(is_held, curves.slope(held)) }
    }

    #[inline(always)]
    fn constant(value: Lanes<L>) -> Self {
        Self { value, slope: Lanes::default() }
    }

    #[inline(always)]
    fn value(&self) -> Lanes<L> {
        self.value
    }

    #[inline(always)]
    fn times(self, factor: Lanes<L>) -> Self {
        Self { value: self.value * factor, slope: self.slope * factor }
    }

    #[inline(always)]
    fn over(self, divisor: Self) -> Self {
        let inverse = divisor.value.recip();
        let value = self.value * inverse;
        Self { value, slope: (-value).mul_add(divisor.slope, self.slope) * inverse }
    }

    #[inline(always)]
    fn or_else(self, keep: [bool; L], other: Self) -> Self {
        Self { value: self.value.or_else(keep, other.value), slope: self.slope.or_else(keep, other.slope) }
    }
}

impl<const L: usize> Add for Tangent<L> {
    type Output = Self;
    #[inline(always)]
    fn add(self, other: Self) -> Self {
        Self { value: self.value + other.value, slope: self.slope + other.slope }
    }
}

impl<const L: usize> Sub for Tangent<L> {
    type Output = Self;
    #[inline(always)]
    fn sub(self, other: Self) -> Self {
        Self { value: self.value - other.value, slope: self.slope - other.slope }
    }
}

impl<const L: usize> Mul for Tangent<L> {
    type Output = Self;
    #[inline(always)]
    fn mul(self, other: Self) -> Self {
        let slope = self.value.mul_add(other.slope, self.slope * other.value);
        Self { value: self.value * other.value, slope }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn slopes_of_products_and_quotients_are_those_of_small_steps(
            a in prop::array::uniform2(0.5..2.0_f64),
            b in prop::array::uniform2(0.5..2.0_f64),
        ) {
            let [x, y] = [a, b].map(|[value, slope]| Tangent { value: Lanes([value]), slope: Lanes([slope]) });
            let step = 1e-6;
            let slope = |of: &dyn Fn(f64) -> f64| (of(step) - of(-step)) / (2.0 * step);
            let at = |[value, slope]: [f64; 2], distance: f64| value + slope * distance;
            let product = slope(&|d| at(a, d) * at(b, d));
            let quotient = slope(&|d| at(a, d) / at(b, d));
            prop_assert!(((x * y).slope.0[0] - product).abs() < 1e-8);
            prop_assert!((x.over(y).slope.0[0] - quotient).abs() < 1e-8);
            prop_assert!((x.over(y).value.0[0] - a[0] / b[0]).abs() < 1e-15);
            prop_assert!(((x - y + y).slope.0[0] - a[1]).abs() < 1e-15);
        }
    }
}
