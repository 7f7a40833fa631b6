//! Numbers of several designs side by side.

use std::array::from_fn;
use std::ops::{Add, Mul, Neg, Sub};

/// One number for each of `L` designs that step together, so that one vector instruction serves them all.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lanes<const L: usize>(pub [f64; L]);

impl<const L: usize> Default for Lanes<L> {
    #[inline(always)]
    fn default() -> Self {
        Self::all(0.0)
    }
}

impl<const L: usize> Lanes<L> {
    /// The same number in every lane.
    #[must_use]
    #[inline(always)]
    pub const fn all(value: f64) -> Self {
        Self([value; L])
    }

    /// What `f` gives for each lane.
    #[must_use]
    #[inline(always)]
    pub fn each(f: impl FnMut(usize) -> f64) -> Self {
        Self(from_fn(f))
    }

    /// The numbers of some lanes.
    #[must_use]
    #[inline(always)]
    pub fn lanes<const M: usize>(self, lanes: [usize; M]) -> Lanes<M> {
        Lanes(lanes.map(|lane| self.0[lane]))
    }

    /// `self x factor + addend`, rounded once.
    #[must_use]
    #[inline(always)]
    pub fn mul_add(self, factor: Self, addend: Self) -> Self {
        Self::each(|lane| self.0[lane].mul_add(factor.0[lane], addend.0[lane]))
    }

    /// One over each number.
    #[must_use]
    #[inline(always)]
    pub fn recip(self) -> Self {
        Self::each(|lane| 1.0 / self.0[lane])
    }

    /// The magnitudes.
    #[must_use]
    #[inline(always)]
    pub fn abs(self) -> Self {
        Self::each(|lane| self.0[lane].abs())
    }

    /// The lesser of two numbers.
    #[must_use]
    #[inline(always)]
    pub fn min(self, other: Self) -> Self {
        Self::each(|lane| if self.0[lane] < other.0[lane] { self.0[lane] } else { other.0[lane] })
    }

    /// The greater of two numbers.
    #[must_use]
    #[inline(always)]
    pub fn max(self, other: Self) -> Self {
        Self::each(|lane| if self.0[lane] > other.0[lane] { self.0[lane] } else { other.0[lane] })
    }

    /// Where each number is below the other's.
    #[must_use]
    #[inline(always)]
    pub fn is_below(self, other: Self) -> [bool; L] {
        from_fn(|lane| self.0[lane] < other.0[lane])
    }

    /// The number itself where `keep` says so, else the other one.
    #[must_use]
    #[inline(always)]
    pub fn or_else(self, keep: [bool; L], other: Self) -> Self {
        Self::each(|lane| if keep[lane] { self.0[lane] } else { other.0[lane] })
    }
}

impl<const L: usize> Add for Lanes<L> {
    type Output = Self;
    #[inline(always)]
    fn add(self, other: Self) -> Self {
        Self::each(|lane| self.0[lane] + other.0[lane])
    }
}

impl<const L: usize> Sub for Lanes<L> {
    type Output = Self;
    #[inline(always)]
    fn sub(self, other: Self) -> Self {
        Self::each(|lane| self.0[lane] - other.0[lane])
    }
}

impl<const L: usize> Mul for Lanes<L> {
    type Output = Self;
    #[inline(always)]
    fn mul(self, other: Self) -> Self {
        Self::each(|lane| self.0[lane] * other.0[lane])
    }
}

impl<const L: usize> Mul<f64> for Lanes<L> {
    type Output = Self;
    #[inline(always)]
    fn mul(self, factor: f64) -> Self {
        Self::each(|lane| self.0[lane] * factor)
    }
}

impl<const L: usize> Neg for Lanes<L> {
    type Output = Self;
    #[inline(always)]
    fn neg(self) -> Self {
        Self::each(|lane| -self.0[lane])
    }
}
