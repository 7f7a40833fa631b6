//! Accumulates the hours of a run while it steps.

use super::bounds::Bounds;
use super::extremes::{Extremes, Moment, SoFar};
use super::freezing::Freezing;
use super::loads::{YearlyDemand, yearly_demands};
use super::year::RunYear;
use crate::lane_layout::{BLOCK, LaneLayout};
use crate::lanes::{Lanes, Mask};
use crate::loads::HOURS_PER_YEAR;
use crate::stepper::{Course, Moments, Record, TimeBlock};

/// Summary of a run.
#[derive(Debug, Clone, PartialEq)]
pub struct RunSummary {
    /// One row per year.
    pub years: Vec<RunYear>,
    /// `None` if the heat pump never ran.
    pub extremes: Option<Extremes>,
    /// Warmest circulating fluid; `None` if it never circulated.
    pub warmest_fluid: Option<Moment>,
    /// When the fluid froze; the run continued as if it had stayed liquid.
    pub freezing: Option<Freezing>,
}

/// Accumulates the hours of designs that step side by side.
#[derive(Debug, Clone)]
pub struct Tally<A: LaneLayout> {
    layout: A,
    /// Of each design.
    demands: Vec<Vec<YearlyDemand>>,
    bounds: Bounds<A::Wide>,
    so_far: SoFar<A::Wide>,
    /// One per design.
    freezing: Vec<Option<Freezing>>,
    year: Gathered<A::Wide>,
    years: Vec<Vec<RunYear>>,
}

/// Sums over a year (W h), in eight parts that are added at its end: every eighth hour starting with the first, the
/// second, ... In this order the sum doesn't depend on the number of lanes.
type Sum<N> = [N; BLOCK];

/// Accumulated values of the current year.
#[derive(Debug, Clone, Copy)]
#[repr(C, align(64))] // No vector lies across two lines of the processor's cache.
struct Gathered<N> {
    entering: Sum<N>,
    extracted: Sum<N>,
    rejected: Sum<N>,
    electricity: Sum<N>,
    backup: Sum<N>,
    unmet_cooling: Sum<N>,
    entering_min: N,
    entering_max: N,
    leaving_min: N,
    /// Counts of hours.
    below_limit: N,
    above_limit: N,
    outside_table: N,
    near_freezing: N,
    fluid_too_warm: N,
    short_of_capacity: N,
}

impl<N: Lanes> Gathered<N> {
    fn none(zero: N) -> Self {
        let none = [zero; BLOCK];
        Self {
            entering_min: zero.like(f64::INFINITY),
            entering_max: zero.like(f64::NEG_INFINITY),
            leaving_min: zero.like(f64::INFINITY),
            entering: none,
            extracted: none,
            rejected: none,
            electricity: none,
            backup: none,
            unmet_cooling: none,
            below_limit: zero,
            above_limit: zero,
            outside_table: zero,
            near_freezing: zero,
            fluid_too_warm: zero,
            short_of_capacity: zero,
        }
    }

    /// The year of a design.
    fn of_design<A: LaneLayout<Wide = N>>(&self, design: usize, demand: &YearlyDemand) -> RunYear {
        let sum = |of: &Sum<N>| (0..BLOCK).map(|hour| A::number(of, hour, design)).sum::<f64>();
        let kwh = |of: &Sum<N>| sum(of) / 1000.0;
        let lanes = |of: N| A::lanes_of(design).map(move |lane| of.lane(lane));
        let count = |of: N| lanes(of).sum::<f64>() as u32;
        let (backup_kwh, unmet_cooling_kwh) = (kwh(&self.backup), kwh(&self.unmet_cooling));
        RunYear {
            entering_fluid_min: lanes(self.entering_min).fold(f64::INFINITY, f64::min),
            entering_fluid_mean: sum(&self.entering) / HOURS_PER_YEAR as f64,
            entering_fluid_max: lanes(self.entering_max).fold(f64::NEG_INFINITY, f64::max),
            leaving_fluid_min: lanes(self.leaving_min).fold(f64::INFINITY, f64::min),
            heat_extracted_kwh: kwh(&self.extracted),
            heat_rejected_kwh: kwh(&self.rejected),
            heating_kwh: demand.heating_kwh - backup_kwh,
            cooling_kwh: demand.cooling_kwh - unmet_cooling_kwh,
            electricity_kwh: kwh(&self.electricity) + backup_kwh,
            backup_kwh,
            unmet_cooling_kwh,
            element_kwh: demand.element_kwh,
            hours_running: demand.hours_running,
            hours_below_limit: count(self.below_limit),
            hours_above_limit: count(self.above_limit),
            hours_outside_table: count(self.outside_table),
            hours_near_freezing: count(self.near_freezing),
            hours_fluid_too_warm: count(self.fluid_too_warm),
            hours_short_of_capacity: count(self.short_of_capacity),
        }
    }
}

impl<A: LaneLayout> Tally<A> {
    /// Nothing accumulated yet.
    #[must_use]
    pub fn new(layout: A, course: &Course) -> Self {
        let zero = A::Wide::all(layout.of_wide(), 0.0);
        Self {
            layout,
            demands: yearly_demands(course),
            bounds: Bounds::of(layout, course),
            so_far: SoFar::none(zero),
            freezing: vec![None; course.designs.len()],
            year: Gathered::none(zero),
            years: vec![Vec::new(); course.designs.len()],
        }
    }

    /// Summaries of the whole years of each design.
    #[must_use]
    pub fn summaries(self) -> Vec<RunSummary> {
        let summary = |(design, (years, freezing))| RunSummary {
            years,
            extremes: self.so_far.of_design::<A>(design),
            warmest_fluid: self.so_far.warmest_fluid::<A>(design),
            freezing,
        };
        self.years.into_iter().zip(self.freezing).enumerate().map(summary).collect()
    }

    /// Counts the hours of a time block that are beyond bounds.
    #[inline(always)]
    fn count<const H: usize>(
        &mut self,
        time_block: &TimeBlock<A::Demand, H>,
        moments: &Moments<A::Designs, H>,
    ) {
        let (layout, bounds) = (self.layout, &self.bounds);
        for part in 0..A::parts(H) {
            let runs = layout.demanded(&time_block.runs, part);
            let hours = |is_so| runs.or_else(is_so, runs.like(0.0));
            let entering = layout.part(&moments.entering_fluid, part);
            let leaving = layout.part(&moments.leaving_fluid, part);
            let outside_table = bounds.is_outside_table(entering, &time_block.loads(layout, part));
            let year = &mut self.year;
            year.below_limit = year.below_limit + hours(bounds.is_below_limit(entering));
            year.above_limit = year.above_limit + hours(bounds.is_above_limit(entering));
            year.outside_table = year.outside_table + hours(outside_table);
            year.near_freezing = year.near_freezing + hours(bounds.is_near_freezing(leaving));
        }
    }

    /// Counts the hours of a time block in which the circulating fluid is too warm.
    #[cold]
    #[inline(never)]
    fn count_too_warm<const H: usize>(
        &mut self,
        time_block: &TimeBlock<A::Demand, H>,
        moments: &Moments<A::Designs, H>,
    ) {
        let layout = self.layout;
        for part in 0..A::parts(H) {
            let circulates = layout.demanded(&time_block.circulates, part);
            let entering = layout.part(&moments.entering_fluid, part);
            let warmest = entering.max(layout.part(&moments.leaving_fluid, part));
            let is_too_warm = self.bounds.fluid_max.is_below(warmest);
            let count = &mut self.year.fluid_too_warm;
            *count = *count + circulates.or_else(is_too_warm, circulates.like(0.0));
        }
    }

    /// Adds the heating and cooling beyond the capacity of the heat pumps in a time block.
    #[inline(always)]
    fn add_shortfall<const H: usize>(
        &mut self,
        first: usize,
        time_block: &TimeBlock<A::Demand, H>,
        moments: &Moments<A::Designs, H>,
    ) {
        let (layout, year) = (self.layout, &mut self.year);
        for part in 0..A::parts(H) {
            let runs = layout.demanded(&time_block.runs, part);
            let zero = runs.like(0.0);
            let backup =
                (layout.demanded(time_block.heating(), part) - layout.part(&moments.heating, part)).max(zero);
            let unmet =
                (layout.demanded(time_block.cooling(), part) - layout.part(&moments.cooling, part)).max(zero);
            let place = A::place(first, part);
            year.backup[place] = year.backup[place] + backup;
            year.unmet_cooling[place] = year.unmet_cooling[place] + unmet;
            let is_short = zero.is_below(backup.max(unmet));
            year.short_of_capacity = year.short_of_capacity + runs.or_else(is_short, zero);
        }
    }

    /// Closes a year.
    #[inline(never)]
    fn end_year(&mut self) {
        for (design, years) in self.years.iter_mut().enumerate() {
            let demands = &self.demands[design];
            let demand = &demands[years.len() % demands.len()];
            years.push(self.year.of_design::<A>(design, demand));
        }
        self.year = Gathered::none(A::Wide::all(self.layout.of_wide(), 0.0));
    }
}

impl<A: LaneLayout, const H: usize> Record<A, H> for Tally<A> {
    #[inline(always)]
    fn take(&mut self, first: usize, time_block: &TimeBlock<A::Demand, H>, moments: &Moments<A::Designs, H>) {
        let (layout, year) = (self.layout, &mut self.year);
        let zero = A::Wide::all(layout.of_wide(), 0.0);
        let (mut coldest, mut warmest) = (zero.like(f64::INFINITY), zero.like(f64::NEG_INFINITY));
        let (mut coldest_leaving, mut warmest_leaving, mut short) = (coldest, warmest, zero);
        for part in 0..A::parts(H) {
            let place = A::place(first, part);
            let entering = layout.part(&moments.entering_fluid, part);
            let heat = layout.part(&moments.heat_extracted, part);
            let electricity = layout.part(&moments.electricity, part);
            coldest = coldest.min(entering);
            warmest = warmest.max(entering);
            let leaving = layout.part(&moments.leaving_fluid, part);
            coldest_leaving = coldest_leaving.min(leaving);
            warmest_leaving = warmest_leaving.max(leaving);
            year.entering[place] = year.entering[place] + entering;
            year.extracted[place] = year.extracted[place] + heat.max(zero);
            year.rejected[place] = year.rejected[place] + (-heat).max(zero);
            year.electricity[place] = year.electricity[place] + electricity;
            if time_block.heats() {
                let left = layout.demanded(time_block.heating(), part) - layout.part(&moments.heating, part);
                short = short.max(left);
            }
            if time_block.cools() {
                let left = layout.demanded(time_block.cooling(), part) - layout.part(&moments.cooling, part);
                short = short.max(left);
            }
        }
        year.entering_min = year.entering_min.min(coldest);
        year.entering_max = year.entering_max.max(warmest);
        year.leaving_min = year.leaving_min.min(coldest_leaving);
        if time_block.asks_heat_pump {
            if zero.is_below(short).any() {
                self.add_shortfall(first, time_block, moments);
            }
            if self.bounds.may_be_passed(coldest, warmest, coldest_leaving) {
                self.count(time_block, moments);
            }
            if self.so_far.may_change(coldest, warmest, coldest_leaving) {
                self.so_far.look_through(layout, first, time_block, moments);
            }
        }
        let warmest_fluid = warmest.max(warmest_leaving);
        if time_block.any_circulates && self.so_far.may_be_warmer(warmest_fluid) {
            self.so_far.look_for_warmest(layout, first, time_block, moments);
        }
        if self.bounds.fluid_max.is_below(warmest_fluid).any() {
            self.count_too_warm(time_block, moments);
        }
        let freezing_point = self.bounds.freezing_point;
        if coldest_leaving.is_below(freezing_point).any() {
            Freezing::note::<A, H>(
                &mut self.freezing,
                first,
                time_block,
                &moments.leaving_fluid,
                freezing_point,
            );
        }
        if (first + H).is_multiple_of(HOURS_PER_YEAR) {
            self.end_year();
        }
    }
}
