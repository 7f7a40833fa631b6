//! Mean heat of designs over intervals of a run, which is what their neighbours feel.

use crate::lane_layout::{BLOCK, LaneLayout};
use crate::lanes::Lanes;
use crate::stepper::{Moments, Record, TimeBlock};

/// Collects the mean heat extracted in each interval of a run.
pub(super) struct MeanHeat<N> {
    /// Hours of an interval, a multiple of those of a block.
    interval: usize,
    /// Heat extracted in the current interval so far (W h).
    sum: N,
    /// Mean heat of the intervals before (W), for each design.
    of_designs: Vec<Vec<f64>>,
}

impl<N: Lanes> MeanHeat<N> {
    /// Nothing collected yet; `None` without an interval.
    pub fn over(interval: Option<usize>, designs: usize, hours: usize, zero: N) -> Option<Self> {
        let over = |interval| Self {
            interval,
            sum: zero,
            of_designs: vec![Vec::with_capacity(hours / interval); designs],
        };
        interval.map(over)
    }

    /// The means of each of `designs` designs (W); empty if none were collected.
    pub fn of_each(heat: Option<Self>, designs: usize) -> Vec<Vec<f64>> {
        heat.map_or_else(|| vec![Vec::new(); designs], |heat| heat.of_designs)
    }
}

impl<A: LaneLayout> Record<A, BLOCK> for MeanHeat<A::Designs> {
    #[inline(always)]
    fn take(
        &mut self,
        first: usize,
        _time_block: &TimeBlock<A::Demand, BLOCK>,
        moments: &Moments<A::Designs, BLOCK>,
    ) {
        for &heat in &moments.heat_extracted {
            self.sum = self.sum + heat;
        }
        if (first + BLOCK).is_multiple_of(self.interval) {
            for (design, means) in self.of_designs.iter_mut().enumerate() {
                means.push(self.sum.lane(design) / self.interval as f64);
            }
            self.sum = self.sum.like(0.0);
        }
    }
}
