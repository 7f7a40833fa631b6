//! The heat pump's answer to a stretch of hours.

use super::bisection::bisect;
use super::plan::{Plan, Solution, Work};
use super::stretch::Stretch;
use crate::ground_side::Offer;
use crate::heat_pump::ReadyHeatPump;
use crate::hours::Hours;

/// Times that the curves are worked out before the hours are solved by bisection instead.
const STEPS: usize = 12;

/// Solves a stretch by Newton's iteration with the heat pumps' curves, safeguarded by bisection, and plans it around what is found.
/// A lane never sees another.
#[inline(always)]
pub(super) fn solve<const L: usize, const H: usize, const W: usize>(
    plan: &mut Plan<L, H>,
    heat_pumps: &ReadyHeatPump<W>,
    offer: &Offer<L, H>,
    stretch: &Stretch<H>,
) -> (Solution<L, H>, Work<L, H>) {
    let expected = plan.solve(offer).entering_fluid;
    let mut work = plan.work_out(&expected, heat_pumps, offer, stretch);
    let mut solution = plan.solve(offer);
    let mut is_solved = work.serves(&solution);
    let mut steps = 1;
    while is_solved != [true; L] {
        if steps == STEPS {
            return bisected(plan, &work, &solution, is_solved, heat_pumps, offer, stretch);
        }
        let next = work.next(is_solved, &solution.entering_fluid);
        work = plan.work_out(&next, heat_pumps, offer, stretch);
        solution = plan.solve(offer);
        is_solved = work.serves(&solution);
        steps += 1;
    }
    (solution, work)
}

/// Solves by bisection the designs of a stretch that are not solved.
#[cold]
#[inline(never)]
fn bisected<const L: usize, const H: usize, const W: usize>(
    plan: &mut Plan<L, H>,
    work: &Work<L, H>,
    solution: &Solution<L, H>,
    is_solved: [bool; L],
    heat_pumps: &ReadyHeatPump<W>,
    offer: &Offer<L, H>,
    stretch: &Stretch<H>,
) -> (Solution<L, H>, Work<L, H>) {
    let Solution { mut entering_fluid, mut heat } = *solution;
    for lane in (0..L).filter(|&lane| !is_solved[lane]) {
        let found = bisect(&heat_pumps.lanes([lane]), offer, lane, stretch);
        for (hour, (entering, extracted)) in found.into_iter().enumerate() {
            entering_fluid[hour].0[lane] = entering;
            heat[hour].0[lane] = extracted;
        }
    }
    let next: Hours<L, H> = work.next(is_solved, &entering_fluid);
    let work = plan.work_out(&next, heat_pumps, offer, stretch);
    (Solution { entering_fluid, heat }, work)
}
