//! Newton's iteration for the hours of a time block.

use super::bisection::Bisection;
use super::course::Course;
use super::plan::{OperatingPoint, Plan, Solution};
use super::time_block::TimeBlock;
use crate::ground_side::{GroundSide, Offer};
use crate::heat_pump::PreparedHeatPump;
use crate::lane_layout::LaneLayout;
use crate::lanes::{Lanes, Mask};

/// Most evaluations of the curves before the hours are solved by bisection instead.
const STEPS: usize = 12;

/// Heat pumps of designs, and the layout of their lanes.
#[derive(Debug, Clone, Copy)]
pub(super) struct HeatPumps<'a, A: LaneLayout> {
    pub layout: A,
    pub course: &'a Course<'a>,
    pub prepared: PreparedHeatPump<A::Wide>,
}

impl<A: LaneLayout> HeatPumps<'_, A> {
    /// Solves a time block by Newton's iteration with the curves of heat pumps and loops, safeguarded by bisection, and
    /// leaves the plan linearized at the solution.
    ///
    /// Lanes are independent. A lane that is solved stays at its operating point while others iterate, so evaluating it
    /// again gives the same bits.
    #[inline(always)]
    pub fn solve<const H: usize, G: GroundSide<A, H>>(
        &self,
        plan: &mut Plan<A::Designs, H>,
        point: &mut OperatingPoint<A::Designs, H>,
        offer: &Offer<A::Designs, H>,
        ground_side: &G,
        time_block: &TimeBlock<A::Demand, H>,
        solution: &mut Solution<A::Designs, H>,
    ) {
        plan.solve(offer, solution);
        point.start_at(&solution.entering_fluid);
        plan.linearize(self.layout, &self.prepared, point, offer, ground_side, time_block);
        plan.solve(offer, solution);
        let mut is_unsolved = point.unsolved(solution);
        let mut steps = 1;
        let mut restarted = None;
        loop {
            if !ground_side.bends().is_empty() && point.may_be_colder(self.layout, ground_side, solution) {
                let restarted = restarted.get_or_insert([offer.pulse_response[0].like(0.0); H]);
                is_unsolved = self.start_colder(point, ground_side, solution, is_unsolved, restarted);
            }
            if !is_unsolved.any() {
                return;
            }
            if steps == STEPS {
                self.bisect(solution, point, is_unsolved, offer, ground_side, time_block);
            }
            point.move_unsolved(is_unsolved, &solution.entering_fluid);
            plan.linearize(self.layout, &self.prepared, point, offer, ground_side, time_block);
            if steps == STEPS {
                return;
            }
            plan.solve(offer, solution);
            is_unsolved = point.unsolved(solution);
            steps += 1;
        }
    }

    /// Restarts, below the bend, the hours that are solved but may have a colder solution there; each hour once. Returns
    /// the lanes that are then unsolved.
    #[cold]
    #[inline(never)]
    fn start_colder<const H: usize, G: GroundSide<A, H>>(
        &self,
        point: &OperatingPoint<A::Designs, H>,
        ground_side: &G,
        solution: &mut Solution<A::Designs, H>,
        is_unsolved: <A::Designs as Lanes>::Mask,
        restarted: &mut [A::Designs; H],
    ) -> <A::Designs as Lanes>::Mask {
        let colder = point.colder(self.layout, ground_side, solution);
        let one = colder[0].like(1.0);
        let zero = one.like(0.0);
        let mut now_unsolved = is_unsolved;
        for hour in 0..H {
            // `NOWHERE` marks the hours without another solution.
            let is_new = zero
                .like(NOWHERE)
                .is_below(colder[hour])
                .and(is_unsolved.or(zero.is_below(restarted[hour])).not());
            solution.entering_fluid[hour] = colder[hour].or_else(is_new, solution.entering_fluid[hour]);
            restarted[hour] = one.or_else(is_new, restarted[hour]);
            now_unsolved = now_unsolved.or(is_new);
        }
        now_unsolved
    }

    /// Solves the unsolved designs of a time block by bisection.
    #[cold]
    #[inline(never)]
    fn bisect<const H: usize, G: GroundSide<A, H>>(
        &self,
        solution: &mut Solution<A::Designs, H>,
        point: &mut OperatingPoint<A::Designs, H>,
        is_unsolved: <A::Designs as Lanes>::Mask,
        offer: &Offer<A::Designs, H>,
        ground_side: &G,
        time_block: &TimeBlock<A::Demand, H>,
    ) {
        let one = offer.pulse_response[0].like(1.0);
        let unsolved = one.or_else(is_unsolved, one.like(0.0));
        let mut not_converged = None;
        let mut bisected = |lane: usize| {
            if unsolved.lane(lane) <= 0.0 {
                return None;
            }
            let heat_pump = PreparedHeatPump::new((), |_| &self.course.design(lane).heat_pump);
            let bisection =
                Bisection { layout: self.layout, heat_pump: &heat_pump, offer, ground_side, lane };
            match bisection.solve(&time_block.of_design::<A::Designs>(lane)) {
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
        point.is_bisected = true;
        point.not_converged = not_converged;
    }
}

/// Below absolute zero, so never a temperature [degC].
pub(super) const NOWHERE: f64 = -1000.0;
