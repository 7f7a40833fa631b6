//! The hourly loop: queries the ground side, solves the heat pump, commits the heat.

mod bisection;
mod course;
mod newton;
mod own_time_blocks;
mod plan;
mod record;
#[cfg(test)]
mod tests;
mod time_block;

pub use course::Course;
pub use own_time_blocks::OwnTimeBlocks;
pub use record::{Later, Moments, Record};
pub use time_block::{TimeBlock, TimeBlocks};

use crate::cancel_token::CancelToken;
use crate::error::Error;
use crate::ground_side::GroundSide;
use crate::heat_pump::PreparedHeatPump;
use crate::lane_layout::{Demanded, LaneLayout};
use crate::lanes::Lanes;
use newton::HeatPumps;
use plan::{OperatingPoint, Plan, Solution};

/// Hours between two checks of the token: about a month.
const HOURS_BETWEEN_CHECKS: usize = 730;

/// Assumed electricity per watt of load before any hour has been solved.
const FIRST_GUESS: f64 = 0.25;

/// Steps `hours` hours of designs; `time_blocks` are those of the course, of `H` hours each. A fluid that freezes is
/// treated as if it stayed liquid; the record notes the hour.
///
/// Must be called inside [`pulp::Arch::dispatch`], which selects the processor's instructions. Loads, start and hours
/// must be multiples of a time block.
///
/// # Errors
/// [`Error::Stopped`] if the token was cancelled; [`Error::NotConverged`] for an hour that no temperature solves.
#[inline(always)]
pub fn step<A: LaneLayout, const H: usize, G: GroundSide<A, H>, R: Record<A, H>>(
    layout: A,
    ground_side: &mut G,
    course: &Course,
    time_blocks: &mut impl TimeBlocks<A::Demand, H>,
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

    let count = time_blocks.count();
    let mut plans: Vec<Plan<A::Designs, H>> = Vec::with_capacity(count);
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
        let time_block = time_blocks.at(place);
        if flow_stops {
            ground_side.set_flow_shares(&flow_shares(
                layout,
                &entering_before,
                &heat_pumps.prepared,
                time_block,
            ));
        }
        let mut offer = ground_side.offer();
        let is_first = number < count;
        if is_first {
            plans.push(Plan::none(zero));
        }
        let plan = &mut plans[place];
        if is_first {
            plan.guess(layout, time_block, electricity_per_watt, &offer, ground_side);
        }
        place = if place + 1 == count { 0 } else { place + 1 };

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

        run_heat_pumps(&mut moments, &point, time_block);
        if is_first {
            electricity_per_watt = share_of::<A, H>(&moments.electricity, time_block, electricity_per_watt);
        }
        add_other_electricity::<A, H>(&mut moments.electricity, pump_power, time_block);
        if any_stops {
            let power = layout.throughout(stopping_power);
            stop_pumps(
                layout,
                &mut moments.electricity,
                &moments.entering_fluid,
                &heat_pumps.prepared,
                power,
                time_block,
            );
        }
        record.take(number * H, time_block, &moments);
    }
    token.report(hours)
}

/// Sets heating and cooling delivered, and the heat pumps' electricity.
#[inline(always)]
fn run_heat_pumps<N: Lanes, D: Demanded<N>, const H: usize>(
    moments: &mut Moments<N, H>,
    point: &OperatingPoint<N, H>,
    time_block: &TimeBlock<D, H>,
) {
    let zero = moments.entering_fluid[0].like(0.0);
    let (heats, cools) = (time_block.heats(), time_block.cools());
    for hour in 0..H {
        let entering_fluid = moments.entering_fluid[hour];
        let heating = if heats { point.heating(hour, entering_fluid) } else { zero };
        let cooling = if cools { point.cooling(hour, entering_fluid) } else { zero };
        let from_heat_pump = moments.heat_extracted[hour] + time_block.net_recharge[hour].per_design(zero);
        moments.heating[hour] = heating;
        moments.cooling[hour] = cooling;
        moments.electricity[hour] = heating - cooling - from_heat_pump;
    }
}

/// Adds the electricity of circulation pumps, and what isn't used by heat pumps.
#[inline(always)]
fn add_other_electricity<A: LaneLayout, const H: usize>(
    electricity: &mut [A::Designs; H],
    pump_power: A::Designs,
    time_block: &TimeBlock<A::Demand, H>,
) {
    for hour in 0..H {
        let circulates = time_block.circulates[hour].per_design(pump_power);
        let other = time_block.other_electricity[hour].per_design(pump_power);
        electricity[hour] = pump_power.mul_add(circulates, electricity[hour]) + other;
    }
}

/// Electricity per watt of load in a time block; without load the value `before`.
#[inline(always)]
fn share_of<A: LaneLayout, const H: usize>(
    electricity: &[A::Designs; H],
    time_block: &TimeBlock<A::Demand, H>,
    before: A::Designs,
) -> A::Designs {
    let (mut load, mut used) = (before.like(0.0), before.like(0.0));
    for amounts in [time_block.heating(), time_block.cooling()] {
        for hour in 0..H {
            load = load + amounts[hour].per_design(before);
        }
    }
    for hour in 0..H {
        used = used + electricity[hour];
    }
    (used * before.like(1.0).over(load)).or_else(before.like(0.0).is_below(load), before)
}

/// Share of each hour in which a flow runs that stops with the compressor; the whole hour if heat is supplied directly to
/// the loop.
#[inline(always)]
fn flow_shares<A: LaneLayout, const H: usize>(
    layout: A,
    entering_fluid: &[A::Designs; H],
    heat_pumps: &PreparedHeatPump<A::Wide>,
    time_block: &TimeBlock<A::Demand, H>,
) -> [A::Designs; H] {
    let mut shares = *entering_fluid;
    for part in 0..A::parts(H) {
        let running =
            heat_pumps.running_share(layout.part(entering_fluid, part), &time_block.loads(layout, part));
        let for_heat_pump = layout.demanded(&time_block.circulates_for_heat_pump, part);
        let whole_hours = layout.demanded(&time_block.circulates, part) - for_heat_pump;
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
    time_block: &TimeBlock<A::Demand, H>,
) {
    for part in 0..A::parts(H) {
        let running =
            heat_pumps.running_share(layout.part(entering_fluid, part), &time_block.loads(layout, part));
        let rest = (power.like(1.0) - running) * layout.demanded(&time_block.circulates_for_heat_pump, part);
        let used = (-power).mul_add(rest, layout.part(electricity, part));
        layout.set_part(electricity, part, used);
    }
}
