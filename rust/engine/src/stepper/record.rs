//! Hourly results, and the interface of what collects them.

use super::time_block::TimeBlock;
use crate::lane_layout::LaneLayout;

/// Results of each hour of a time block, one number per design: temperatures at its end (degC), powers (W).
#[derive(Debug, Clone, Copy, PartialEq)]
#[repr(C, align(64))]
pub struct Moments<N, const H: usize> {
    /// Entering fluid temperature.
    pub entering_fluid: [N; H],
    /// Leaving fluid temperature.
    pub leaving_fluid: [N; H],
    /// Heat extracted from the ground.
    pub heat_extracted: [N; H],
    /// Resistance between the mean fluid and the temperature at the loop [K/W]; meaningless in hours without heat.
    pub resistance: [N; H],
    /// Electricity, without that of back-up heat and of a well's pump.
    pub electricity: [N; H],
    /// Heating delivered.
    pub heating: [N; H],
    /// Cooling delivered.
    pub cooling: [N; H],
}

impl<N: Copy, const H: usize> Moments<N, H> {
    /// All zero.
    pub(super) fn none(zero: N) -> Self {
        let none = [zero; H];
        Self {
            entering_fluid: none,
            leaving_fluid: none,
            heat_extracted: none,
            resistance: none,
            electricity: none,
            heating: none,
            cooling: none,
        }
    }
}

/// Collects the hours of a run.
pub trait Record<A: LaneLayout, const H: usize> {
    /// Called with the time blocks in order; `first` is the first hour of the block, counted from the start of the run.
    fn take(&mut self, first: usize, time_block: &TimeBlock<A::Demand, H>, moments: &Moments<A::Designs, H>);
}

impl<A: LaneLayout, const H: usize, R: Record<A, H>, S: Record<A, H>> Record<A, H> for (R, S) {
    #[inline(always)]
    fn take(&mut self, first: usize, time_block: &TimeBlock<A::Demand, H>, moments: &Moments<A::Designs, H>) {
        self.0.take(first, time_block, moments);
        self.1.take(first, time_block, moments);
    }
}

impl<A: LaneLayout, const H: usize, R: Record<A, H>> Record<A, H> for &mut R {
    #[inline(always)]
    fn take(&mut self, first: usize, time_block: &TimeBlock<A::Demand, H>, moments: &Moments<A::Designs, H>) {
        (**self).take(first, time_block, moments);
    }
}

impl<A: LaneLayout, const H: usize, R: Record<A, H>> Record<A, H> for Option<R> {
    #[inline(always)]
    fn take(&mut self, first: usize, time_block: &TimeBlock<A::Demand, H>, moments: &Moments<A::Designs, H>) {
        if let Some(record) = self {
            record.take(first, time_block, moments);
        }
    }
}

/// A record of a whole run, for hours that are stepped as a part of it.
#[derive(Debug)]
pub struct Later<R> {
    /// First of these hours in the run.
    pub by: usize,
    /// The record.
    pub record: R,
}

impl<A: LaneLayout, const H: usize, R: Record<A, H>> Record<A, H> for Later<R> {
    #[inline(always)]
    fn take(&mut self, first: usize, time_block: &TimeBlock<A::Demand, H>, moments: &Moments<A::Designs, H>) {
        self.record.take(self.by + first, time_block, moments);
    }
}
