//! One hour of the heat pump at a given entering fluid temperature.

use std::array::from_fn;

use super::cubic::Cubic;
use super::taylor::Number;
use super::{HeatPump, Mode};
use crate::lanes::Lanes;

/// Capacity that stands for none given [W]: far above any load that is accepted.
const NO_LIMIT: f64 = 1e15;

/// What is asked for in one hour.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Demand {
    /// Heat for rooms and hot water, zero or more [W].
    pub heating: f64,
    /// Heat to be taken out of the rooms, zero or more [W].
    pub cooling: f64,
    /// Heat given to the loop past the heat pump: recharge less what hot water takes from the compressor in cooling [W].
    pub into_loop: f64,
}

impl Demand {
    /// Whether nothing circulates.
    #[must_use]
    #[inline(always)]
    pub fn is_idle(&self) -> bool {
        *self == Self::default()
    }

    /// Whether the heat pump runs.
    #[must_use]
    #[inline(always)]
    pub fn asks_heat_pump(&self) -> bool {
        self.heating > 0.0 || self.cooling > 0.0
    }
}

/// What heat pumps do in one hour [W], of a number type `N`.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Operation<N> {
    /// Heat given to the building.
    pub heating: N,
    /// Heat taken from the building.
    pub cooling: N,
    /// Heat taken from the ground: building heat less electricity in heating, less both in cooling.
    pub heat_extracted: N,
}

impl<const L: usize> Operation<Lanes<L>> {
    /// Takes what `other` has in the lanes that `keep` does not hold.
    #[inline(always)]
    pub fn keep(&mut self, keep: [bool; L], other: &Self) {
        self.heating = self.heating.or_else(keep, other.heating);
        self.cooling = self.cooling.or_else(keep, other.cooling);
        self.heat_extracted = self.heat_extracted.or_else(keep, other.heat_extracted);
    }
}

/// A mode of heat pumps in the form that the hourly loop evaluates.
#[derive(Debug, Clone, Copy, PartialEq)]
struct ReadyMode<const L: usize> {
    cop: Cubic<L>,
    capacity: Cubic<L>,
    cycling_loss: Lanes<L>,
    least: Lanes<L>,
    most: Lanes<L>,
}

/// Heat pumps of several designs in the form that the hourly loop evaluates.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReadyHeatPump<const L: usize> {
    heating: ReadyMode<L>,
    cooling: ReadyMode<L>,
}

impl<const L: usize> ReadyHeatPump<L> {
    /// Makes heat pumps ready; a mode that one of them lacks must not be asked for.
    #[must_use]
    pub fn new(heat_pumps: [&HeatPump; L]) -> Self {
        let losses = Lanes::each(|lane| heat_pumps[lane].cycling_loss);
        Self {
            heating: ReadyMode::new(heat_pumps.map(|heat_pump| heat_pump.heating.as_ref()), losses),
            cooling: ReadyMode::new(heat_pumps.map(|heat_pump| heat_pump.cooling.as_ref()), losses),
        }
    }

    /// What the heat pumps do at entering fluid temperatures [degC], or at and around them.
    ///
    /// Each mode delivers what is asked for, at most its capacity, and takes
    ///
    /// ```text
    /// electricity = delivered / (COP x part load factor)
    /// part load factor = 1 - cycling loss x (1 - delivered / capacity)
    /// ```
    ///
    /// (the linear form of ARI 210/240, from memory). Beyond the range of its table a mode acts as at the range's end.
    #[must_use]
    #[inline(always)]
    pub fn operate<N: Number<L>>(&self, entering_fluid: Lanes<L>, demand: &Demand) -> Operation<N> {
        let mut operation = Operation::default();
        if demand.heating > 0.0 {
            let (delivered, electricity) = self.heating.work::<N>(entering_fluid, demand.heating);
            operation.heating = delivered;
            operation.heat_extracted = delivered - electricity;
        }
        if demand.cooling > 0.0 {
            let (delivered, electricity) = self.cooling.work::<N>(entering_fluid, demand.cooling);
            operation.cooling = delivered;
            operation.heat_extracted = operation.heat_extracted - (delivered + electricity);
        }
        operation
    }

    /// The heat pump of one lane.
    #[must_use]
    pub fn lane(&self, lane: usize) -> ReadyHeatPump<1> {
        ReadyHeatPump { heating: self.heating.lane(lane), cooling: self.cooling.lane(lane) }
    }

    /// Where an entering fluid temperature [degC] is outside the table of a mode that is asked for.
    #[must_use]
    #[inline(always)]
    pub fn is_outside_table(&self, entering_fluid: Lanes<L>, demand: &Demand) -> [bool; L] {
        let outside = |mode: &ReadyMode<L>, load: f64, lane: usize| {
            load > 0.0 && !(mode.least.0[lane]..=mode.most.0[lane]).contains(&entering_fluid.0[lane])
        };
        from_fn(|lane| {
            outside(&self.heating, demand.heating, lane) || outside(&self.cooling, demand.cooling, lane)
        })
    }
}

impl<const L: usize> ReadyMode<L> {
    fn new(modes: [Option<&Mode>; L], cycling_loss: Lanes<L>) -> Self {
        let ranges = modes.map(|mode| mode.map_or([0.0, 0.0], Mode::range));
        let capacities = modes.map(|mode| mode.and_then(|mode| mode.capacity.as_deref()));
        Self {
            cop: Cubic::new(from_fn(|lane| modes[lane].map_or(&[1.0][..], |mode| &mode.cop))),
            capacity: Cubic::new(from_fn(|lane| capacities[lane].unwrap_or(&[NO_LIMIT]))),
            cycling_loss,
            least: Lanes(ranges.map(|range| range[0])),
            most: Lanes(ranges.map(|range| range[1])),
        }
    }

    fn lane(&self, lane: usize) -> ReadyMode<1> {
        let one = |lanes: Lanes<L>| Lanes([lanes.0[lane]]);
        ReadyMode {
            cop: self.cop.lane(lane),
            capacity: self.capacity.lane(lane),
            cycling_loss: one(self.cycling_loss),
            least: one(self.least),
            most: one(self.most),
        }
    }

    /// Heat delivered for a load and electricity for that [W].
    ///
    /// With capacity C, delivered D and cycling loss l, electricity = D C / (COP x ((1 - l) C + l D)): one division.
    #[inline(always)]
    fn work<N: Number<L>>(&self, entering_fluid: Lanes<L>, load: f64) -> (N, N) {
        let cop = N::along(&self.cop, entering_fluid, self.least, self.most);
        let capacity = N::along(&self.capacity, entering_fluid, self.least, self.most);
        let load = Lanes::all(load);
        let delivered = N::constant(load).or_else(load.is_below(capacity.value()), capacity);
        let run = (delivered - capacity).times(self.cycling_loss) + capacity;
        (delivered, (delivered * capacity).over(cop * run))
    }
}
