//! Hours solved one by one by bisection: slow, but bounded for any curves.

use super::time_block::TimeBlock;
use crate::ground_side::{GroundSide, Offer};
use crate::heat_pump::{Load, ModeLoads, PreparedHeatPump};
use crate::lane_layout::{LaneLayout, OneByOne};
use crate::lanes::Lanes;

/// Halvings that narrow any bracket of temperatures to the last bit.
const BISECTIONS: usize = 100;

/// Most doublings of the bracket around an hour's temperature.
const DOUBLINGS: usize = 16;

/// Fixed-point steps for the mean fluid temperature and the flow's kelvins per watt; each reduces the error to about a
/// thousandth.
const FLOW_STEPS: usize = 4;

/// Solves a time block hour by hour for one of the designs that step side by side.
pub(super) struct Bisection<'a, A: LaneLayout, G, const H: usize> {
    pub layout: A,
    pub heat_pump: &'a PreparedHeatPump<f64>,
    pub offer: &'a Offer<A::Designs, H>,
    pub ground_side: &'a G,
    pub lane: usize,
}

/// One hour of the design: its loads, and the temperature at the loop without heat in the hour.
struct DesignHour {
    loads: ModeLoads<f64>,
    net_recharge: f64,
    open_circuit: f64,
}

impl<A: LaneLayout, G: GroundSide<A, H>, const H: usize> Bisection<'_, A, G, H> {
    /// Entering fluid temperature [degC] and heat extracted [W] in each hour of a time block.
    ///
    /// # Errors
    /// The hour of the time block that no temperature solves.
    pub fn solve(&self, time_block: &TimeBlock<f64, H>) -> Result<[(f64, f64); H], usize> {
        let mut open_circuit =
            self.offer.no_load_temperature.map(|no_load_temperature| no_load_temperature.lane(self.lane));
        let mut found = [(0.0, 0.0); H];
        for hour in 0..H {
            let design_hour = DesignHour {
                loads: time_block.loads(OneByOne, hour),
                net_recharge: time_block.net_recharge[hour],
                open_circuit: open_circuit[hour],
            };
            let entering = self.coldest(&design_hour).ok_or(hour)?;
            let heat = self.heat(&design_hour, entering);
            for (later, response) in open_circuit[hour + 1..].iter_mut().zip(&self.offer.pulse_response[1..])
            {
                *later -= response.lane(self.lane) * heat;
            }
            found[hour] = (entering, heat);
        }
        Ok(found)
    }

    /// The coldest entering fluid temperature that solves an hour; `None` if none does.
    ///
    /// The excess crosses zero once between two bends of the resistance, so the coldest solution lies below the first bend
    /// at which the excess is positive.
    fn coldest(&self, hour: &DesignHour) -> Option<f64> {
        let amount = |load: Option<Load<f64>>| load.map_or(0.0, |load| load.amount);
        let heat = amount(hour.loads.heating) + amount(hour.loads.cooling) + hour.net_recharge.abs();
        let first = self.resistance(hour.open_circuit) + self.kelvins_per_watt(hour.open_circuit);
        let mut reach = 1.0 + (self.own() + first) * heat;
        let mut doublings = 0;
        while self.excess(hour, hour.open_circuit - reach) > 0.0
            || self.excess(hour, hour.open_circuit + reach) < 0.0
        {
            if doublings == DOUBLINGS || !reach.is_finite() {
                return None;
            }
            reach *= 2.0;
            doublings += 1;
        }
        let (mut low, mut high) = (hour.open_circuit - reach, hour.open_circuit + reach);
        for bend in self.ground_side.bends() {
            let entering = self.entering_with(hour, self.number(bend.temperature));
            if entering <= low || entering >= high {
                continue;
            }
            if self.excess(hour, entering) < 0.0 {
                low = entering;
            } else {
                high = entering;
                break;
            }
        }
        for _ in 0..BISECTIONS {
            let middle = 0.5 * (low + high);
            if self.excess(hour, middle) < 0.0 { low = middle } else { high = middle }
        }
        Some(low)
    }

    /// Mean fluid temperature that belongs to an entering fluid temperature, minus the one that the loop then gives [K].
    fn excess(&self, hour: &DesignHour, entering: f64) -> f64 {
        let heat = self.heat(hour, entering);
        let mean =
            (0..FLOW_STEPS).fold(entering, |mean, _| entering - 0.5 * self.kelvins_per_watt(mean) * heat);
        mean - hour.open_circuit + (self.own() + self.resistance(mean)) * heat
    }

    /// Approximate entering fluid temperature for a mean fluid temperature.
    fn entering_with(&self, hour: &DesignHour, mean: f64) -> f64 {
        let half = 0.5 * self.kelvins_per_watt(mean);
        (0..FLOW_STEPS).fold(mean, |entering, _| mean + half * self.heat(hour, entering))
    }

    fn heat(&self, hour: &DesignHour, entering: f64) -> f64 {
        self.heat_pump.operate::<f64>(entering, &hour.loads).heat_extracted - hour.net_recharge
    }

    fn own(&self) -> f64 {
        self.offer.pulse_response[0].lane(self.lane)
    }

    fn resistance(&self, mean: f64) -> f64 {
        self.number(self.ground_side.resistance(A::Wide::all(self.layout.of_wide(), mean)).value)
    }

    fn kelvins_per_watt(&self, mean: f64) -> f64 {
        self.number(self.ground_side.kelvins_per_watt(A::Wide::all(self.layout.of_wide(), mean)).value)
    }

    /// The value of this design.
    fn number(&self, numbers: A::Wide) -> f64 {
        let lane = A::lanes_of(self.lane).next().unwrap_or(0);
        numbers.lane(lane)
    }
}
