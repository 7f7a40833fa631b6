//! Prepares a well for runs, and its state while a run steps.

use std::f64::consts::SQRT_2;
use std::ops::Range;

use super::Well;
use super::pair::{breakthrough, weights};
use crate::error::Error;
use crate::fluid::{Fluid, FluidState};
use crate::ground::Ground;
use crate::ground_side::conduction::{Bend, ResistanceTable, RunError, TableLanes};
use crate::ground_side::fresh_water::{DENSITY, GRAVITY, HEAT_CAPACITY};
use crate::ground_side::years::{Column, by_year, greatest, hours, least};
use crate::ground_side::{Found, GroundSide, Offer};
use crate::heat_pump::{Number, Tangent};
use crate::history::{HOUR, Superposition, TabulatedResponse};
use crate::hourly::Hourly;
use crate::judgement::{Bound, Criterion, FREEZING_WATER, Quality};
use crate::lane_layout::OneByOne;
use crate::yearly::RunYear;

/// Fewest hours of pumping over which the returned water is averaged, and the most of such intervals in a run.
const LEAST_INTERVAL: usize = 24;
const MOST_INTERVALS: usize = 4096;

/// Freezing point above which a fluid is treated as water [degC].
const WATER_FREEZES: f64 = -0.1;

/// Error of the fluid due to the running share of a pump [K] above which an hour is solved again, and the most
/// repetitions.
const SHARE_TOLERANCE: f64 = 1e-7;
const MOST_REFINEMENTS: usize = 40;

/// A well with everything that can be computed before the first hour.
#[derive(Debug, Clone)]
pub struct ReadyWell {
    well: Well,
    /// Flow of the well while it pumps [kg/s].
    flow: f64,
    /// Time of steady pumping until returned heat first arrives, in hours; `None` without a return well.
    arrival: Option<f64>,
    /// Resistance of the exchanger between the well's water and the mean fluid, and kelvins per watt [K/W].
    resistances: ResistanceTable,
    /// Effect of the return well on the run.
    returned: Returned,
}

/// Returned water by intervals of pumping.
#[derive(Debug, Clone, PartialEq)]
struct Returned {
    /// Hours of pumping in an interval.
    interval: usize,
    /// Weights of the intervals, the oldest first; empty without a return well.
    weights: Vec<f64>,
}

impl Returned {
    /// Intervals of a number of hours in a run of `hours` hours, for an `arrival` in hours of pumping.
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
    /// Prepares a well for runs of `hours` hours with a mass `flow` of the loop [kg/s].
    ///
    /// # Errors
    /// [`Error::InvalidInput`] if the well yields less than the plant needs, or its water can't be the loop's fluid.
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
                // Heat = effectiveness x the smaller capacity flow x (well - leaving fluid).
                1.0 / (effectiveness * of_loop.min(pumped * HEAT_CAPACITY)) - 0.5 / of_loop
            };
            // Without an exchanger the well water is the entering fluid.
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

    /// The well before any heat is extracted, for a run of `hours` hours.
    #[must_use]
    pub fn at_rest(&self, hours: usize) -> WellMemory<'_> {
        WellMemory {
            well: self,
            water: WellWater::at_rest(self, &self.returned),
            resistances: TableLanes::new(OneByOne, &[&self.resistances]),
            pumping: Pumping::THROUGHOUT,
            lost_by_shares: 0.0,
            shares: Vec::with_capacity(hours),
            given: Vec::with_capacity(hours),
            discharged: Vec::with_capacity(hours),
        }
    }

    /// Drawdown due to each hour's pumping, prepared for a run of `hours` hours (Theis, with recovery).
    #[must_use]
    pub fn level(&self, hours: usize) -> Superposition {
        let ln_hours: Vec<f64> = (1..=hours).map(|hour| (hour as f64).ln()).collect();
        let fall = TabulatedResponse::new(hours, |time| self.well.drawdown(self.flow, time));
        Superposition::new(hours, [fall.hourly(&ln_hours)])
    }

    /// Error of the well water [K] due to its constant temperature within an interval of pumping, from the difference
    /// made by intervals twice as long. It is largest at breakthrough, where the arriving share rises with the root of
    /// time: doubling the interval multiplies the error by the root of two.
    fn lost_by_intervals(&self, heat: &[f64], shares: &[f64], given: &[f64]) -> f64 {
        self.apart_from_intervals(2 * self.returned.interval, heat, shares, given) / (SQRT_2 - 1.0)
    }

    /// Largest difference between the well water [degC] and that with intervals of another length for the same heat [W]
    /// and the same shares of pumping [K].
    pub(super) fn apart_from_intervals(
        &self,
        interval: usize,
        heat: &[f64],
        shares: &[f64],
        given: &[f64],
    ) -> f64 {
        let returned = Returned::new(interval, heat.len(), self.arrival);
        let mut water = WellWater::at_rest(self, &returned);
        let mut apart = 0.0;
        for ((heat, share), given) in heat.iter().zip(shares).zip(given) {
            apart = f64::max(apart, (water.temperature - given).abs());
            water.take(*heat, *share);
        }
        apart
    }

    /// Additional drawdown at the end of an hour's pumping when the well pumps for a share of it, compared with the
    /// hour's mean flow [m].
    fn local_drawdown(&self, share: f64) -> f64 {
        let drawdown = |hours: f64| self.well.drawdown(self.flow, HOUR * hours);
        if share > 0.0 && share < 1.0 { drawdown(share) - share * drawdown(1.0) } else { 0.0 }
    }

    /// Fall of the discharge temperature per watt while the well pumps [K/W].
    fn fall(&self) -> f64 {
        1.0 / (self.flow * HEAT_CAPACITY)
    }
}

/// The well water. Its temperature is constant within an interval of pumping: that of the aquifer, plus the mean over
/// all streamlines of the returned water at the time when the water that arrives now left the return well.
#[derive(Debug, Clone)]
struct WellWater<'a> {
    aquifer: f64,
    /// Fall of the discharge temperature per watt while the well pumps [K/W].
    fall: f64,
    by: &'a Returned,
    /// Present temperature of the well water [degC].
    temperature: f64,
    /// Returned water minus the aquifer's temperature, averaged over each interval of pumping [K].
    returned: Vec<f64>,
    /// Hours of pumping in the current interval, and the sum of that difference over them [K h].
    hours: f64,
    sum: f64,
}

impl<'a> WellWater<'a> {
    fn at_rest(ready: &ReadyWell, by: &'a Returned) -> Self {
        let aquifer = ready.well.aquifer.temperature;
        let returned = Vec::with_capacity(by.weights.len());
        Self { aquifer, fall: ready.fall(), by, temperature: aquifer, returned, hours: 0.0, sum: 0.0 }
    }

    /// Ends an hour with a mean heat [W] and a share of pumping.
    #[inline(always)]
    fn take(&mut self, heat: f64, share: f64) {
        if share == 0.0 {
            return;
        }
        let returned = self.temperature - self.aquifer - heat * self.fall / share;
        let until_end = self.by.interval as f64 - self.hours;
        if share < until_end {
            self.hours += share;
            self.sum = returned.mul_add(share, self.sum);
            return;
        }
        self.sum = returned.mul_add(until_end, self.sum);
        self.renew();
        self.hours = share - until_end;
        self.sum = returned * self.hours;
    }

    /// Ends an interval.
    #[inline(never)]
    fn renew(&mut self) {
        let weights = &self.by.weights;
        if self.returned.len() < weights.len() {
            self.returned.push(self.sum / self.by.interval as f64);
        }
        self.temperature =
            self.aquifer + dot(&weights[weights.len() - self.returned.len()..], &self.returned);
    }
}

/// The share of an hour in which the well pumps, and its iteration if the pump stops with the compressor.
///
/// The heat of the hour is exchanged within that share, so the fluid differs from the water by the hour's mean heat
/// times w = 1 / share. The share in turn follows from the fluid: w is found by the secant method.
#[derive(Debug, Clone, Copy)]
struct Pumping {
    /// Inverse of the share; 1 in an hour without pumping.
    inverse: f64,
    /// The same as it follows from the fluid solved with it.
    follows: f64,
    /// Previous `inverse`, and its residual.
    before: Option<[f64; 2]>,
    tries: usize,
    is_idle: bool,
}

impl Pumping {
    const THROUGHOUT: Self = Self { inverse: 1.0, follows: 1.0, before: None, tries: 0, is_idle: false };

    fn share(&self) -> f64 {
        if self.is_idle { 0.0 } else { 1.0 / self.inverse }
    }

    /// Sets the share that follows from the fluid.
    #[inline(always)]
    fn follow(&mut self, share: f64) {
        self.is_idle = share <= 0.0;
        self.follows = if self.is_idle { 1.0 } else { 1.0 / share };
    }

    /// Begins an hour with the latest share.
    #[inline(always)]
    fn begin(&mut self) {
        (self.inverse, self.before, self.tries) = (self.follows, None, 0);
    }

    /// Improves the share.
    fn improve(&mut self) {
        let off = self.follows - self.inverse;
        let fixed_point = self.follows;
        let next = self.before.map_or(fixed_point, |[inverse, off_before]| {
            (self.inverse - inverse).mul_add(-off / (off - off_before), self.inverse)
        });
        self.before = Some([self.inverse, off]);
        self.inverse = if next.is_finite() && next >= 1.0 { next } else { fixed_point };
        self.tries += 1;
    }
}

/// State of a well while its run steps, and its results by hour.
#[derive(Debug, Clone)]
pub struct WellMemory<'a> {
    well: &'a ReadyWell,
    water: WellWater<'a>,
    resistances: TableLanes<'a, OneByOne>,
    pumping: Pumping,
    /// Residual error of the iterations [K].
    lost_by_shares: f64,
    /// Share of each hour in which the well pumps.
    pub(super) shares: Vec<f64>,
    /// Temperature of the well water in each hour, and of the discharge [degC].
    pub(super) given: Vec<f64>,
    pub(super) discharged: Vec<f64>,
}

impl WellMemory<'_> {
    /// Results of the run for the well; the electricity of its pump is added to that of hours and years.
    #[must_use]
    pub fn found(self, level: Superposition, hourly: &mut Hourly, years: &mut [RunYear]) -> Found {
        let Self { well: ready, shares, given, discharged, lost_by_shares, .. } = self;
        let heat = &hourly.heat_extracted;
        let steps = ready.lost_by_intervals(heat, &shares, &given) + lost_by_shares;
        let mut drawdown = level.of(&shares).swap_remove(0);
        for (fall, &share) in drawdown.iter_mut().zip(&shares) {
            *fall += ready.local_drawdown(share);
        }
        let head_power = GRAVITY * ready.flow / ready.well.pump_efficiency;
        let power = |(&share, &fall): (&f64, &f64)| share * head_power * (ready.well.lift + fall).max(0.0);
        let pump: Vec<f64> = shares.iter().zip(&drawdown).map(power).collect();
        for (electricity, pump) in hourly.electricity.iter_mut().zip(&pump) {
            *electricity += pump;
        }
        let kwh = by_year(pump.len(), |year| pump[year].iter().sum::<f64>() / 1000.0);
        for (year, kwh) in years.iter_mut().zip(&kwh) {
            year.electricity_kwh += kwh;
        }
        let mut yearly = vec![("electricity_well_kWh", kwh)];
        yearly.extend(ready.years(&shares, &given, &discharged, &drawdown));
        let criteria = ready.criteria(&shares, &discharged, &drawdown);
        let flow = shares.iter().map(|share| share * ready.flow).collect();
        let beside = vec![
            ("discharge_degC", discharged),
            ("drawdown_m", drawdown),
            ("electricity_well_W", pump),
            ("well_flow_kg_per_s", flow),
        ];
        Found { wall: given, error: RunError { steps, ..RunError::NONE }, beside, yearly, criteria }
    }
}

impl ReadyWell {
    /// Criteria of a run: the discharge in the hours of pumping, and the drawdown if it has a limit.
    fn criteria(&self, shares: &[f64], discharged: &[f64], drawdown: &[f64]) -> Vec<Criterion> {
        let Well { lowest_discharge, available_drawdown, .. } = self.well;
        let discharge = |name, least| {
            let pumps = |hour: usize| shares[hour] > 0.0;
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

    /// Columns of the yearly table; those of water refer to the hours of pumping.
    fn years(&self, shares: &[f64], given: &[f64], discharged: &[f64], drawdown: &[f64]) -> Vec<Column> {
        let Well { aquifer, lowest_discharge, .. } = self.well;
        let of_pumping = |series: &[f64], of: &(dyn Fn(&mut dyn Iterator<Item = f64>) -> f64 + Sync)| {
            by_year(series.len(), |year| {
                let hours = shares[year.clone()].iter().zip(&series[year]);
                of(&mut hours.filter(|(share, _)| **share > 0.0).map(|(_, value)| *value))
            })
        };
        let moved = |given: f64| given != aquifer.temperature;
        let pumped = |year: Range<usize>| shares[year].iter().sum::<f64>() * HOUR * self.flow / DENSITY;
        vec![
            ("water_pumped_m3", by_year(shares.len(), pumped)),
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

impl WellMemory<'_> {
    /// Values while the well pumps, for the mean heat of the hour.
    #[inline(always)]
    fn over_the_hour(&self, while_pumping: Tangent<f64>) -> Tangent<f64> {
        while_pumping.times(self.pumping.inverse)
    }

    #[inline(always)]
    fn without_heat(&self) -> Offer<f64, 1> {
        Offer { no_load_temperature: [self.water.temperature], pulse_response: [0.0] }
    }
}

impl GroundSide<OneByOne, 1> for WellMemory<'_> {
    #[inline(always)]
    fn flow_stops(&self) -> bool {
        self.well.well.pump_stops
    }

    #[inline(always)]
    fn run_for(&mut self, shares: &[f64; 1]) {
        self.pumping.follow(shares[0]);
    }

    #[inline(always)]
    fn offer(&mut self) -> Offer<f64, 1> {
        self.pumping.begin();
        self.without_heat()
    }

    #[inline(always)]
    fn refined(&mut self, heat_extracted: &[f64; 1]) -> Option<Offer<f64, 1>> {
        let Pumping { inverse, follows, tries, .. } = self.pumping;
        let water = self.water.temperature;
        let to_entering =
            self.resistances.resistance(water).value + self.resistances.kelvins_per_watt(water).value;
        let off = to_entering * (heat_extracted[0] * (follows - inverse)).abs();
        if off < SHARE_TOLERANCE || tries == MOST_REFINEMENTS {
            self.lost_by_shares = self.lost_by_shares.max(off);
            return None;
        }
        self.pumping.improve();
        Some(self.without_heat())
    }

    #[inline(always)]
    fn resistance(&self, mean_fluid: f64) -> Tangent<f64> {
        self.over_the_hour(self.resistances.resistance(mean_fluid))
    }

    #[inline(always)]
    fn kelvins_per_watt(&self, mean_fluid: f64) -> Tangent<f64> {
        self.over_the_hour(self.resistances.kelvins_per_watt(mean_fluid))
    }

    #[inline(always)]
    fn bends(&self) -> &[Bend<f64>] {
        &[]
    }

    #[inline(always)]
    fn commit(&mut self, heat_extracted: &[f64; 1]) {
        let heat = heat_extracted[0];
        let share = if self.flow_stops() { self.pumping.share() } else { f64::from(u8::from(heat != 0.0)) };
        self.shares.push(share);
        self.given.push(self.water.temperature);
        self.discharged.push(self.water.temperature - heat * self.water.fall * self.pumping.inverse);
        self.water.take(heat, share);
    }
}

/// Numbers added side by side, in the same order on every processor.
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
