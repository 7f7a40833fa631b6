//! The hours of a run that come closest to a bound.

use crate::lane_layout::LaneLayout;
use crate::lanes::{Lanes, Mask};
use crate::stepper::{Moments, TimeBlock};

/// A temperature (degC) in an hour of a run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moment {
    /// The temperature.
    pub temperature: f64,
    /// The hour.
    pub hour: usize,
}

/// The first hour of each extreme temperature among the hours in which the heat pump runs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Extremes {
    /// Coldest entering fluid.
    pub coldest_entering: Moment,
    /// Warmest entering fluid.
    pub warmest_entering: Moment,
    /// Coldest leaving fluid.
    pub coldest_leaving: Moment,
}

/// The smallest value so far, and its hour.
#[derive(Debug, Clone, Copy)]
pub(super) struct Least<N> {
    value: N,
    hour: N,
}

impl<N: Lanes> Least<N> {
    pub fn none(zero: N) -> Self {
        Self { value: zero.like(f64::INFINITY), hour: zero }
    }

    #[inline(always)]
    fn take(&mut self, value: N, hour: N) {
        let is_less = value.is_below(self.value);
        self.value = value.or_else(is_less, self.value);
        self.hour = hour.or_else(is_less, self.hour);
    }

    /// The first smallest value among the lanes.
    fn of_lanes(&self, lanes: impl Iterator<Item = usize>) -> Moment {
        let moments = lanes
            .map(|lane| Moment { temperature: self.value.lane(lane), hour: self.hour.lane(lane) as usize });
        let first = |a: Moment, b: Moment| {
            let is_before = (b.temperature, b.hour) < (a.temperature, a.hour);
            if is_before { b } else { a }
        };
        moments.reduce(first).unwrap_or(Moment { temperature: f64::NAN, hour: 0 })
    }
}

/// Extremes of the hours so far.
#[derive(Debug, Clone, Copy)]
#[repr(C, align(64))] // No vector lies across two lines of the processor's cache.
pub(super) struct SoFar<N> {
    coldest_entering: Least<N>,
    /// Of the temperatures with reversed signs.
    warmest_entering: Least<N>,
    coldest_leaving: Least<N>,
    /// Of the temperatures of circulating fluid, with reversed signs.
    warmest_fluid: Least<N>,
}

impl<N: Lanes> SoFar<N> {
    pub fn none(zero: N) -> Self {
        let none = Least::none(zero);
        Self { coldest_entering: none, warmest_entering: none, coldest_leaving: none, warmest_fluid: none }
    }

    /// Whether a time block with this range of temperatures can contain a new extreme.
    #[inline(always)]
    pub fn may_change(&self, coldest: N, warmest: N, coldest_leaving: N) -> bool {
        let colder = coldest.is_below(self.coldest_entering.value);
        let warmer = (-warmest).is_below(self.warmest_entering.value);
        colder.or(warmer).or(coldest_leaving.is_below(self.coldest_leaving.value)).any()
    }

    /// Updates the extremes with the hours of a time block in which the heat pump runs.
    #[inline(always)]
    pub fn look_through<A: LaneLayout<Wide = N>, const H: usize>(
        &mut self,
        layout: A,
        first: usize,
        time_block: &TimeBlock<A::Demand, H>,
        moments: &Moments<A::Designs, H>,
    ) {
        for part in 0..A::parts(H) {
            let hour = N::each(layout.of_wide(), |lane| (first + A::hour(part, lane)) as f64);
            let runs = hour.like(0.0).is_below(layout.demanded(&time_block.runs, part));
            let where_it_runs = |value: N| value.or_else(runs, hour.like(f64::INFINITY));
            let entering = layout.part(&moments.entering_fluid, part);
            self.coldest_entering.take(where_it_runs(entering), hour);
            self.warmest_entering.take(where_it_runs(-entering), hour);
            self.coldest_leaving.take(where_it_runs(layout.part(&moments.leaving_fluid, part)), hour);
        }
    }

    /// Whether a time block can contain fluid warmer than any before.
    #[inline(always)]
    pub fn may_be_warmer(&self, warmest: N) -> bool {
        (-warmest).is_below(self.warmest_fluid.value).any()
    }

    /// Updates the warmest fluid with the hours of a time block in which it circulates.
    #[inline(never)]
    pub fn look_for_warmest<A: LaneLayout<Wide = N>, const H: usize>(
        &mut self,
        layout: A,
        first: usize,
        time_block: &TimeBlock<A::Demand, H>,
        moments: &Moments<A::Designs, H>,
    ) {
        for part in 0..A::parts(H) {
            let hour = N::each(layout.of_wide(), |lane| (first + A::hour(part, lane)) as f64);
            let circulates = hour.like(0.0).is_below(layout.demanded(&time_block.circulates, part));
            let entering = layout.part(&moments.entering_fluid, part);
            let warmest = entering.max(layout.part(&moments.leaving_fluid, part));
            self.warmest_fluid.take((-warmest).or_else(circulates, hour.like(f64::INFINITY)), hour);
        }
    }

    /// The warmest fluid of a design; `None` if it never circulated.
    pub fn warmest_fluid<A: LaneLayout<Wide = N>>(&self, design: usize) -> Option<Moment> {
        let warmest = self.warmest_fluid.of_lanes(A::lanes_of(design));
        warmest.temperature.is_finite().then_some(Moment { temperature: -warmest.temperature, ..warmest })
    }

    /// Extremes of a design; `None` if the heat pump never ran.
    pub fn of_design<A: LaneLayout<Wide = N>>(&self, design: usize) -> Option<Extremes> {
        let of = |least: &Least<N>| least.of_lanes(A::lanes_of(design));
        let coldest_entering = of(&self.coldest_entering);
        let warmest = of(&self.warmest_entering);
        let warmest_entering = Moment { temperature: -warmest.temperature, ..warmest };
        let extremes =
            Extremes { coldest_entering, warmest_entering, coldest_leaving: of(&self.coldest_leaving) };
        coldest_entering.temperature.is_finite().then_some(extremes)
    }
}
