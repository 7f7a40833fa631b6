//! A well made ready for runs, and while its run steps.

use std::f64::consts::SQRT_2;

use super::Well;
use super::pair::{breakthrough, weights};
use crate::abreast::OneByOne;
use crate::error::Error;
use crate::fluid::{Fluid, FluidState};
use crate::ground::Ground;
use crate::ground_side::conduction::{Bend, ResistanceTable, RunError, TablesAbreast};
use crate::ground_side::fresh_water::{GRAVITY, HEAT_CAPACITY};
use crate::ground_side::years::{Column, by_year, greatest, hours, least};
use crate::ground_side::{Found, GroundSide, Offer};
use crate::heat_pump::Tangent;
use crate::history::{HOUR, Superposition, TabulatedResponse};
use crate::hourly::Hourly;
use crate::judgement::{Bound, Criterion, FREEZING_WATER, Quality};
use crate::yearly::Year;

/// Least hours of pumping after which what was returned is added up, and the most of such intervals in a run.
const LEAST_INTERVAL: usize = 24;
const MOST_INTERVALS: usize = 4096;

/// Freezing point from which on a fluid is taken to be water [degC].
const WATER_FREEZES: f64 = -0.1;

/// A well with all that can be known before the first hour.
#[derive(Debug, Clone)]
pub struct ReadyWell {
    well: Well,
    /// Flow of the well while it pumps [kg/s].
    flow: f64,
    /// Time of steady pumping after which the first of the returned heat arrives, over an hour; `None` without a return well.
    arrival: Option<f64>,
    /// Resistance of the exchanger between the well's water and the mean fluid, and kelvins per watt [K/W].
    resistances: ResistanceTable,
    /// By what the return well acts on the run.
    returned: Returned,
}

/// What was returned, by intervals of pumping.
#[derive(Debug, Clone, PartialEq)]
struct Returned {
    /// Hours of pumping in an interval.
    interval: usize,
    /// Weights of the intervals, that of the oldest first; none without a return well.
    weights: Vec<f64>,
}

impl Returned {
    /// Intervals of so many hours in a run of `hours` hours, for an `arrival` after so many hours of pumping.
    fn new(interval: usize, hours: usize, arrival: Option<f64>) -> Self {
        let weights = arrival.map_or_else(Vec::new, |arrival| {
            let mut weights = weights(arrival / interval as f64, hours / interval);
            weights.reverse();
            weights
        });
        Self { interval, weights }
    }
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
        let to_mean_fluid = |state: &FluidState| {
            let of_loop = flow * state.heat_capacity;
            let exchanger = |effectiveness: f64| {
                // Heat = effectiveness x the smaller flow x (well - leaving fluid).
                1.0 / (effectiveness * of_loop.min(pumped * HEAT_CAPACITY)) - 0.5 / of_loop
            };
            // Without an exchanger the well's water is the entering fluid.
            well.effectiveness.map_or(0.5 / of_loop, exchanger)
        };
        let arrival = well.return_distance.map(|distance| {
            breakthrough(pumped, distance, well.aquifer.thickness, ground.volumetric_heat_capacity) / HOUR
        });
        let interval = LEAST_INTERVAL.max(hours.div_ceil(MOST_INTERVALS));
        let returned = Returned::new(interval, hours, arrival);
        let resistances = ResistanceTable::new(
            fluid,
            flow,
            |_| Vec::new(),
            |states| Ok(states.iter().map(to_mean_fluid).collect()),
        )?;
        Ok(Self { well: well.clone(), flow: pumped, arrival, resistances, returned })
    }

    /// The well before any heat was drawn, for a run of `hours` hours.
    #[must_use]
    pub fn at_rest(&self, hours: usize) -> WellMemory<'_> {
        WellMemory {
            well: self,
            water: Water::at_rest(self, &self.returned),
            resistances: TablesAbreast::new(OneByOne, &[&self.resistances]),
            given: Vec::with_capacity(hours),
            discharged: Vec::with_capacity(hours),
        }
    }

    /// The fall of the level with each hour's pumping, ready for a run of `hours` hours (Theis, with recovery).
    #[must_use]
    pub fn level(&self, hours: usize) -> Superposition {
        let ln_hours: Vec<f64> = (1..=hours).map(|hour| (hour as f64).ln()).collect();
        let fall = TabulatedResponse::new(hours, |time| self.well.drawdown(self.flow, time));
        Superposition::new(hours, [fall.hourly(&ln_hours)])
    }

    /// What it costs the well's water [K] that it keeps one temperature for an interval of pumping, from the difference that intervals
    /// twice as long make. The cost is largest at breakthrough, where the share of what arrives rises with the root of time: twice
    /// the interval costs the root of two times as much.
    fn lost_by_intervals(&self, heat: &[f64], given: &[f64]) -> f64 {
        self.apart_from_intervals(2 * self.returned.interval, heat, given) / (SQRT_2 - 1.0)
    }

    /// Largest difference between the well's water [degC] and what intervals of so many hours make of the same heat [W] [K].
    pub(super) fn apart_from_intervals(&self, interval: usize, heat: &[f64], given: &[f64]) -> f64 {
        let returned = Returned::new(interval, heat.len(), self.arrival);
        let mut water = Water::at_rest(self, &returned);
        let mut apart = 0.0;
        for (heat, given) in heat.iter().zip(given) {
            apart = f64::max(apart, (water.temperature - given).abs());
            water.take(*heat);
        }
        apart
    }

    /// Fall of the discharged water's temperature with each watt [K/W].
    fn fall(&self) -> f64 {
        1.0 / (self.flow * HEAT_CAPACITY)
    }
}

/// The well's water. It keeps one temperature for an interval of pumping: the aquifer's, and the mean over all streamlines of what
/// was returned when the water that arrives now left the return well.
#[derive(Debug, Clone)]
struct Water<'a> {
    aquifer: f64,
    /// Fall of the discharged water's temperature with each watt [K/W].
    fall: f64,
    by: &'a Returned,
    /// Of the water that the well gives [degC].
    temperature: f64,
    /// Returned water less the aquifer's, the mean of each interval of pumping [K].
    returned: Vec<f64>,
    /// Hours of pumping in the interval that is not over, and their sum of the same [K].
    hours: usize,
    sum: f64,
}

impl<'a> Water<'a> {
    fn at_rest(ready: &ReadyWell, by: &'a Returned) -> Self {
        let aquifer = ready.well.aquifer.temperature;
        let returned = Vec::with_capacity(by.weights.len());
        Self { aquifer, fall: ready.fall(), by, temperature: aquifer, returned, hours: 0, sum: 0.0 }
    }

    /// Ends an hour with a heat [W]: the well pumps through every hour that has any.
    #[inline(always)]
    fn take(&mut self, heat: f64) {
        if heat == 0.0 {
            return;
        }
        self.hours += 1;
        self.sum += self.temperature - self.aquifer - heat * self.fall;
        if self.hours == self.by.interval {
            self.renew();
        }
    }

    /// Ends an interval.
    #[inline(never)]
    fn renew(&mut self) {
        let weights = &self.by.weights;
        if self.returned.len() < weights.len() {
            self.returned.push(self.sum / self.hours as f64);
        }
        (self.hours, self.sum) = (0, 0.0);
        self.temperature =
            self.aquifer + dot(&weights[weights.len() - self.returned.len()..], &self.returned);
    }
}

/// A well while its run steps, and what it tells of the hours.
#[derive(Debug, Clone)]
pub struct WellMemory<'a> {
    well: &'a ReadyWell,
    water: Water<'a>,
    resistances: TablesAbreast<'a, OneByOne>,
    /// Temperature of the water that the well gives in each hour, and of what is discharged [degC].
    given: Vec<f64>,
    discharged: Vec<f64>,
}

impl WellMemory<'_> {
    /// What the run found of the well; the electricity of its pump goes on top of that in hours and years.
    #[must_use]
    pub fn found(self, level: Superposition, hourly: &mut Hourly, years: &mut [Year]) -> Found {
        let Self { well: ready, given, discharged, .. } = self;
        let heat = &hourly.heat_extracted;
        let steps = ready.lost_by_intervals(heat, &given);
        let pumping: Vec<f64> = heat.iter().map(|&heat| f64::from(u8::from(heat != 0.0))).collect();
        let drawdown = level.of(&pumping).swap_remove(0);
        let head_power = GRAVITY * ready.flow / ready.well.pump_efficiency;
        let power = |(&pumps, &fall): (&f64, &f64)| pumps * head_power * (ready.well.lift + fall).max(0.0);
        let pump: Vec<f64> = pumping.iter().zip(&drawdown).map(power).collect();
        for (electricity, pump) in hourly.electricity.iter_mut().zip(&pump) {
            *electricity += pump;
        }
        let kwh = by_year(pump.len(), |year| pump[year].iter().sum::<f64>() / 1000.0);
        for (year, kwh) in years.iter_mut().zip(&kwh) {
            year.electricity_kwh += kwh;
        }
        let mut yearly = vec![("electricity_well_kWh", kwh)];
        yearly.extend(ready.years(&pumping, &given, &discharged, &drawdown));
        let criteria = ready.criteria(&pumping, &discharged, &drawdown);
        let beside =
            vec![("discharge_degC", discharged), ("drawdown_m", drawdown), ("electricity_well_W", pump)];
        Found { wall: given, error: RunError { steps, ..RunError::NONE }, beside, yearly, criteria }
    }
}

impl ReadyWell {
    /// What a run is judged by: the discharge in the hours in which the well pumps, and the level where that has a limit.
    fn criteria(&self, pumping: &[f64], discharged: &[f64], drawdown: &[f64]) -> Vec<Criterion> {
        let Well { lowest_discharge, available_drawdown, .. } = self.well;
        let discharge = |name, least| {
            let pumps = |hour: usize| pumping[hour] > 0.0;
            Criterion::of_hours(name, true, Quality::Temperature, Bound::AtLeast(least), discharged, pumps)
        };
        let level = available_drawdown.and_then(|most| {
            let always = |_| true;
            let bound = Bound::AtMost(most);
            Criterion::of_hours("available_drawdown", true, Quality::Length, bound, drawdown, always)
        });
        let discharge = [
            discharge("lowest_discharge", lowest_discharge),
            discharge("discharge_freezing", FREEZING_WATER),
        ];
        discharge.into_iter().chain([level]).flatten().collect()
    }

    /// Columns of the yearly table; those of water are of the hours in which the well pumps.
    fn years(&self, pumping: &[f64], given: &[f64], discharged: &[f64], drawdown: &[f64]) -> Vec<Column> {
        let Well { aquifer, lowest_discharge, .. } = self.well;
        let of_pumping = |series: &[f64], of: &(dyn Fn(&mut dyn Iterator<Item = f64>) -> f64 + Sync)| {
            by_year(series.len(), |year| {
                let hours = pumping[year.clone()].iter().zip(&series[year]);
                of(&mut hours.filter(|(pumps, _)| **pumps > 0.0).map(|(_, value)| *value))
            })
        };
        let moved = |given: f64| given != aquifer.temperature;
        vec![
            ("drawdown_max_m", by_year(drawdown.len(), |year| greatest(drawdown[year].iter().copied()))),
            ("well_water_min_degC", of_pumping(given, &|water| least(water))),
            ("well_water_max_degC", of_pumping(given, &|water| greatest(water))),
            ("discharge_min_degC", of_pumping(discharged, &|water| least(water))),
            ("discharge_max_degC", of_pumping(discharged, &|water| greatest(water))),
            (
                "hours_discharge_too_cold",
                of_pumping(discharged, &|water| hours(water, |water| water < lowest_discharge)),
            ),
            ("hours_after_breakthrough", of_pumping(given, &|water| hours(water, moved))),
        ]
    }
}

impl GroundSide<OneByOne, 1> for WellMemory<'_> {
    #[inline(always)]
    fn offer(&mut self) -> Offer<f64, 1> {
        Offer { settled: [self.water.temperature], answers: [0.0] }
    }

    #[inline(always)]
    fn resistance(&self, mean_fluid: f64) -> Tangent<f64> {
        self.resistances.resistance(mean_fluid)
    }

    #[inline(always)]
    fn kelvins_per_watt(&self, mean_fluid: f64) -> Tangent<f64> {
        self.resistances.kelvins_per_watt(mean_fluid)
    }

    #[inline(always)]
    fn bends(&self) -> &[Bend<f64>] {
        &[]
    }

    #[inline(always)]
    fn commit(&mut self, heat_extracted: &[f64; 1]) {
        let heat = heat_extracted[0];
        self.given.push(self.water.temperature);
        self.discharged.push(self.water.temperature - heat * self.water.fall);
        self.water.take(heat);
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
