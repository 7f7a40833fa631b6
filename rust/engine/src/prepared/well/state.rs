//! State of a well while its run steps.

use std::sync::Arc;

use super::PreparedWell;
use super::pumping::Pumping;
use super::water::WellWater;
use crate::ground_side::{Bend, GroundSide, Offer};
use crate::heat_pump::{Number, Tangent};
use crate::history::Superposition;
use crate::hourly::Hourly;
use crate::lane_layout::OneByOne;
use crate::prepared::years::by_year;
use crate::prepared::{GroundSideResults, RunError, TableLanes};
use crate::yearly::RunYear;

/// Error of the fluid due to the running share of a pump (K) above which an hour is solved again, and the most
/// repetitions.
const SHARE_TOLERANCE: f64 = 1e-7;
const MOST_REFINEMENTS: usize = 40;

/// State of a well while its run steps, and its results by hour.
#[derive(Debug, Clone)]
pub struct WellState {
    pub(super) well: Arc<PreparedWell>,
    pub(super) water: WellWater,
    resistances: TableLanes<OneByOne>,
    pumping: Pumping,
    /// Residual error of the iterations (K).
    share_error: f64,
    /// Share of each hour in which the well pumps.
    pub(super) shares: Vec<f64>,
    /// Temperature of the well water in each hour, and of the discharge (degC).
    pub(super) given: Vec<f64>,
    pub(super) discharged: Vec<f64>,
}

impl WellState {
    /// Results of the run for the well; the electricity of its pump is added to that of hours and years.
    #[must_use]
    pub fn results(
        self,
        level: Superposition,
        hourly: &mut Hourly,
        years: &mut [RunYear],
    ) -> GroundSideResults {
        let Self { well: prepared, shares, given, discharged, share_error, .. } = self;
        let heat = &hourly.heat_extracted;
        let steps = prepared.interval_error(heat, &shares, &given) + share_error;
        let mut drawdown = level.of(&shares).swap_remove(0);
        for (fall, &share) in drawdown.iter_mut().zip(&shares) {
            *fall += prepared.local_drawdown(share);
        }
        let power = |(&share, &fall): (&f64, &f64)| prepared.pump_power(share, fall);
        let pump: Vec<f64> = shares.iter().zip(&drawdown).map(power).collect();
        for (electricity, pump) in hourly.electricity.iter_mut().zip(&pump) {
            *electricity += pump;
        }
        let kwh = by_year(pump.len(), |year| pump[year].iter().sum::<f64>() / 1000.0);
        for (year, kwh) in years.iter_mut().zip(&kwh) {
            year.electricity_kwh += kwh;
        }
        let mut yearly = vec![("electricity_well_kWh", kwh)];
        yearly.extend(prepared.years(&shares, &given, &discharged, &drawdown));
        let criteria = prepared.criteria(&shares, &discharged, &drawdown);
        let flow = shares.iter().map(|share| share * prepared.flow).collect();
        let of_well = vec![
            ("discharge_degC", discharged),
            ("drawdown_m", drawdown),
            ("electricity_well_W", pump),
            ("well_flow_kg_per_s", flow),
        ];
        let error = RunError { steps, ..RunError::NONE };
        GroundSideResults { wall: given, error, hourly: of_well, yearly, criteria }
    }
}

impl PreparedWell {
    /// The well before any heat is extracted, for a run of `hours` hours.
    #[must_use]
    pub fn initial(self: &Arc<Self>, hours: usize) -> WellState {
        WellState {
            well: Arc::clone(self),
            water: self.water(&self.returned),
            resistances: TableLanes::new(OneByOne, &[&self.resistances]),
            pumping: Pumping::THROUGHOUT,
            share_error: 0.0,
            shares: Vec::with_capacity(hours),
            given: Vec::with_capacity(hours),
            discharged: Vec::with_capacity(hours),
        }
    }
}

impl WellState {
    /// Forgets the last hour; returns the share of it in which the well pumped.
    pub(super) fn forget(&mut self) -> f64 {
        self.given.clear();
        self.discharged.clear();
        self.shares.pop().unwrap_or(0.0)
    }

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

impl GroundSide<OneByOne, 1> for WellState {
    #[inline(always)]
    fn flow_stops(&self) -> bool {
        self.well.well.pump_stops
    }

    #[inline(always)]
    fn set_flow_shares(&mut self, shares: &[f64; 1]) {
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
            self.share_error = self.share_error.max(off);
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
