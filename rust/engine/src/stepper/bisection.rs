//! Hours solved one by one: slow, but it ends whatever the curves look like.

use super::time_block::TimeBlock;
use crate::ground_side::{GroundSide, Offer};
use crate::heat_pump::{Load, ModeLoads, ReadyHeatPump};
use crate::lane_layout::{LaneLayout, OneByOne};
use crate::lanes::Lanes;

/// Halvings that take any bracket of temperatures to the last bit.
const BISECTIONS: usize = 100;

/// Times that the span in which an hour's temperature is looked for is doubled.
const DOUBLINGS: usize = 16;

/// Steps in which the mean fluid temperature and the flow's kelvins per watt come to agree; each leaves about a thousandth.
const FLOW_STEPS: usize = 4;

/// One design of those that step side by side, whose time block is solved hour by hour.
pub(super) struct Bisection<'a, A: LaneLayout, G, const H: usize> {
    pub layout: A,
    pub heat_pump: &'a ReadyHeatPump<f64>,
    pub offer: &'a Offer<A::Designs, H>,
    pub ground_side: &'a G,
    pub lane: usize,
}

/// One hour of the design: what is asked of it, and the temperature that the loop meets without heat in it.
struct DesignHour {
    loads: ModeLoads<f64>,
    besides: f64,
    open_circuit: f64,
}

impl<A: LaneLayout, G: GroundSide<A, H>, const H: usize> Bisection<'_, A, G, H> {
    /// Entering fluid temperature [degC] and heat extracted [W] in each hour of a time block.
    ///
    /// # Errors
    /// The hour of the time block that no temperature solves.
    pub fn solve(&self, time_block: &TimeBlock<H>) -> Result<[(f64, f64); H], usize> {
        let mut open_circuit =
            self.offer.no_load_temperature.map(|no_load_temperature| no_load_temperature.lane(self.lane));
        let mut found = [(0.0, 0.0); H];
        for hour in 0..H {
            let alone = DesignHour {
                loads: time_block.loads(OneByOne, hour),
                besides: time_block.besides[hour],
                open_circuit: open_circuit[hour],
            };
            let entering = self.coldest(&alone).ok_or(hour)?;
            let heat = self.heat(&alone, entering);
            for (later, answer) in open_circuit[hour + 1..].iter_mut().zip(&self.offer.pulse_response[1..]) {
                *later -= answer.lane(self.lane) * heat;
            }
            found[hour] = (entering, heat);
        }
        Ok(found)
    }

    /// The coldest entering fluid temperature that solves an hour; `None` where none does.
    ///
    /// Between two bends of the resistance what is in excess passes zero once, so that the coldest solution lies before the first of
    /// them where it is above zero.
    fn coldest(&self, hour: &DesignHour) -> Option<f64> {
        let amount = |load: Option<Load<f64>>| load.map_or(0.0, |load| load.amount);
        let heat = amount(hour.loads.heating) + amount(hour.loads.cooling) + hour.besides.abs();
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

    /// What the mean fluid temperature at an entering fluid temperature has in excess of what the loop then gives.
    fn excess(&self, hour: &DesignHour, entering: f64) -> f64 {
        let heat = self.heat(hour, entering);
        let mean =
            (0..FLOW_STEPS).fold(entering, |mean, _| entering - 0.5 * self.kelvins_per_watt(mean) * heat);
        mean - hour.open_circuit + (self.own() + self.resistance(mean)) * heat
    }

    /// Entering fluid temperature with a mean fluid temperature, nearly.
    fn entering_with(&self, hour: &DesignHour, mean: f64) -> f64 {
        let half = 0.5 * self.kelvins_per_watt(mean);
        (0..FLOW_STEPS).fold(mean, |entering, _| mean + half * self.heat(hour, entering))
    }

    fn heat(&self, hour: &DesignHour, entering: f64) -> f64 {
        self.heat_pump.operate::<f64>(entering, &hour.loads).heat_extracted - hour.besides
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

    /// The number of this design.
    fn number(&self, numbers: A::Wide) -> f64 {
        let lane = A::lanes_of(self.lane).next().unwrap_or(0);
        numbers.lane(lane)
    }
}
