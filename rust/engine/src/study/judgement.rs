//! How close a run comes to what it must not reach, and when.

use crate::design::Design;
use crate::yearly::{Extremes, Moment};

/// What a run's temperatures are judged by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Limit {
    /// Lowest entering fluid temperature.
    EnteringFluidMin,
    /// Highest entering fluid temperature.
    EnteringFluidMax,
    /// Least distance of the leaving fluid from its freezing point.
    FreezingMargin,
}

impl Limit {
    /// The field of the design's limits.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::EnteringFluidMin => "entering_fluid_min",
            Self::EnteringFluidMax => "entering_fluid_max",
            Self::FreezingMargin => "freezing_margin",
        }
    }
}

/// The hour with demand that comes closest to a limit, or goes farthest beyond one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Judgement {
    /// Distance to the limit [K]; negative beyond it.
    pub margin: f64,
    /// The limit.
    pub limit: Limit,
    /// Hour of the run.
    pub hour: usize,
}

impl Judgement {
    /// Judges the extremes of a run.
    ///
    /// Of limits that are equally close the one that is declared first decides, and of hours the first.
    #[must_use]
    pub fn of(design: &Design, extremes: &Extremes) -> Self {
        let Extremes { coldest_entering, warmest_entering, coldest_leaving } = extremes;
        let Design { limits, fluid, .. } = design;
        let freezing = fluid.freezing_point + limits.freezing_margin;
        let judged = |margin, limit, moment: &Moment| Self { margin, limit, hour: moment.hour };
        let coldest = limits.entering_fluid_min.map(|least| {
            judged(coldest_entering.temperature - least, Limit::EnteringFluidMin, coldest_entering)
        });
        let warmest = limits.entering_fluid_max.map(|most| {
            judged(most - warmest_entering.temperature, Limit::EnteringFluidMax, warmest_entering)
        });
        let leaving = judged(coldest_leaving.temperature - freezing, Limit::FreezingMargin, coldest_leaving);
        let closer = |a: Self, b: Self| if a.margin <= b.margin { a } else { b };
        let entering = coldest.into_iter().chain(warmest).reduce(closer);
        entering.map_or(leaving, |entering| closer(entering, leaving))
    }

    /// Whether no limit is broken.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.margin >= 0.0
    }
}
