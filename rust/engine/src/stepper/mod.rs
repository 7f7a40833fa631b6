//! The hourly loop: asks the ground side, solves the heat pump, commits the heat.

mod bisection;
mod freezing;
mod newton;
mod plan;
mod record;
mod stretch;

use std::array::from_fn;

use multiversion::multiversion;

pub use freezing::Freezing;
pub use record::{Moments, Record};
pub use stretch::Stretch;

use crate::error::Error;
use crate::ground_side::GroundSide;
use crate::heat_pump::{Demand, ReadyHeatPump};
use crate::hours::Hours;
use crate::lanes::Lanes;
use crate::watch::Watch;
use plan::{Plan, Solution, Work};

/// Hours between two looks at the watch: about a month.
const HOURS_BETWEEN_LOOKS: usize = 730;

/// Electricity for each watt asked for, before any hour was solved.
const FIRST_GUESS: f64 = 0.25;

/// What the buildings ask for and what circulation costs, hour by hour.
pub struct Course<'a, const L: usize> {
    /// Demand of each hour of the loads, which repeat until the run ends.
    pub demands: &'a [Demand],
    /// First hour of the run within `demands`.
    pub start: usize,
    /// Power of the circulation pump while it runs [W].
    pub pump_power: Lanes<L>,
    /// Whether it stops with the compressor, or runs all through the hours that are not idle.
    pub pump_stops: [bool; L],
    /// Temperature at which the fluid freezes [degC].
    pub freezing_point: Lanes<L>,
}

/// Steps `hours` hours of `L` designs with the same demands, in stretches of `H` hours.
///
/// The curves are worked out for `W` lanes at a time: for several hours of one design, or for several designs in one hour. Loads,
/// start and hours must be multiples of a stretch. A design whose fluid freezes is told as such and goes on as if the fluid stayed
/// liquid.
///
/// # Errors
/// [`Error::Stopped`] when the watch says so.
#[multiversion(targets("x86_64+avx+avx2+fma"))]
pub fn step<const L: usize, const H: usize, const W: usize, G: GroundSide<L, H>, R: Record<L, H>>(
    ground_side: &mut G,
    heat_pumps: &ReadyHeatPump<L>,
    course: &Course<L>,
    hours: usize,
    record: &mut R,
    watch: &Watch,
) -> Result<[Option<Freezing>; L], Error> {
    const { assert!(W.is_multiple_of(L) && (L * H).is_multiple_of(W)) };
    let heat_pumps: ReadyHeatPump<W> = heat_pumps.lanes(from_fn(|lane| lane % L));
    let stretches: Vec<Stretch<H>> = Stretch::all(course.demands);
    let mut plans = vec![Plan::NONE; stretches.len()];
    let mut place = course.start / H;
    let mut frozen = [None; L];
    let mut electricity_per_watt = Lanes::all(FIRST_GUESS);
    for number in 0..hours / H {
        if number % HOURS_BETWEEN_LOOKS.div_ceil(H) == 0 {
            watch.report(number * H)?;
        }
        let (stretch, plan) = (&stretches[place], &mut plans[place]);
        place = if place + 1 == stretches.len() { 0 } else { place + 1 };
        let is_first = number < stretches.len();

        let offer = ground_side.offer();
        if is_first {
            plan.assume(stretch, electricity_per_watt);
        }
        let (solution, work) = if stretch.asks_heat_pump {
            newton::solve(plan, &heat_pumps, &offer, stretch)
        } else {
            (plan.solve(&offer), Work::NONE)
        };
        let Solution { entering_fluid, heat } = solution;
        let (mut leaving_fluid, mut mean_fluid) = (Hours::ZERO, Hours::ZERO);
        for hour in 0..H {
            leaving_fluid[hour] = (-offer.kelvins_per_watt).mul_add(heat[hour], entering_fluid[hour]);
            mean_fluid[hour] = (entering_fluid[hour] + leaving_fluid[hour]) * 0.5;
        }
        ground_side.commit(&heat, &mean_fluid);

        let (mut heating, mut cooling, mut electricity) = (Hours::ZERO, Hours::ZERO, Hours::ZERO);
        for hour in 0..H {
            heating[hour] = work.heating(hour, entering_fluid[hour]);
            cooling[hour] = work.cooling(hour, entering_fluid[hour]);
            let from_heat_pump = heat[hour] + Lanes::all(stretch.besides[hour]);
            electricity[hour] = heating[hour] - cooling[hour] - from_heat_pump;
        }
        if is_first {
            electricity_per_watt = share_of(&electricity, stretch, electricity_per_watt);
        }
        for hour in 0..H {
            let circulates = Lanes::all(stretch.circulates[hour]);
            electricity[hour] = course.pump_power.mul_add(circulates, electricity[hour]);
        }
        if course.pump_stops != [false; L] {
            stop_pumps(&mut electricity, &entering_fluid, &heat_pumps, course, stretch);
        }
        let mut coldest = leaving_fluid[0];
        for hour in 1..H {
            coldest = coldest.min(leaving_fluid[hour]);
        }
        if coldest.is_below(course.freezing_point) != [false; L] {
            Freezing::note(&mut frozen, number * H, stretch, &leaving_fluid, course.freezing_point);
        }
        let moments =
            Moments { entering_fluid, leaving_fluid, heat_extracted: heat, electricity, heating, cooling };
        record.take(number * H, stretch, &moments);
    }
    watch.report(hours)?;
    Ok(frozen)
}

/// Electricity for each watt asked for in a stretch; what it was where nothing is.
#[inline(always)]
fn share_of<const L: usize, const H: usize>(
    electricity: &Hours<L, H>,
    stretch: &Stretch<H>,
    before: Lanes<L>,
) -> Lanes<L> {
    let asked: f64 = (0..H).map(|hour| stretch.heating[hour] + stretch.cooling[hour]).sum();
    if asked == 0.0 {
        return before;
    }
    let taken = electricity.0.iter().fold(Lanes::all(0.0), |sum, &electricity| sum + electricity);
    taken * (1.0 / asked)
}

/// Takes away what the pumps that stop with the compressor don't use.
#[inline(always)]
fn stop_pumps<const L: usize, const H: usize, const W: usize>(
    electricity: &mut Hours<L, H>,
    entering_fluid: &Hours<L, H>,
    heat_pumps: &ReadyHeatPump<W>,
    course: &Course<L>,
    stretch: &Stretch<H>,
) {
    let mut running = Hours::<L, H>::ZERO;
    for part in 0..L * H / W {
        let first = part * W;
        let asked = stretch.asked::<L, W>(first);
        running.set_part(first, heat_pumps.running_share(entering_fluid.part(first), &asked));
    }
    let power = Lanes::default().or_else(course.pump_stops.map(|stops| !stops), course.pump_power);
    for hour in 0..H {
        let rest = (Lanes::all(1.0) - running[hour]) * stretch.circulates_for_heat_pump[hour];
        electricity[hour] = (-power).mul_add(rest, electricity[hour]);
    }
}
