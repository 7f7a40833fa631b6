//! The hourly loop: queries the ground side, solves the heat pump, commits the heat.

mod bisection;
mod course;
mod newton;
mod plan;
mod record;
#[cfg(test)]
mod tests;
mod time_block;

pub use course::Course;
pub use record::{Moments, Record};
pub use time_block::TimeBlock;

use crate::cancel_token::CancelToken;
use crate::error::Error;
use crate::ground_side::GroundSide;
use crate::heat_pump::PreparedHeatPump;
use crate::lane_layout::LaneLayout;
use crate::lanes::Lanes;
use newton::HeatPumps;
use plan::{OperatingPoint, Plan, Solution};

/// Hours between two checks of the token: about a month.
const HOURS_BETWEEN_CHECKS: usize = 730;

/// Assumed electricity per watt of load before any hour has been solved.
const FIRST_GUESS: f64 = 0.25;

/// Steps `hours` hours of designs with the same demands; `time_blocks` are their [`TimeBlock::all`], of `H` hours each. A
/// fluid that freezes is treated as if it stayed liquid; the record notes the hour.
///
/// Must be called inside [`pulp::Arch::dispatch`], which selects the processor's instructions. Loads, start and hours
/// must be multiples of a time block.
///
/// # Errors
/// [`Error::Stopped`] if the token was cancelled; [`Error::NotConverged`] for an hour that no temperature solves.
#[inline(always)]
pub fn step<A: LaneLayout, const H: usize, G: GroundSide<A, H>, R: Record<A::Designs, H>>(
    layout: A,
    ground_side: &mut G,
    course: &Course,
    time_blocks: &[TimeBlock<H>],
    hours: usize,
    record: &mut R,
    token: &CancelToken,
) -> Result<(), Error> {
    let heat_pumps = HeatPumps { layout, course, prepared: course.heat_pumps(layout) };
    let pump_power = course.each(layout, |design| design.pump_power);
    let stopping_power =
        course.each(layout, |design| if design.pump_stops { design.pump_power } else { 0.0 });
    let any_stops = course.designs.iter().any(|design| design.pump_stops);
    let zero = pump_power.like(0.0);

    let mut plans: Vec<Plan<A::Designs, H>> = Vec::with_capacity(time_blocks.len());
    let mut place = 0;
    let mut electricity_per_watt = zero.like(FIRST_GUESS);
    let (mut point, mut solution, mut moments) =
        (OperatingPoint::none(zero), Solution::none(zero), Moments::none(zero));
    let mut next_check = 0;
    let flow_stops = ground_side.flow_stops();
    // In the last time block in which the heat pump ran.
    let mut entering_before = moments.entering_fluid;
    for number in 0..hours / H {
        if number >= next_check {
            token.report(number * H)?;
            next_check = number + HOURS_BETWEEN_CHECKS.div_ceil(H);
        }
        let time_block = &time_blocks[place];
        if flow_stops {
            ground_side.set_flow_shares(&flow_shares(
                layout,
                &entering_before,
                &heat_pumps.prepared,
                time_block,
            ));
        }
        let mut offer = ground_side.offer();
        let is_first = number < time_blocks.len();
        if is_first {
            plans.push(Plan::none(zero));
        }
        let plan = &mut plans[place];
        if is_first {
            plan.guess(layout, time_block, electricity_per_watt, &offer, ground_side);
        }
        place = if place + 1 == time_blocks.len() { 0 } else { place + 1 };

        loop {
            if time_block.exchanges_heat {
                heat_pumps.solve(plan, &mut point, &offer, ground_side, time_block, &mut solution);
            } else {
                solution = Solution { entering_fluid: offer.no_load_temperature, heat: [zero; H] };
            }
            if flow_stops {
                let entering_fluid = &solution.entering_fluid;
                ground_side.set_flow_shares(&flow_shares(
                    layout,
                    entering_fluid,
                    &heat_pumps.prepared,
                    time_block,
                ));
            }
            match ground_side.refined(&solution.heat) {
                Some(refined) => offer = refined,
                None => break,
            }
        }
        if flow_stops && time_block.asks_heat_pump {
            entering_before = solution.entering_fluid;
        }
        moments.entering_fluid = solution.entering_fluid;
        moments.heat_extracted = solution.heat;
        let (entering_fluid, heat) = (&moments.entering_fluid, &moments.heat_extracted);
        for hour in 0..H {
            let fall = point.kelvins_per_watt[hour];
            moments.leaving_fluid[hour] = (-fall).mul_add(heat[hour], entering_fluid[hour]);
        }
        moments.resistance = point.resistance;
        ground_side.commit(heat);
        if let Some(hour) = point.not_converged.take() {
            return Err(Error::NotConverged { hour: number * H + hour });
        }
        if point.is_bisected {
            next_check = number;
            point.is_bisected = false;
        }

        let (heats, cools) = (time_block.heats(), time_block.cools());
        for hour in 0..H {
            let entering_fluid = entering_fluid[hour];
            moments.heating[hour] = if heats { point.heating(hour, entering_fluid) } else { zero };
            moments.cooling[hour] = if cools { point.cooling(hour, entering_fluid) } else { zero };
            let from_heat_pump = heat[hour] + zero.like(time_block.net_recharge[hour]);
            moments.electricity[hour] = moments.heating[hour] - moments.cooling[hour] - from_heat_pump;
        }
        if is_first {
            electricity_per_watt = share_of(&moments.electricity, time_block, electricity_per_watt);
        }
        for hour in 0..H {
            let circulates = zero.like(time_block.circulates[hour]);
            let other = zero.like(time_block.other_electricity[hour]);
            moments.electricity[hour] = pump_power.mul_add(circulates, moments.electricity[hour]) + other;
        }
        if any_stops {
            let power = layout.throughout(stopping_power);
            stop_pumps(
                layout,
                &mut moments.electricity,
                entering_fluid,
                &heat_pumps.prepared,
                power,
                time_block,
            );
        }
        record.take(number * H, time_block, &moments);
    }
    token.report(hours)
}

/// Electricity per watt of load in a time block; without load the value `before`.
#[inline(always)]
fn share_of<N: Lanes, const H: usize>(electricity: &[N; H], time_block: &TimeBlock<H>, before: N) -> N {
    let load: f64 = time_block.heating().iter().chain(time_block.cooling()).sum();
    if load == 0.0 {
        return before;
    }
    let used = electricity.iter().fold(before.like(0.0), |sum, &electricity| sum + electricity);
    used * before.like(1.0 / load)
}

/// Share of each hour in which a flow runs that stops with the compressor; the whole hour if heat is supplied directly to
/// the loop.
#[inline(always)]
fn flow_shares<A: LaneLayout, const H: usize>(
    layout: A,
    entering_fluid: &[A::Designs; H],
    heat_pumps: &PreparedHeatPump<A::Wide>,
    time_block: &TimeBlock<H>,
) -> [A::Designs; H] {
    let mut shares = *entering_fluid;
    for part in 0..A::parts(H) {
        let running =
            heat_pumps.running_share(layout.part(entering_fluid, part), &time_block.loads(layout, part));
        let for_heat_pump = layout.shared(&time_block.circulates_for_heat_pump, part);
        let whole_hours = layout.shared(&time_block.circulates, part) - for_heat_pump;
        layout.set_part(&mut shares, part, running.mul_add(for_heat_pump, whole_hours));
    }
    shares
}

/// Subtracts what pumps that stop with the compressor don't use.
#[inline(always)]
fn stop_pumps<A: LaneLayout, const H: usize>(
    layout: A,
    electricity: &mut [A::Designs; H],
    entering_fluid: &[A::Designs; H],
    heat_pumps: &PreparedHeatPump<A::Wide>,
    power: A::Wide,
    time_block: &TimeBlock<H>,
) {
    for part in 0..A::parts(H) {
        let running =
            heat_pumps.running_share(layout.part(entering_fluid, part), &time_block.loads(layout, part));
        let rest = (power.like(1.0) - running) * layout.shared(&time_block.circulates_for_heat_pump, part);
        let used = (-power).mul_add(rest, layout.part(electricity, part));
        layout.set_part(electricity, part, used);
    }
}
