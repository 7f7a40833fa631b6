//! The hourly loop: asks the ground side, solves the heat pump, commits the heat.

use multiversion::multiversion;

use crate::error::Error;
use crate::ground_side::{GroundSide, Offer};
use crate::heat_pump::{Demand, Hour, Operation, ReadyHeatPump};
use crate::hourly::Hourly;
use crate::loads::HOURS_PER_YEAR;
use crate::watch::Watch;

/// Hours between two looks at the watch: about a month.
const HOURS_BETWEEN_LOOKS: usize = 730;

/// A step of the entering fluid temperature [K] below which the hour is solved once it is taken along the slopes: what remains is of second order, below 1e-7 K.
const SMALL_STEP: f64 = 2e-3;

/// A step [K] that ends Newton's iteration wherever the curves bend.
const LAST_STEP: f64 = 1e-9;

/// Newton steps before the hour is solved by bisection instead.
const NEWTON_STEPS: usize = 12;

/// Halvings that take any bracket of temperatures to the last bit.
const BISECTIONS: usize = 200;

/// What the building asks for and what circulation costs, hour by hour.
pub struct Course<'a> {
    /// Demand of each hour of the loads, which repeat until the run ends.
    pub demands: &'a [Demand],
    /// First hour of the run within `demands`.
    pub start: usize,
    /// Power of the circulation pump in hours with demand [W].
    pub pump_power: f64,
    /// Temperature at which the fluid freezes [degC].
    pub freezing_point: f64,
}

/// Steps `hourly` from its first hour to its last.
///
/// In hours with demand the circulation pump runs all through the hour.
///
/// # Errors
/// [`Error::Stopped`] when the watch says so; [`Error::InvalidInput`] when the fluid that leaves the heat pump freezes.
#[multiversion(targets("x86_64+avx+avx2+fma"))]
pub fn step<G: GroundSide>(
    ground_side: &mut G,
    heat_pump: &ReadyHeatPump,
    course: &Course,
    hourly: &mut Hourly,
    watch: &Watch,
) -> Result<(), Error> {
    let hours = hourly.len();
    // Slices of one length that is known here: no bounds are checked below.
    let [
        entering_fluid,
        leaving_fluid,
        wall,
        heat_extracted,
        electricity,
        heating_shortfall,
        cooling_shortfall,
    ] = hourly.series_mut().map(|series| &mut series[..hours]);
    let mut place = course.start;
    let mut expected = Expectation { entering: 0.0, share: 0.25, slope: 0.0 };
    for hour in 0..hours {
        if hour % HOURS_BETWEEN_LOOKS == 0 {
            watch.report(hour)?;
        }
        let demand = course.demands[place];
        place = if place + 1 == course.demands.len() { 0 } else { place + 1 };

        let offer = ground_side.offer();
        if demand == Demand::default() {
            let state = ground_side.commit(0.0);
            (entering_fluid[hour], leaving_fluid[hour], wall[hour]) = (state.fluid, state.fluid, state.wall);
            continue;
        }
        let done = solve(heat_pump, &offer, &demand, &mut expected);
        let heat = done.heat_extracted();
        let entering = offer.open_circuit - offer.resistance * heat;
        let leaving = entering - heat * offer.kelvins_per_watt;
        if leaving < course.freezing_point {
            return Err(frozen(hour, leaving, course.freezing_point));
        }
        let state = ground_side.commit(heat);
        entering_fluid[hour] = entering;
        leaving_fluid[hour] = leaving;
        wall[hour] = state.wall;
        heat_extracted[hour] = heat;
        electricity[hour] = done.electricity + course.pump_power;
        heating_shortfall[hour] = demand.heating - done.heating;
        cooling_shortfall[hour] = demand.cooling - done.cooling;
    }
    watch.report(hours)
}

/// Electricity for each watt of demand, along a straight line over the entering fluid temperature.
///
/// It comes from the hour before and tells the solution of the next within millikelvins.
struct Expectation {
    entering: f64,
    share: f64,
    slope: f64,
}

/// Solves entering fluid temperature = open circuit - resistance x heat extracted(entering fluid temperature).
///
/// The line of the hour before gives a first guess so good that one Newton step, of which the slopes carry the last part, nearly
/// always ends the hour; where it does not, the iteration goes on, safeguarded by bisection.
#[inline(always)]
fn solve(heat_pump: &ReadyHeatPump, offer: &Offer, demand: &Demand, expected: &mut Expectation) -> Hour {
    let entering = expected.solve(offer, demand);
    let operation = heat_pump.operate(entering, demand);
    let step = newton_step(offer, entering, &operation);
    let is_solved = step.abs() < SMALL_STEP && heat_pump.is_smooth(&operation, entering, step, demand);
    let (operation, step) = if is_solved {
        (operation, step)
    } else {
        match iterate(heat_pump, offer, demand, entering + step) {
            Some(solution) => solution,
            None => return bisect(heat_pump, offer, demand),
        }
    };
    expected.learn(entering, &operation, demand);
    operation.at_shifted(step, demand)
}

impl Expectation {
    /// The entering fluid temperature [degC] if the line were true.
    #[inline(always)]
    fn solve(&self, offer: &Offer, demand: &Demand) -> f64 {
        let asked = demand.heating + demand.cooling;
        let at_zero = demand.heating - demand.cooling - asked * (self.share - self.slope * self.entering);
        // The factor is known before the open-circuit temperature is, so that no division waits for that.
        let factor = 1.0 / (1.0 - offer.resistance * asked * self.slope);
        (offer.open_circuit - offer.resistance * at_zero) * factor
    }

    /// Takes the line from an operation found at `entering` [degC].
    #[inline(always)]
    fn learn(&mut self, entering: f64, operation: &Operation, demand: &Demand) {
        let (electricity, per_watt) = (operation.electricity(), 1.0 / (demand.heating + demand.cooling));
        *self = Self { entering, share: electricity.value * per_watt, slope: electricity.slope * per_watt };
    }
}

#[inline(always)]
fn newton_step(offer: &Offer, entering: f64, operation: &Operation) -> f64 {
    let heat = operation.heat_extracted();
    let surplus = (-offer.resistance).mul_add(heat.value, offer.open_circuit - entering);
    surplus / offer.resistance.mul_add(heat.slope, 1.0)
}

/// Newton's iteration: the operation at the solution and the last small step, if it converges.
fn iterate(
    heat_pump: &ReadyHeatPump,
    offer: &Offer,
    demand: &Demand,
    mut entering: f64,
) -> Option<(Operation, f64)> {
    for _ in 0..NEWTON_STEPS {
        let operation = heat_pump.operate(entering, demand);
        let step = newton_step(offer, entering, &operation);
        if step.abs() < LAST_STEP {
            return Some((operation, step));
        }
        entering += step;
    }
    None
}

/// The same equation by bisection: slow, but it ends whatever the curves look like.
#[cold]
fn bisect(heat_pump: &ReadyHeatPump, offer: &Offer, demand: &Demand) -> Hour {
    let excess = |entering: f64| {
        let heat = heat_pump.operate(entering, demand).heat_extracted().value;
        entering - offer.open_circuit + offer.resistance * heat
    };
    let mut reach = 1.0 + offer.resistance * (demand.heating + demand.cooling);
    while excess(offer.open_circuit - reach) > 0.0 || excess(offer.open_circuit + reach) < 0.0 {
        reach *= 2.0;
    }
    let (mut low, mut high) = (offer.open_circuit - reach, offer.open_circuit + reach);
    for _ in 0..BISECTIONS {
        let middle = 0.5 * (low + high);
        if excess(middle) < 0.0 { low = middle } else { high = middle }
    }
    heat_pump.operate(low, demand).at_shifted(0.0, demand)
}

#[cold]
fn frozen(hour: usize, leaving: f64, freezing_point: f64) -> Error {
    let (year, of_year) = (hour / HOURS_PER_YEAR + 1, hour % HOURS_PER_YEAR);
    let allowed = format!(
        "must be below the fluid that leaves the heat pump, {leaving:.2} degC in year {year}, hour {of_year}: more antifreeze, \
         more length of bore or more flow"
    );
    Error::invalid("Fluid", "freezing_point", freezing_point, "degC", allowed)
}
