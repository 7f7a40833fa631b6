//! Remainder of the iteration of the hours: the heat that a run counted, compared with that of the heat pump's curves.

use std::ops::Range;

use pulp::{Arch, Simd, WithSimd};

use crate::heat_pump::{Operation, Tangent};
use crate::hourly::Hourly;
use crate::lane_layout::{BLOCK, HourLanes, LaneLayout};
use crate::lanes::Lanes;
use crate::loads::HOURS_PER_YEAR;
use crate::stepper::{Course, TimeBlock};

/// The difference in an hour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct HeatResidual {
    /// Heat extracted by the heat pump's curves at the entering fluid temperature that the run found, less the heat
    /// extracted that it counted (W).
    pub heat: f64,
    /// Slope of those curves there (W/K).
    pub slope: f64,
}

/// The hours of a run in which one design ran.
#[derive(Debug, Clone)]
pub(super) struct HeatResiduals<'a> {
    course: &'a Course<'a>,
    time_blocks: &'a [TimeBlock<f64, BLOCK>],
    hourly: &'a Hourly,
    hours: Range<usize>,
}

impl<'a> HeatResiduals<'a> {
    /// `time_blocks` are those of the course, which begins with these hours.
    pub fn new(
        course: &'a Course<'a>,
        time_blocks: &'a [TimeBlock<f64, BLOCK>],
        hourly: &'a Hourly,
        hours: Range<usize>,
    ) -> Self {
        Self { course, time_blocks, hourly, hours }
    }

    /// Those of the hours of a year that begins with the hour `first` of the run.
    pub fn of_year(&self, first: usize) -> Vec<HeatResidual> {
        Arch::new().dispatch(YearOfGaps { gaps: self, first })
    }
}

struct YearOfGaps<'a> {
    gaps: &'a HeatResiduals<'a>,
    first: usize,
}

impl WithSimd for YearOfGaps<'_> {
    type Output = Vec<HeatResidual>;

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) -> Vec<HeatResidual> {
        let Self { gaps: HeatResiduals { course, time_blocks, hourly, hours }, first } = self;
        let layout = HourLanes(simd);
        let heat_pumps = course.heat_pumps(layout);
        let of_year = (hours.end - first).min(HOURS_PER_YEAR);
        let mut found = vec![HeatResidual { heat: 0.0, slope: 0.0 }; of_year];
        for (number, found) in found.chunks_exact_mut(BLOCK).enumerate() {
            let from = first + number * BLOCK;
            let time_block = &time_blocks[(from - hours.start) / BLOCK % time_blocks.len()];
            if !time_block.exchanges_heat {
                continue;
            }
            for part in 0..HourLanes::<S>::parts(BLOCK) {
                let entering = layout.part(&hourly.entering_fluid[from..from + BLOCK], part);
                let counted = layout.part(&hourly.heat_extracted[from..from + BLOCK], part);
                let done: Operation<Tangent<_>> =
                    heat_pumps.operate(entering, &time_block.loads(layout, part));
                let by_curves = done.heat_extracted.value - layout.demanded(&time_block.net_recharge, part);
                let gap = by_curves - counted;
                for lane in 0..S::F64_LANES {
                    found[part * S::F64_LANES + lane] =
                        HeatResidual { heat: gap.lane(lane), slope: done.heat_extracted.slope.lane(lane) };
                }
            }
        }
        found
    }
}
