//! Heat of designs whose wall temperature is limited.

use super::responses::Responses;
use crate::history::Superposition;
use crate::judgement::Criterion;
use crate::lane_layout::{BLOCK, LaneLayout};
use crate::lanes::Lanes;
use crate::limits::Limits;
use crate::stepper::{Course, Moments, Record, TimeBlock};

/// Collects the hourly heat of the designs that limit their wall temperature, which follows from it by superposition.
pub(super) struct WallHeat {
    /// Heat extracted in each hour (W); `None` for a design without the limit.
    of_designs: Vec<Option<Vec<f64>>>,
}

impl WallHeat {
    /// Nothing collected yet; `None` if no design has the limit.
    pub fn none(course: &Course, hours: usize) -> Option<Self> {
        let of_design = |limits: &Limits| limits.wall_min.map(|_| Vec::with_capacity(hours));
        let of_designs: Vec<_> = course.designs.iter().map(|design| of_design(&design.limits)).collect();
        of_designs.iter().any(Option::is_some).then_some(Self { of_designs })
    }

    /// The criterion of each design for its wall, if it has the limit.
    pub fn criteria(heat: Option<Self>, loops: &[&Responses], course: &Course) -> Vec<Vec<Criterion>> {
        let Some(Self { of_designs }) = heat else { return vec![Vec::new(); loops.len()] };
        let criterion = |(place, heat): (usize, Option<Vec<f64>>)| {
            let wall = loops[place].wall_with(&heat?);
            Criterion::of_wall(&course.designs[place].limits, &wall)
        };
        of_designs.into_iter().enumerate().map(|each| criterion(each).into_iter().collect()).collect()
    }
}

impl<A: LaneLayout> Record<A, BLOCK> for WallHeat {
    #[inline(always)]
    fn take(
        &mut self,
        _first: usize,
        _time_block: &TimeBlock<A::Demand, BLOCK>,
        moments: &Moments<A::Designs, BLOCK>,
    ) {
        for (design, heat) in self.of_designs.iter_mut().enumerate() {
            if let Some(heat) = heat {
                heat.extend(moments.heat_extracted.iter().map(|extracted| extracted.lane(design)));
            }
        }
    }
}

impl Responses {
    /// Wall temperature in each hour with this heat (degC), the same as
    /// [`ErrorCheck::wall_and_error`](super::ErrorCheck::wall_and_error) gives.
    fn wall_with(&self, heat: &[f64]) -> Vec<f64> {
        let ln_hours: Vec<f64> = (1..=heat.len()).map(|hour| (hour as f64).ln()).collect();
        let drops = Superposition::new(heat.len(), [self.wall.hourly(&ln_hours)]).of(heat);
        let of_hour = |(hour, drop): (usize, &f64)| self.undisturbed.at(hour) - self.drop_per_watt * drop;
        drops[0].iter().enumerate().map(of_hour).collect()
    }
}
