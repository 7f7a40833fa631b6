//! Arithmetic with plain numbers and with Taylor polynomials.

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

/// Coefficients of a polynomial of the third degree.
const TERMS: usize = 4;

/// A quantity near a point, of several designs: c0 + c1 d + c2 d2 + c3 d3 at a small distance d from there.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Taylor<const L: usize>(pub [Lanes<L>; TERMS]);

impl<const L: usize> Taylor<L> {
    /// Its derivative.
    #[must_use]
    #[inline(always)]
    pub fn slope(&self) -> Lanes<L> {
        self.0[1]
    }

    /// The quantity at a distance.
    #[must_use]
    #[inline(always)]
    pub fn at(&self, distance: Lanes<L>) -> Lanes<L> {
        let [c0, c1, c2, c3] = self.0;
        (distance * distance).mul_add(c3.mul_add(distance, c2), c1.mul_add(distance, c0))
    }
}

impl<const L: usize> Number<L> for Taylor<L> {
    #[inline(always)]
    fn along(curves: &Cubic<L>, x: Lanes<L>, least: Lanes<L>, most: Lanes<L>) -> Self {
        let held = x.max(least).min(most);
        // Beyond the ends nothing changes with x.
        let is_held = from_fn(|lane| held.0[lane] != x.0[lane]);
        Self::constant(curves.value(held)).or_else(is_held, curves.around(held))
    }

    #[inline(always)]
    fn constant(value: Lanes<L>) -> Self {
        Self(from_fn(|n| if n == 0 { value } else { Lanes::default() }))
    }

    #[inline(always)]
    fn value(&self) -> Lanes<L> {
        self.0[0]
    }

    #[inline(always)]
    fn times(self, factor: Lanes<L>) -> Self {
        Self(self.0.map(|c| c * factor))
    }

    /// The quotient but for terms of higher degree.
    #[inline(always)]
    fn over(self, divisor: Self) -> Self {
        let inverse = divisor.value().recip();
        let mut quotient = Self::default();
        for n in 0..TERMS {
            let mut rest = self.0[n];
            for i in 0..n {
                rest = (-divisor.0[n - i]).mul_add(quotient.0[i], rest);
            }
            quotient.0[n] = rest * inverse;
        }
        quotient
    }

    #[inline(always)]
    fn or_else(self, keep: [bool; L], other: Self) -> Self {
        Self(from_fn(|n| self.0[n].or_else(keep, other.0[n])))
    }
}

impl<const L: usize> Add for Taylor<L> {
    type Output = Self;
    #[inline(always)]
    fn add(self, other: Self) -> Self {
        Self(from_fn(|n| self.0[n] + other.0[n]))
    }
}

impl<const L: usize> Sub for Taylor<L> {
    type Output = Self;
    #[inline(always)]
    fn sub(self, other: Self) -> Self {
        Self(from_fn(|n| self.0[n] - other.0[n]))
    }
}

impl<const L: usize> Mul for Taylor<L> {
    type Output = Self;
    /// The product but for terms of higher degree.
    #[inline(always)]
    fn mul(self, other: Self) -> Self {
        let mut product = Self::default();
        for n in 0..TERMS {
            for i in 0..n + 1 {
                product.0[n] = self.0[i].mul_add(other.0[n - i], product.0[n]);
            }
        }
        product
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn products_and_quotients_are_true_near_the_point(
            a in prop::array::uniform4(0.5..2.0_f64),
            b in prop::array::uniform4(0.5..2.0_f64),
            distance in -1e-3..1e-3_f64,
        ) {
            let [x, y] = [a, b].map(|c| Taylor::<1>(c.map(|c| Lanes([c]))));
            let at = |it: Taylor<1>| it.at(Lanes([distance])).0[0];
            prop_assert!((at(x * y) - at(x) * at(y)).abs() < 2e-10);
            prop_assert!((at(x.over(y)) - at(x) / at(y)).abs() < 2e-9);
            prop_assert!((at(x - y + y) - at(x)).abs() < 1e-14);
        }
    }
}
