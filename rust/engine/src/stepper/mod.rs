//! The hourly loop: asks the ground side, solves the heat pump, commits the heat.

mod bisection;
mod course;
mod freezing;
mod newton;
mod plan;
mod record;
mod stretch;

pub use course::Course;
pub use freezing::Freezing;
pub use record::{Moments, Record};
pub use stretch::Stretch;

use crate::abreast::Abreast;
use crate::error::Error;
use crate::ground_side::GroundSide;
use crate::heat_pump::ReadyHeatPump;
use crate::lanes::{Lanes, Mask};
use crate::watch::Watch;
use newton::HeatPumps;
use plan::{Plan, Solution, Work};

/// Hours between two looks at the watch: about a month.
const HOURS_BETWEEN_LOOKS: usize = 730;

/// Electricity for each watt asked for, before any hour was solved.
const FIRST_GUESS: f64 = 0.25;

/// Steps `hours` hours of designs with the same demands, in stretches of `H` hours; tells of each the first hour in which its fluid
/// froze, after which it goes on as if the fluid stayed liquid.
///
/// To be called where the processor's instructions were chosen ([`pulp::Arch::dispatch`]). Loads, start and hours must be multiples
/// of a stretch.
///
/// # Errors
/// [`Error::Stopped`] when the watch says so.
#[inline(always)]
pub fn step<A: Abreast, const H: usize, G: GroundSide<A::Designs, H>, R: Record<A::Designs, H>>(
    abreast: A,
    ground_side: &mut G,
    course: &Course,
    hours: usize,
    record: &mut R,
    watch: &Watch,
) -> Result<Vec<Option<Freezing>>, Error> {
    let heat_pumps = HeatPumps { abreast, course, ready: course.heat_pumps(abreast) };
    let pump_power = course.designs(abreast, |design| design.pump_power);
    let stopping_power =
        course.designs(abreast, |design| if design.pump_stops { design.pump_power } else { 0.0 });
    let any_stops = course.designs.iter().any(|design| design.pump_stops);
    let freezing_point = course.designs(abreast, |design| design.fluid.freezing_point);
    let zero = pump_power.like(0.0);

    let stretches: Vec<Stretch<H>> = Stretch::all(course.demands);
    let mut plans = vec![Plan::none(zero); stretches.len()];
    let mut place = course.start() / H;
    let mut frozen = vec![None; course.designs.len()];
    let mut electricity_per_watt = zero.like(FIRST_GUESS);
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
            heat_pumps.solve(plan, &offer, stretch)
        } else {
            (plan.solve(&offer), Work::none(zero))
        };
        let Solution { entering_fluid, heat } = solution;
        let (mut leaving_fluid, mut mean_fluid) = ([zero; H], [zero; H]);
        for hour in 0..H {
            leaving_fluid[hour] = (-offer.kelvins_per_watt).mul_add(heat[hour], entering_fluid[hour]);
            mean_fluid[hour] = (entering_fluid[hour] + leaving_fluid[hour]) * zero.like(0.5);
        }
        ground_side.commit(&heat, &mean_fluid);

        let (mut heating, mut cooling, mut electricity) = ([zero; H], [zero; H], [zero; H]);
        for hour in 0..H {
            heating[hour] = work.heating(hour, entering_fluid[hour]);
            cooling[hour] = work.cooling(hour, entering_fluid[hour]);
            let from_heat_pump = heat[hour] + zero.like(stretch.besides[hour]);
            electricity[hour] = heating[hour] - cooling[hour] - from_heat_pump;
        }
        if is_first {
            electricity_per_watt = share_of(&electricity, stretch, electricity_per_watt);
        }
        for hour in 0..H {
            let circulates = zero.like(stretch.circulates[hour]);
            electricity[hour] = pump_power.mul_add(circulates, electricity[hour]);
        }
        if any_stops {
            stop_pumps(
                abreast,
                &mut electricity,
                &entering_fluid,
                &heat_pumps.ready,
                stopping_power,
                stretch,
            );
        }
        let mut coldest = leaving_fluid[0];
        for hour in 1..H {
            coldest = coldest.min(leaving_fluid[hour]);
        }
        if coldest.is_below(freezing_point).any() {
            Freezing::note(&mut frozen, number * H, stretch, &leaving_fluid, freezing_point);
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
fn share_of<N: Lanes, const H: usize>(electricity: &[N; H], stretch: &Stretch<H>, before: N) -> N {
    let asked: f64 = stretch.heating().iter().chain(stretch.cooling()).sum();
    if asked == 0.0 {
        return before;
    }
    let taken = electricity.iter().fold(before.like(0.0), |sum, &electricity| sum + electricity);
    taken * before.like(1.0 / asked)
}

/// Takes away what the pumps that stop with the compressor don't use.
#[inline(always)]
fn stop_pumps<A: Abreast, const H: usize>(
    abreast: A,
    electricity: &mut [A::Designs; H],
    entering_fluid: &[A::Designs; H],
    heat_pumps: &ReadyHeatPump<A::Wide>,
    stopping_power: A::Designs,
    stretch: &Stretch<H>,
) {
    let power = abreast.throughout(stopping_power);
    for part in 0..A::parts(H) {
        let running =
            heat_pumps.running_share(abreast.part(entering_fluid, part), &stretch.asked(abreast, part));
        let rest = (power.like(1.0) - running) * abreast.shared(&stretch.circulates_for_heat_pump, part);
        let taken = (-power).mul_add(rest, abreast.part(electricity, part));
        abreast.set_part(electricity, part, taken);
    }
}
