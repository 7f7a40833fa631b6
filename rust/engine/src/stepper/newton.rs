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
        solution: &mut Solution<A::Designs, H>,
    ) {
        plan.solve(offer, solution);
        work.begin(&solution.entering_fluid);
        plan.work_out(self.layout, &self.ready, work, offer, ground_side, time_block);
        plan.solve(offer, solution);
        let mut is_open = work.misses(solution);
        let mut steps = 1;
        let mut restarted = None;
        loop {
            if !ground_side.bends().is_empty() && work.may_be_colder(self.layout, ground_side, solution) {
                let restarted = restarted.get_or_insert([offer.pulse_response[0].like(0.0); H]);
                is_open = self.start_colder(work, ground_side, solution, is_open, restarted);
            }
            if !is_open.any() {
                return;
            }
            if steps == STEPS {
                self.bisect(solution, work, is_open, offer, ground_side, time_block);
            }
            work.go_on(is_open, &solution.entering_fluid);
            plan.work_out(self.layout, &self.ready, work, offer, ground_side, time_block);
            if steps == STEPS {
                return;
            }
            plan.solve(offer, solution);
            is_open = work.misses(solution);
            steps += 1;
        }
    }

    /// Starts the hours again, below the bend, that are solved but may have a colder solution there; once each. Returns the lanes that
    /// are then open.
    #[cold]
    #[inline(never)]
    fn start_colder<const H: usize, G: GroundSide<A, H>>(
        &self,
        work: &Work<A::Designs, H>,
        ground_side: &G,
        solution: &mut Solution<A::Designs, H>,
        is_open: <A::Designs as Lanes>::Mask,
        restarted: &mut [A::Designs; H],
    ) -> <A::Designs as Lanes>::Mask {
        let colder = work.colder(self.layout, ground_side, solution);
        let one = colder[0].like(1.0);
        let zero = one.like(0.0);
        let mut now_open = is_open;
        for hour in 0..H {
            // Nothing is colder than absolute zero: that marks the hours without another solution.
            let is_new = zero
                .like(NOWHERE)
                .is_below(colder[hour])
                .and(is_open.or(zero.is_below(restarted[hour])).not());
            solution.entering_fluid[hour] = colder[hour].or_else(is_new, solution.entering_fluid[hour]);
            restarted[hour] = one.or_else(is_new, restarted[hour]);
            now_open = now_open.or(is_new);
        }
        now_open
    }

    /// Solves by bisection the designs of a time block that are open.
    #[cold]
    #[inline(never)]
    fn bisect<const H: usize, G: GroundSide<A, H>>(
        &self,
        solution: &mut Solution<A::Designs, H>,
        work: &mut Work<A::Designs, H>,
        is_open: <A::Designs as Lanes>::Mask,
        offer: &Offer<A::Designs, H>,
        ground_side: &G,
        time_block: &TimeBlock<H>,
    ) {
        let one = offer.pulse_response[0].like(1.0);
        let open = one.or_else(is_open, one.like(0.0));
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
