//! The answer of heat pump and loop to a time block.

use super::bisection::Bisection;
use super::course::Course;
use super::plan::{Plan, Solution, Work};
use super::time_block::TimeBlock;
use crate::ground_side::{GroundSide, Offer};
use crate::heat_pump::ReadyHeatPump;
use crate::lane_layout::LaneLayout;
use crate::lanes::{Lanes, Mask};

/// Times that the curves are worked out before the hours are solved by bisection instead.
const STEPS: usize = 12;

/// Heat pumps of designs, and how their hours lie.
#[derive(Debug, Clone, Copy)]
pub(super) struct HeatPumps<'a, A: LaneLayout> {
    pub layout: A,
    pub course: &'a Course<'a>,
    pub ready: ReadyHeatPump<A::Wide>,
}

impl<A: LaneLayout> HeatPumps<'_, A> {
    /// Solves a time block by Newton's iteration with the curves of heat pumps and loops, safeguarded by bisection, and plans it
    /// around what is found. A lane never sees another.
    #[inline(always)]
    pub fn solve<const H: usize, G: GroundSide<A, H>>(
        &self,
        plan: &mut Plan<A::Designs, H>,
        work: &mut Work<A::Designs, H>,
        offer: &Offer<A::Designs, H>,
        ground_side: &G,
        time_block: &TimeBlock<H>,
    ) -> Solution<A::Designs, H> {
        let one = offer.pulse_response[0].like(1.0);
        work.begin(&plan.solve(offer).entering_fluid);
        plan.work_out(self.layout, &self.ready, work, offer, ground_side, time_block, None);
        let mut solution = plan.solve(offer);
        let mut is_open = work.misses(&solution);
        let mut steps = 1;
        let mut restarted = None;
        loop {
            let mut open = one.or_else(is_open, one.like(0.0));
            let mut starts = solution.entering_fluid;
            if !ground_side.bends().is_empty() && work.may_be_colder(self.layout, ground_side, &solution) {
                let restarted = restarted.get_or_insert([one.like(0.0); H]);
                open = self.start_colder(work, ground_side, &solution, open, &mut starts, restarted);
                is_open = one.like(0.0).is_below(open);
            }
            if !is_open.any() {
                return solution;
            }
            if steps == STEPS {
                self.bisect(&mut solution, work, open, offer, ground_side, time_block);
                starts = solution.entering_fluid;
            }
            work.go_on(is_open, &starts);
            plan.work_out(self.layout, &self.ready, work, offer, ground_side, time_block, Some(open));
            if steps == STEPS {
                return solution;
            }
            solution = plan.solve(offer);
            is_open = work.misses(&solution);
            steps += 1;
        }
    }

    /// Starts the hours again, below the bend, that are solved but may have a colder solution there; once each. Returns the lanes that
    /// are then open, as numbers above zero.
    #[cold]
    #[inline(never)]
    fn start_colder<const H: usize, G: GroundSide<A, H>>(
        &self,
        work: &Work<A::Designs, H>,
        ground_side: &G,
        solution: &Solution<A::Designs, H>,
        open: A::Designs,
        starts: &mut [A::Designs; H],
        restarted: &mut [A::Designs; H],
    ) -> A::Designs {
        let layout = self.layout;
        let zero = open.like(0.0);
        let colder = work.colder(layout, ground_side, solution);
        let mut now_open = open;
        for hour in 0..H {
            // Nothing is colder than absolute zero: that marks the hours without another solution.
            let is_new = zero
                .like(NOWHERE)
                .is_below(colder[hour])
                .and(zero.is_below(open).or(zero.is_below(restarted[hour])).not());
            starts[hour] = colder[hour].or_else(is_new, starts[hour]);
            restarted[hour] = zero.like(1.0).or_else(is_new, restarted[hour]);
            now_open = zero.like(1.0).or_else(is_new, now_open);
        }
        now_open
    }

    /// Solves by bisection the designs of a time block whose `open` is above zero.
    #[cold]
    #[inline(never)]
    fn bisect<const H: usize, G: GroundSide<A, H>>(
        &self,
        solution: &mut Solution<A::Designs, H>,
        work: &mut Work<A::Designs, H>,
        open: A::Designs,
        offer: &Offer<A::Designs, H>,
        ground_side: &G,
        time_block: &TimeBlock<H>,
    ) {
        let mut not_converged = None;
        let mut bisected = |lane: usize| {
            if open.lane(lane) <= 0.0 {
                return None;
            }
            let heat_pump = ReadyHeatPump::new((), |_| &self.course.design(lane).heat_pump);
            let bisection =
                Bisection { layout: self.layout, heat_pump: &heat_pump, offer, ground_side, lane };
            match bisection.solve(time_block) {
                Ok(found) => Some(found),
                Err(hour) => {
                    not_converged.get_or_insert(hour);
                    None
                }
            }
        };
        let found: Vec<Option<[(f64, f64); H]>> = (0..A::Designs::COUNT).map(&mut bisected).collect();
        let each = |of: &dyn Fn(usize) -> f64| A::Designs::each(self.layout.of_designs(), of);
        for hour in 0..H {
            let (entering, heat) = (solution.entering_fluid[hour], solution.heat[hour]);
            solution.entering_fluid[hour] =
                each(&|lane| found[lane].map_or(entering.lane(lane), |found| found[hour].0));
            solution.heat[hour] = each(&|lane| found[lane].map_or(heat.lane(lane), |found| found[hour].1));
        }
        work.is_bisected = true;
        work.not_converged = not_converged;
    }
}

/// Below any temperature [degC].
pub(super) const NOWHERE: f64 = -1000.0;
