//! Arithmetic with plain numbers and with dual numbers, which carry their slope.

use std::ops::{Add, Mul, Sub};

use super::cubic::Cubic;
use crate::lanes::{Lanes, Mask};

/// Number type of the heat pump's equations: plain numbers, or numbers with their slope.
pub trait Number<N: Lanes>: Copy + Add<Output = Self> + Sub<Output = Self> + Mul<Output = Self> {
    /// Curves at x, constant beyond the ends of a range.
    fn along(curves: &Cubic<N>, x: N, least: N, most: N) -> Self;

    /// A constant.
    fn constant(value: N) -> Self;

    /// The plain number.
    fn value(&self) -> N;

    /// The number times a constant.
    #[must_use]
    fn times(self, factor: N) -> Self;

    /// `self / divisor`.
    #[must_use]
    fn over(self, divisor: Self) -> Self;

    /// The number itself where `keep` is true, otherwise the other one.
    #[must_use]
    fn or_else(self, keep: N::Mask, other: Self) -> Self;
}

impl<N: Lanes> Number<N> for N {
    #[inline(always)]
    fn along(curves: &Cubic<N>, x: N, least: N, most: N) -> Self {
        curves.value(x.max(least).min(most))
    }

    #[inline(always)]
    fn constant(value: N) -> Self {
        value
    }

    #[inline(always)]
    fn value(&self) -> N {
        *self
    }

    #[inline(always)]
    fn times(self, factor: N) -> Self {
        self * factor
    }

    #[inline(always)]
    fn over(self, divisor: Self) -> Self {
        Lanes::over(self, divisor)
    }

    #[inline(always)]
    fn or_else(self, keep: N::Mask, other: Self) -> Self {
        Lanes::or_else(self, keep, other)
    }
}

/// A quantity and how it changes with another.
#[derive(Debug, Clone, Copy)]
pub struct Tangent<N> {
    /// The quantity.
    pub value: N,
    /// Its derivative.
    pub slope: N,
}

impl<N: Lanes> Number<N> for Tangent<N> {
    #[inline(always)]
    fn along(curves: &Cubic<N>, x: N, least: N, most: N) -> Self {
        let held = x.max(least).min(most);
        // Beyond the ends, nothing changes with x.
        let is_held = held.is_below(x).or(x.is_below(held));
        let (value, slope) = curves.value_and_slope(held);
        Self { value, slope: Lanes::or_else(x.like(0.0), is_held, slope) }
    }

    #[inline(always)]
    fn constant(value: N) -> Self {
        Self { value, slope: value.like(0.0) }
    }

    #[inline(always)]
    fn value(&self) -> N {
        self.value
    }

    #[inline(always)]
    fn times(self, factor: N) -> Self {
        Self { value: self.value * factor, slope: self.slope * factor }
    }

    #[inline(always)]
    fn over(self, divisor: Self) -> Self {
        let inverse = Lanes::over(divisor.value.like(1.0), divisor.value);
        let value = self.value * inverse;
        Self { value, slope: (-value).mul_add(divisor.slope, self.slope) * inverse }
    }

    #[inline(always)]
    fn or_else(self, keep: N::Mask, other: Self) -> Self {
        Self {
            value: Lanes::or_else(self.value, keep, other.value),
            slope: Lanes::or_else(self.slope, keep, other.slope),
        }
    }
}

impl<N: Lanes> Add for Tangent<N> {
    type Output = Self;
    #[inline(always)]
    fn add(self, other: Self) -> Self {
        Self { value: self.value + other.value, slope: self.slope + other.slope }
    }
}

impl<N: Lanes> Sub for Tangent<N> {
    type Output = Self;
    #[inline(always)]
    fn sub(self, other: Self) -> Self {
        Self { value: self.value - other.value, slope: self.slope - other.slope }
    }
}

impl<N: Lanes> Mul for Tangent<N> {
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
        fn slopes_of_products_and_quotients_equal_finite_differences(
            a in prop::array::uniform2(0.5..2.0_f64),
            b in prop::array::uniform2(0.5..2.0_f64),
        ) {
            let [x, y] = [a, b].map(|[value, slope]| Tangent { value, slope });
            let step = 1e-6;
            let slope = |of: &dyn Fn(f64) -> f64| (of(step) - of(-step)) / (2.0 * step);
            let at = |[value, slope]: [f64; 2], distance: f64| value + slope * distance;
            let product = slope(&|d| at(a, d) * at(b, d));
            let quotient = slope(&|d| at(a, d) / at(b, d));
            prop_assert!(((x * y).slope - product).abs() < 1e-8);
            prop_assert!((x.over(y).slope - quotient).abs() < 1e-8);
            prop_assert!((x.over(y).value - a[0] / b[0]).abs() < 1e-15);
            prop_assert!(((x - y + y).slope - a[1]).abs() < 1e-15);
        }
    }
}
