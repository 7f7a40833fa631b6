//! The hourly loop: asks the ground side, solves the heat pump, commits the heat.

use multiversion::multiversion;

use crate::ground_side::GroundSide;
use crate::heat_pump::{Demand, Number, Operation, ReadyHeatPump, Taylor};
use crate::lanes::Lanes;
use crate::watch::Watch;
use crate::{error::Error, loads::HOURS_PER_YEAR};

/// Hours between two looks at the watch: about a month.
const HOURS_BETWEEN_LOOKS: usize = 730;

/// A correction [K] after which an hour is solved: with the slope it is made with, what remains is below 1e-7 K.
const LAST_CORRECTION: f64 = 1e-5;

/// Entering fluid temperature of an hour that was never solved [degC].
const UNKNOWN: f64 = 1e9;

/// Steps before the hour is solved by bisection instead.
const NEWTON_STEPS: usize = 12;

/// Halvings that take any bracket of temperatures to the last bit.
const BISECTIONS: usize = 200;

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

/// What happened in one hour: temperatures at its end [degC], powers [W].
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Moment<const L: usize> {
    /// Entering fluid temperature.
    pub entering_fluid: Lanes<L>,
    /// Leaving fluid temperature.
    pub leaving_fluid: Lanes<L>,
    /// Heat extracted from the ground.
    pub heat_extracted: Lanes<L>,
    /// Electricity of heat pump and circulation pump.
    pub electricity: Lanes<L>,
    /// Heat given to the building.
    pub heating: Lanes<L>,
    /// Heat taken from the building.
    pub cooling: Lanes<L>,
}

/// What keeps the hours of a run.
pub trait Record<const L: usize> {
    /// Takes the hours in order, the first being 0.
    fn take(&mut self, hour: usize, demand: &Demand, moment: &Moment<L>);
}

/// The first hour in which the fluid of a design froze.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Freezing {
    hour: usize,
    leaving_fluid: f64,
    freezing_point: f64,
}

/// Steps `hours` hours of `L` designs with the same demands.
///
/// A design whose fluid freezes is told as such and goes on as
/// if the fluid stayed liquid.
///
/// # Errors
/// [`Error::Stopped`] when the watch says so.
#[multiversion(targets("x86_64+avx+avx2+fma"))]
pub fn step<const L: usize, G: GroundSide<L>, R: Record<L>>(
    ground_side: &mut G,
    heat_pump: &ReadyHeatPump<L>,
    course: &Course<L>,
    hours: usize,
    record: &mut R,
    watch: &Watch,
) -> Result<[Option<Freezing>; L], Error> {
    let mut frozen = [None; L];
    let mut plans = vec![Plan::unknown(); course.demands.len().min(hours)];
    let mut place = course.start;
    let (mut heat_before, mut expected_before) = (Lanes::default(), Lanes::default());
    let mut share = Lanes::all(0.25);
    for hour in 0..hours {
        if hour % HOURS_BETWEEN_LOOKS == 0 {
            watch.report(hour)?;
        }
        let demand = &course.demands[place];
        let plan = &mut plans[place];
        place = if place + 1 == course.demands.len() { 0 } else { place + 1 };

        let offer = ground_side.offer();
        let open_circuit = (-offer.carry).mul_add(heat_before, offer.settled);
        if demand.is_idle() {
            (heat_before, expected_before) = (Lanes::default(), Lanes::default());
            ground_side.commit(heat_before, open_circuit);
            record.take(
                hour,
                demand,
                &Moment { entering_fluid: open_circuit, leaving_fluid: open_circuit, ..Moment::default() },
            );
            continue;
        }
        let into_loop = Lanes::all(demand.recharge - demand.recovered);
        let warmed = |open_circuit| offer.resistance.mul_add(into_loop, open_circuit);
        // The expected heat of the hour before will do for the plan, which then need not wait for that hour's solution.
        let expected = Equation {
            resistance: offer.resistance,
            open_circuit: warmed((-offer.carry).mul_add(expected_before, offer.settled)),
        };
        let equation = Equation { resistance: offer.resistance, open_circuit: warmed(open_circuit) };
        let factor = plan.factor(offer.resistance);
        let step = plan.step_to_solution(&expected, factor);
        expected_before = plan.heat_extracted.at(step) - into_loop;
        let mut done = heat_pump.operate::<Lanes<L>>(plan.entering_fluid + step, demand);
        let correction = equation.missing(plan.entering_fluid + step, done.heat_extracted) * factor;
        done.heat_extracted = plan.heat_extracted.slope().mul_add(correction, done.heat_extracted);
        let is_solved = correction.abs().is_below(Lanes::all(LAST_CORRECTION));
        if is_solved != [true; L] {
            plan.renew(is_solved, &mut done, heat_pump, &equation, demand, &mut share);
            expected_before = expected_before.or_else(is_solved, done.heat_extracted - into_loop);
        }
        let heat = done.heat_extracted - into_loop;
        let entering_fluid = (-offer.resistance).mul_add(heat, open_circuit);
        let leaving_fluid = (-offer.kelvins_per_watt).mul_add(heat, entering_fluid);
        let freezes = leaving_fluid.is_below(course.freezing_point);
        if freezes != [false; L] {
            note_freezing(&mut frozen, freezes, hour, leaving_fluid, course.freezing_point);
        }
        heat_before = heat;
        ground_side.commit(heat, (entering_fluid + leaving_fluid) * 0.5);
        let mut pump_power = course.pump_power;
        if course.pump_stops != [false; L] && demand.recharge == 0.0 {
            let share = heat_pump.running_share(entering_fluid, demand);
            pump_power = pump_power.or_else(course.pump_stops.map(|stops| !stops), pump_power * share);
        }
        let moment = Moment {
            entering_fluid,
            leaving_fluid,
            heat_extracted: heat,
            electricity: done.heating - done.cooling - done.heat_extracted + pump_power,
            heating: done.heating,
            cooling: done.cooling,
        };
        record.take(hour, demand, &moment);
    }
    watch.report(hours)?;
    Ok(frozen)
}

/// entering fluid = open circuit - resistance x heat extracted(entering fluid).
#[derive(Clone, Copy)]
struct Equation<const L: usize> {
    resistance: Lanes<L>,
    open_circuit: Lanes<L>,
}

impl<const L: usize> Equation<L> {
    /// What an entering fluid temperature and the heat extracted there lack to solve the equation [K].
    #[inline(always)]
    fn missing(&self, entering_fluid: Lanes<L>, heat_extracted: Lanes<L>) -> Lanes<L> {
        self.open_circuit - self.resistance.mul_add(heat_extracted, entering_fluid)
    }
}

/// Heat extracted around the entering fluid temperature at which an hour of the loads was last solved.
///
/// When the hour comes again a year later its temperature has only drifted, and the polynomials tell the solution so well that the
/// curves need to be worked out but once, to correct it.
#[derive(Clone, Copy)]
struct Plan<const L: usize> {
    entering_fluid: Lanes<L>,
    heat_extracted: Taylor<L>,
}

impl<const L: usize> Plan<L> {
    fn unknown() -> Self {
        Self { entering_fluid: Lanes::all(UNKNOWN), heat_extracted: Taylor::default() }
    }

    /// Newton's factor: the step for each kelvin that is missing.
    #[inline(always)]
    fn factor(&self, resistance: Lanes<L>) -> Lanes<L> {
        resistance.mul_add(self.heat_extracted.slope(), Lanes::all(1.0)).recip()
    }

    /// The step [K] from the plan's temperature to the solution of an equation: Newton's step, inserted in the terms of higher degree.
    #[inline(always)]
    fn step_to_solution(&self, equation: &Equation<L>, factor: Lanes<L>) -> Lanes<L> {
        let Taylor([value, _, bend, twist]) = self.heat_extracted;
        let missing = equation.missing(self.entering_fluid, value);
        let (bend, twist) = (-equation.resistance * bend, -equation.resistance * twist);
        let newton = missing * factor;
        twist.mul_add(newton, bend).mul_add(newton * newton, missing) * factor
    }

    /// Solves the hour for the lanes that are not solved yet, and plans it anew around their solutions: by Newton's iteration with
    /// the heat pumps' curves, safeguarded by bisection. A lane never sees another.
    ///
    /// `share` is the electricity for each watt of demand, of the last hour solved so.
    #[inline(always)]
    fn renew(
        &mut self,
        mut is_solved: [bool; L],
        done: &mut Operation<Lanes<L>>,
        heat_pump: &ReadyHeatPump<L>,
        equation: &Equation<L>,
        demand: &Demand,
        share: &mut Lanes<L>,
    ) {
        let was_solved = is_solved;
        let asked = demand.heating + demand.cooling;
        let expected_heat = Lanes::all(demand.heating - demand.cooling) - *share * asked;
        let expected = (-equation.resistance).mul_add(expected_heat, equation.open_circuit);
        let is_known = self.entering_fluid.is_below(Lanes::all(UNKNOWN));
        let step = self.step_to_solution(equation, self.factor(equation.resistance));
        let start = (self.entering_fluid + step).or_else(is_known, expected);
        self.entering_fluid = self.entering_fluid.or_else(is_solved, start);
        for _ in 0..NEWTON_STEPS {
            let around = heat_pump.operate::<Taylor<L>>(self.entering_fluid, demand);
            self.heat_extracted = self.heat_extracted.or_else(is_solved, around.heat_extracted);
            let factor = self.factor(equation.resistance);
            let planned = self.entering_fluid + self.step_to_solution(equation, factor);
            let mut found = heat_pump.operate::<Lanes<L>>(planned, demand);
            let correction = equation.missing(planned, found.heat_extracted) * factor;
            found.heat_extracted = self.heat_extracted.slope().mul_add(correction, found.heat_extracted);
            done.keep(is_solved, &found);
            let is_found = correction.abs().is_below(Lanes::all(LAST_CORRECTION));
            (0..L).for_each(|lane| is_solved[lane] |= is_found[lane]);
            if is_solved == [true; L] {
                break;
            }
            self.entering_fluid = self.entering_fluid.or_else(is_solved, planned);
        }
        if is_solved != [true; L] {
            let solution = |lane: usize| bisect(&heat_pump.lane(lane), equation, lane, demand);
            let solutions = Lanes::each(|lane| if is_solved[lane] { 0.0 } else { solution(lane) });
            done.keep(is_solved, &heat_pump.operate::<Lanes<L>>(solutions, demand));
        }
        let found = (Lanes::all(demand.heating - demand.cooling) - done.heat_extracted) * (1.0 / asked);
        *share = share.or_else(was_solved, found);
    }
}

/// The same equation by bisection: slow, but it ends whatever the curves look like.
#[cold]
#[inline(never)]
fn bisect<const L: usize>(
    heat_pump: &ReadyHeatPump<1>,
    equation: &Equation<L>,
    lane: usize,
    demand: &Demand,
) -> f64 {
    let (resistance, open_circuit) = (equation.resistance.0[lane], equation.open_circuit.0[lane]);
    let excess = |entering: f64| {
        let heat = heat_pump.operate::<Lanes<1>>(Lanes([entering]), demand).heat_extracted.0[0];
        entering - open_circuit + resistance * heat
    };
    let mut reach = 1.0 + resistance * (demand.heating + demand.cooling);
    while excess(open_circuit - reach) > 0.0 || excess(open_circuit + reach) < 0.0 {
        reach *= 2.0;
    }
    let (mut low, mut high) = (open_circuit - reach, open_circuit + reach);
    for _ in 0..BISECTIONS {
        let middle = 0.5 * (low + high);
        if excess(middle) < 0.0 { low = middle } else { high = middle }
    }
    low
}

#[cold]
#[inline(never)]
fn note_freezing<const L: usize>(
    frozen: &mut [Option<Freezing>; L],
    freezes: [bool; L],
    hour: usize,
    leaving_fluid: Lanes<L>,
    freezing_point: Lanes<L>,
) {
    for lane in (0..L).filter(|&lane| freezes[lane]) {
        frozen[lane].get_or_insert(Freezing {
            hour,
            leaving_fluid: leaving_fluid.0[lane],
            freezing_point: freezing_point.0[lane],
        });
    }
}

impl From<Freezing> for Error {
    fn from(freezing: Freezing) -> Self {
        let (year, of_year) = (freezing.hour / HOURS_PER_YEAR + 1, freezing.hour % HOURS_PER_YEAR);
        let leaving = freezing.leaving_fluid;
        let allowed = format!(
            "must be below the fluid that leaves the heat pump, {leaving:.2} degC in year {year}, hour {of_year}: more \
             antifreeze, more length of bore or more flow"
        );
        Self::invalid("Fluid", "freezing_point", freezing.freezing_point, "degC", allowed)
    }
}
