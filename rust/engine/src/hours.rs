//! Numbers of several designs in several hours.

use std::ops::{Index, IndexMut};

use crate::lanes::Lanes;

/// One number for each of `L` designs in each of `H` hours.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hours<const L: usize, const H: usize>(pub [Lanes<L>; H]);

impl<const L: usize, const H: usize> Hours<L, H> {
    /// Nothing in every hour.
    pub const ZERO: Self = Self([Lanes::all(0.0); H]);

    /// The part that begins at a place: `W` numbers that follow each other, be it several hours of one design or several designs in
    /// one hour, so that one vector instruction serves them all.
    #[must_use]
    #[inline(always)]
    pub fn part<const W: usize>(&self, first: usize) -> Lanes<W> {
        Lanes::each(|lane| self.0[(first + lane) / L].0[(first + lane) % L])
    }

    /// Sets the part that begins at a place.
    #[inline(always)]
    pub fn set_part<const W: usize>(&mut self, first: usize, part: Lanes<W>) {
        for lane in 0..W {
            self.0[(first + lane) / L].0[(first + lane) % L] = part.0[lane];
        }
    }
}

impl<const L: usize, const H: usize> Index<usize> for Hours<L, H> {
    type Output = Lanes<L>;
    #[inline(always)]
    fn index(&self, hour: usize) -> &Lanes<L> {
        &self.0[hour]
    }
}

impl<const L: usize, const H: usize> IndexMut<usize> for Hours<L, H> {
    #[inline(always)]
    fn index_mut(&mut self, hour: usize) -> &mut Lanes<L> {
        &mut self.0[hour]
    }
}
