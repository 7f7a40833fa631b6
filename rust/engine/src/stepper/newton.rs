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
    /// found; `is_new` where it has no plan of the year before. A lane never sees another.
    #[inline(always)]
    pub fn solve<const H: usize>(
        &self,
        plan: &mut Plan<A::Designs, H>,
        work: &mut Work<A::Designs, H>,
        offer: &Offer<A::Designs, H>,
        stretch: &Stretch<H>,
        is_new: bool,
    ) -> Solution<A::Designs, H> {
        let one = offer.kelvins_per_watt.like(1.0);
        work.begin(&plan.solve(offer).entering_fluid);
        plan.work_out(self.abreast, &self.ready, work, offer, stretch, is_new.then_some(one));
        let mut solution = plan.solve(offer);
        let mut is_open = work.misses(&solution);
        let mut steps = 1;
        while is_open.any() {
            let open = one.or_else(is_open, one.like(0.0));
            if steps == STEPS {
                self.bisect(&mut solution, open, offer, stretch);
            }
            work.go_on(is_open, &solution.entering_fluid);
            plan.work_out(self.abreast, &self.ready, work, offer, stretch, Some(open));
            if steps == STEPS {
                break;
            }
            solution = plan.solve(offer);
            is_open = work.misses(&solution);
            steps += 1;
        }
        solution
    }

    /// Solves by bisection the designs of a stretch whose `open` is above zero.
    #[cold]
    #[inline(never)]
    fn bisect<const H: usize>(
        &self,
        solution: &mut Solution<A::Designs, H>,
        open: A::Designs,
        offer: &Offer<A::Designs, H>,
        stretch: &Stretch<H>,
    ) {
        let bisected = |lane: usize| {
            (open.lane(lane) > 0.0).then(|| {
                let heat_pump = ReadyHeatPump::new((), |_| &self.course.design(lane).heat_pump);
                bisect(&heat_pump, offer, lane, stretch)
            })
        };
        let found: Vec<Option<[(f64, f64); H]>> = (0..A::Designs::COUNT).map(bisected).collect();
        let each = |of: &dyn Fn(usize) -> f64| A::Designs::each(self.abreast.of_designs(), of);
        for hour in 0..H {
            let (entering, heat) = (solution.entering_fluid[hour], solution.heat[hour]);
            solution.entering_fluid[hour] =
                each(&|lane| found[lane].map_or(entering.lane(lane), |found| found[hour].0));
            solution.heat[hour] = each(&|lane| found[lane].map_or(heat.lane(lane), |found| found[hour].1));
        }
    }
}
