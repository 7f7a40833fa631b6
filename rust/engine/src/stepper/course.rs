//! Designs of a run and their loads.

use crate::design::Design;
use crate::heat_pump::{Demand, PreparedHeatPump};
use crate::lane_layout::LaneLayout;
use crate::lanes::Lanes;

/// Designs that step side by side, and their demands.
#[derive(Debug, Clone, Copy)]
pub struct Course<'a> {
    /// At least one; all start in the same month.
    pub designs: &'a [&'a Design],
    /// Demand in each hour of the loads, which repeat until the run ends.
    pub demands: &'a [Demand],
}

impl<'a> Course<'a> {
    /// Index of the run's first hour within the demands.
    #[must_use]
    pub fn start(&self) -> usize {
        self.designs[0].start_hour()
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
