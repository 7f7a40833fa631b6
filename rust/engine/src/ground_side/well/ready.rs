//! A well made ready for runs, and while its run steps.

use super::Well;
use super::pair::{breakthrough, weights};
use crate::error::Error;
use crate::fluid::Fluid;
use crate::ground::Ground;
use crate::ground_side::conduction::{ResistanceTable, RunError};
use crate::ground_side::fresh_water::{GRAVITY, HEAT_CAPACITY};
use crate::ground_side::{Found, GroundSide, Offer};
use crate::history::{HOUR, Superposition, TabulatedResponse};
use crate::hourly::Hourly;
use crate::hours::Hours;
use crate::lanes::Lanes;

/// Least hours of pumping after which what was returned is added up, and the most of such intervals in a run.
const LEAST_INTERVAL: usize = 24;
const MOST_INTERVALS: usize = 4096;

/// Freezing point from which on a fluid is taken to be water [degC].
const WATER_FREEZES: f64 = -0.1;

/// Step of the table of the loop's flow [K].
const TEMPERATURE_STEP: f64 = 1.0;

/// A well with all that can be known before the first hour.
#[derive(Debug, Clone)]
pub struct ReadyWell {
    well: Well,
    /// Flow of the well while it pumps [kg/s].
    flow: f64,
    /// Resistance of the exchanger between the well's water and the fluid that enters the heat pump, and kelvins per watt [K/W].
    resistances: ResistanceTable,
    /// Hours of pumping in an interval.
    interval: usize,
    /// Weights of what was returned, those of the oldest interval first; none without a return well.
    weights: Vec<f64>,
}

impl ReadyWell {
    /// Makes a well ready for runs of `hours` hours with a mass `flow` of the loop [kg/s].
    ///
    /// # Errors
    /// [`Error::InvalidInput`] if the well gives less than the plant needs, or what goes through it is no water.
    pub fn new(well: &Well, ground: &Ground, fluid: &Fluid, flow: f64, hours: usize) -> Result<Self, Error> {
        if well.effectiveness.is_none() && fluid.freezing_point < WATER_FREEZES {
            let allowed =
                "must be that of water, 0 degC, where the well's own water goes through the heat pump";
            return Err(Error::invalid("Fluid", "freezing_point", fluid.freezing_point, "degC", allowed));
        }
        let pumped = well.flow.unwrap_or(flow);
        well.check_yield("flow", pumped)?;
        let [first, last] = fluid.temperatures();
        let steps = ((last - first) / TEMPERATURE_STEP).ceil().max(1.0) as usize;
        let row = |row: usize| {
            let of_loop = flow * fluid.at(first + row as f64 * TEMPERATURE_STEP).heat_capacity;
            let exchanger = |effectiveness: f64| {
                // Heat = effectiveness x the smaller flow x (well - leaving fluid).
                1.0 / (effectiveness * of_loop.min(pumped * HEAT_CAPACITY)) - 1.0 / of_loop
            };
            [well.effectiveness.map_or(0.0, exchanger), 1.0 / of_loop]
        };
        let rows: Vec<_> = (0..=steps).map(row).collect();
        let interval = LEAST_INTERVAL.max(hours.div_ceil(MOST_INTERVALS));
        let weights = well.return_distance.map_or_else(Vec::new, |distance| {
            let capacity = ground.volumetric_heat_capacity;
            let arrival = breakthrough(pumped, distance, well.aquifer.thickness, capacity);
            let mut weights = weights(arrival / (interval as f64 * HOUR), hours / interval);
            weights.reverse();
            weights
        });
        let resistances = ResistanceTable::new(first, TEMPERATURE_STEP, &rows);
        Ok(Self { well: well.clone(), flow: pumped, resistances, interval, weights })
    }

    /// The well before any heat was drawn.
    #[must_use]
    pub fn at_rest(&self) -> WellMemory<'_> {
        let temperature = self.well.aquifer.temperature;
        WellMemory {
            well: self,
            temperature,
            returned: Vec::with_capacity(self.weights.len()),
            hours: 0,
            sum: 0.0,
            fluid: temperature,
        }
    }

    /// Fall of the discharged water's temperature with each watt [K/W].
    fn fall(&self) -> f64 {
        1.0 / (self.flow * HEAT_CAPACITY)
    }
}

/// A well while its run steps. It pumps through every hour with heat.
///
/// Its water keeps one temperature for an interval of pumping: the aquifer's, and the mean over all streamlines of what was returned
/// when the water that arrives now left the return well.
#[derive(Debug, Clone)]
pub struct WellMemory<'a> {
    well: &'a ReadyWell,
    /// Of the water that the well gives [degC].
    temperature: f64,
    /// Returned water less the aquifer's, the mean of each interval of pumping [K].
    returned: Vec<f64>,
    /// Hours of pumping in the interval that is not over, and their sum of the same [K].
    hours: usize,
    sum: f64,
    fluid: f64,
}

impl WellMemory<'_> {
    /// Ends an interval.
    #[inline(never)]
    fn renew(&mut self) {
        let ReadyWell { well, weights, .. } = self.well;
        if self.returned.len() < weights.len() {
            self.returned.push(self.sum / self.hours as f64);
        }
        (self.hours, self.sum) = (0, 0.0);
        let known = &weights[weights.len() - self.returned.len()..];
        self.temperature = well.aquifer.temperature + dot(known, &self.returned);
    }
}

impl GroundSide<1, 1> for WellMemory<'_> {
    #[inline(always)]
    fn offer(&mut self) -> Offer<1, 1> {
        let (resistance, kelvins_per_watt) = self.well.resistances.at(self.fluid);
        Offer {
            settled: Hours([Lanes([self.temperature])]),
            answers: [Lanes([resistance])],
            kelvins_per_watt: Lanes([kelvins_per_watt]),
        }
    }

    #[inline(always)]
    fn commit(&mut self, heat_extracted: &Hours<1, 1>, mean_fluid: &Hours<1, 1>) {
        let Hours([Lanes([heat_extracted])]) = *heat_extracted;
        self.fluid = mean_fluid[0].0[0];
        if heat_extracted == 0.0 {
            return;
        }
        self.hours += 1;
        self.sum += self.temperature - self.well.well.aquifer.temperature - heat_extracted * self.well.fall();
        if self.hours == self.well.interval {
            self.renew();
        }
    }
}

/// Numbers added side by side: the order is the same on every processor.
const SIDE_BY_SIDE: usize = 8;

/// Sum of the products.
fn dot(a: &[f64], b: &[f64]) -> f64 {
    let mut sums = [0.0; SIDE_BY_SIDE];
    let (a, rest_of_a) = a.as_chunks::<SIDE_BY_SIDE>();
    let (b, rest_of_b) = b.as_chunks::<SIDE_BY_SIDE>();
    for (a, b) in a.iter().zip(b) {
        for lane in 0..SIDE_BY_SIDE {
            sums[lane] += a[lane] * b[lane];
        }
    }
    sums.into_iter().chain(rest_of_a.iter().zip(rest_of_b).map(|(a, b)| a * b)).sum()
}

/// The water level in a well, made ready before the pumping is known.
pub struct WellCheck<'a> {
    ready: &'a ReadyWell,
    level: Superposition,
}

impl<'a> WellCheck<'a> {
    /// Makes the fall of the level ready for a run of `hours` hours.
    #[must_use]
    pub fn new(ready: &'a ReadyWell, hours: usize) -> Self {
        let ln_hours: Vec<f64> = (1..=hours).map(|hour| (hour as f64).ln()).collect();
        let fall = TabulatedResponse::new(hours, |time| ready.well.drawdown(ready.flow, time));
        Self { ready, level: Superposition::new(hours, [fall.hourly(&ln_hours)]) }
    }

    /// The temperature of the well's water in each hour, and what else the well has to tell.
    ///
    /// The level is that of all hours with pumping superposed (Theis, with recovery).
    #[must_use]
    pub fn found(self, hourly: &Hourly) -> Found {
        let ReadyWell { well, flow, .. } = self.ready;
        let pumping: Vec<f64> =
            hourly.heat_extracted.iter().map(|&heat| f64::from(u8::from(heat != 0.0))).collect();
        let mut memory = self.ready.at_rest();
        let (mut given, mut discharged) =
            (Vec::with_capacity(hourly.len()), Vec::with_capacity(hourly.len()));
        for (hour, &heat) in hourly.heat_extracted.iter().enumerate() {
            given.push(memory.temperature);
            discharged.push(memory.temperature - heat * self.ready.fall());
            let mean_fluid = 0.5 * (hourly.entering_fluid[hour] + hourly.leaving_fluid[hour]);
            memory.commit(&Hours([Lanes([heat])]), &Hours([Lanes([mean_fluid])]));
        }
        let drawdown = self.level.of(&pumping).swap_remove(0);
        let head_power = GRAVITY * flow / well.pump_efficiency;
        let power = |(&pumps, &fall): (&f64, &f64)| pumps * head_power * (well.lift + fall).max(0.0);
        let pump = pumping.iter().zip(&drawdown).map(power).collect();
        let beside =
            vec![("discharge_degC", discharged), ("drawdown_m", drawdown), ("electricity_well_W", pump)];
        Found { wall: given, error: RunError::NONE, beside }
    }
}
