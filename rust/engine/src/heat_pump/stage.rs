//! The curves of one mode as the hourly loop evaluates them.

use std::array::from_fn;

use super::Mode;
use super::cubic::Cubic;
use super::tangent::Number;
use crate::lanes::Lanes;

/// Capacity that stands for none given [W]: far above any load that is accepted.
const NO_LIMIT: f64 = 1e15;

/// One stage of heat pumps in one mode.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Stage<const L: usize> {
    cop: Cubic<L>,
    capacity: Cubic<L>,
    /// What both change by for each kelvin on the building's side above `reference`, which is held to a range.
    cop_by_side: Cubic<L>,
    capacity_by_side: Cubic<L>,
    reference: Lanes<L>,
    least_side: Lanes<L>,
    most_side: Lanes<L>,
    /// Range of the entering fluid temperature.
    least: Lanes<L>,
    most: Lanes<L>,
}

impl<const L: usize> Stage<L> {
    /// Makes modes ready; one that is missing must not be asked for.
    pub fn new(modes: [Option<&Mode>; L]) -> Self {
        let ranges = modes.map(|mode| mode.map_or([0.0, 0.0], Mode::range));
        let capacities = modes.map(|mode| mode.and_then(|mode| mode.capacity.as_deref()));
        let sides = modes.map(|mode| mode.and_then(|mode| mode.load_side.as_ref()));
        Self {
            cop: Cubic::new(from_fn(|lane| modes[lane].map_or(&[1.0][..], |mode| &mode.cop))),
            capacity: Cubic::new(from_fn(|lane| capacities[lane].unwrap_or(&[NO_LIMIT]))),
            cop_by_side: Cubic::new(sides.map(|side| side.map_or(&[][..], |side| &side.cop))),
            capacity_by_side: Cubic::new(sides.map(|side| side.map_or(&[][..], |side| &side.capacity))),
            reference: Lanes(sides.map(|side| side.map_or(0.0, |side| side.reference))),
            least_side: Lanes(sides.map(|side| side.map_or(f64::NEG_INFINITY, |side| side.range[0]))),
            most_side: Lanes(sides.map(|side| side.map_or(f64::INFINITY, |side| side.range[1]))),
            least: Lanes(ranges.map(|range| range[0])),
            most: Lanes(ranges.map(|range| range[1])),
        }
    }

    pub fn lanes<const M: usize>(&self, lanes: [usize; M]) -> Stage<M> {
        Stage {
            cop: self.cop.lanes(lanes),
            capacity: self.capacity.lanes(lanes),
            cop_by_side: self.cop_by_side.lanes(lanes),
            capacity_by_side: self.capacity_by_side.lanes(lanes),
            reference: self.reference.lanes(lanes),
            least_side: self.least_side.lanes(lanes),
            most_side: self.most_side.lanes(lanes),
            least: self.least.lanes(lanes),
            most: self.most.lanes(lanes),
        }
    }

    /// COP and capacity [W] at an entering fluid temperature and a temperature from the building [degC].
    #[inline(always)]
    pub fn cop_and_capacity<N: Number<L>>(&self, entering_fluid: Lanes<L>, side: Option<Lanes<L>>) -> (N, N) {
        let (mut cop, mut capacity) = (self.cop, self.capacity);
        if let Some(side) = side {
            let above = side.max(self.least_side).min(self.most_side) - self.reference;
            cop = cop.moved(above, &self.cop_by_side);
            capacity = capacity.moved(above, &self.capacity_by_side);
        }
        let along = |curves: &Cubic<L>| N::along(curves, entering_fluid, self.least, self.most);
        (along(&cop), along(&capacity))
    }

    /// Whether the curves of a lane are not known there.
    #[inline(always)]
    pub fn is_outside(&self, lane: usize, entering_fluid: f64, side: Option<f64>) -> bool {
        let in_range =
            |value: f64, least: Lanes<L>, most: Lanes<L>| (least.0[lane]..=most.0[lane]).contains(&value);
        !in_range(entering_fluid, self.least, self.most)
            || side.is_some_and(|side| !in_range(side, self.least_side, self.most_side))
    }
}
