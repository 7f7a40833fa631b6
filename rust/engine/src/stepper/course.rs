//! Designs of a run and their loads.

use crate::design::Design;
use crate::heat_pump::{Demands, PreparedHeatPump};
use crate::lane_layout::LaneLayout;
use crate::lanes::Lanes;

/// Designs that step side by side, and their demands.
#[derive(Debug, Clone, Copy)]
pub struct Course<'a> {
    /// At least one.
    pub designs: &'a [&'a Design],
    /// The demand of each design, which repeats until the run ends; all of the same number of years.
    pub demands: &'a [Demands<'a>],
}

impl<'a> Course<'a> {
    /// Index of a design's first hour within its demand.
    #[must_use]
    pub fn start(&self, design: usize) -> usize {
        self.demands[design].first() + self.designs[design].start_hour()
    }

    /// Whether all designs have the same demand in every hour.
    #[must_use]
    pub fn shares_demand(&self) -> bool {
        let is_like_first =
            |design: usize| self.demands[design].are(&self.demands[0]) && self.start(design) == self.start(0);
        (1..self.designs.len()).all(is_like_first)
    }

    /// The design of a lane; unused lanes repeat the last one.
    pub(super) fn design(&self, lane: usize) -> &'a Design {
        self.designs[lane.min(self.designs.len() - 1)]
    }

    /// The value of `of` for each design.
    pub(crate) fn each<A: LaneLayout>(&self, layout: A, of: impl Fn(&Design) -> f64) -> A::Designs {
        A::Designs::each(layout.of_designs(), |lane| of(self.design(lane)))
    }

    /// The heat pumps of the designs.
    pub(crate) fn heat_pumps<A: LaneLayout>(&self, layout: A) -> PreparedHeatPump<A::Wide> {
        PreparedHeatPump::new(layout.of_wide(), |lane| &self.design(A::design(lane)).heat_pump)
    }
}
