//! The heat pump's answer to a stretch of hours.

use super::bisection::bisect;
use super::course::Course;
use super::plan::{Plan, Solution, Work};
use super::stretch::Stretch;
use crate::abreast::Abreast;
use crate::ground_side::Offer;
use crate::heat_pump::ReadyHeatPump;
use crate::lanes::{Lanes, Mask};

/// Times that the curves are worked out before the hours are solved by bisection instead.
const STEPS: usize = 12;

/// Heat pumps of designs, and how their hours lie.
#[derive(Debug, Clone, Copy)]
pub(super) struct HeatPumps<'a, A: Abreast> {
    pub abreast: A,
    pub course: &'a Course<'a>,
    pub ready: ReadyHeatPump<A::Wide>,
}

impl<A: Abreast> HeatPumps<'_, A> {
    /// Solves a stretch by Newton's iteration with the heat pumps' curves, safeguarded by bisection, and plans it around what is
    /// found. A lane never sees another.
    #[inline(always)]
    pub fn solve<const H: usize>(
        &self,
        plan: &mut Plan<A::Designs, H>,
        offer: &Offer<A::Designs, H>,
        stretch: &Stretch<H>,
    ) -> (Solution<A::Designs, H>, Work<A::Designs, H>) {
        let expected = plan.solve(offer).entering_fluid;
        let mut work = plan.work_out(self.abreast, &self.ready, &expected, offer, stretch);
        let mut solution = plan.solve(offer);
        let mut is_open = work.misses(&solution);
        let mut steps = 1;
        while is_open.any() {
            if steps == STEPS {
                return self.bisected(plan, &work, &solution, offer, stretch);
            }
            let next = work.next(is_open, &solution.entering_fluid);
            work = plan.work_out(self.abreast, &self.ready, &next, offer, stretch);
            solution = plan.solve(offer);
            is_open = work.misses(&solution);
            steps += 1;
        }
        (solution, work)
    }

    /// Solves by bisection the designs of a stretch that are not solved.
    #[cold]
    #[inline(never)]
    fn bisected<const H: usize>(
        &self,
        plan: &mut Plan<A::Designs, H>,
        work: &Work<A::Designs, H>,
        solution: &Solution<A::Designs, H>,
        offer: &Offer<A::Designs, H>,
        stretch: &Stretch<H>,
    ) -> (Solution<A::Designs, H>, Work<A::Designs, H>) {
        let is_open = work.misses(solution);
        let ones = offer.kelvins_per_watt.like(1.0);
        let opens = ones.or_else(is_open, ones.like(0.0));
        let bisected = |lane: usize| {
            (opens.lane(lane) > 0.0).then(|| {
                let heat_pump = ReadyHeatPump::new((), |_| &self.course.design(lane).heat_pump);
                bisect(&heat_pump, offer, lane, stretch)
            })
        };
        let found: Vec<Option<[(f64, f64); H]>> = (0..A::Designs::COUNT).map(bisected).collect();
        let Solution { mut entering_fluid, mut heat } = *solution;
        for hour in 0..H {
            let (entering, extracted) = (entering_fluid[hour], heat[hour]);
            let each = |of: &dyn Fn(usize) -> f64| A::Designs::each(self.abreast.of_designs(), of);
            entering_fluid[hour] =
                each(&|lane| found[lane].map_or(entering.lane(lane), |found| found[hour].0));
            heat[hour] = each(&|lane| found[lane].map_or(extracted.lane(lane), |found| found[hour].1));
        }
        let next = work.next(is_open, &entering_fluid);
        let work = plan.work_out(self.abreast, &self.ready, &next, offer, stretch);
        (Solution { entering_fluid, heat }, work)
    }
}
