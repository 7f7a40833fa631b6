//! The curves of one mode as the hourly loop evaluates them.

use super::Mode;
use super::cubic::Cubic;
use super::tangent::Number;
use crate::lanes::{Lanes, Mask};

/// Capacity that represents an unlimited one (W): far above any accepted load.
const NO_LIMIT: f64 = 1e15;

/// One stage of heat pumps in one mode, one heat pump per lane.
#[derive(Debug, Clone, Copy)]
pub(super) struct Stage<N> {
    cop: Cubic<N>,
    capacity: Cubic<N>,
    /// Change of both per kelvin of the entering load above `reference`, clamped to a range.
    cop_by_side: Cubic<N>,
    capacity_by_side: Cubic<N>,
    reference: N,
    least_side: N,
    most_side: N,
    /// Range of the entering fluid temperature.
    least: N,
    most: N,
}

impl<N: Lanes> Stage<N> {
    /// Prepares the modes of the lanes; loads must not contain a missing one.
    pub fn new<'a>(instructions: N::Instructions, mode: impl Fn(usize) -> Option<&'a Mode>) -> Self {
        let side = |lane: usize| mode(lane).and_then(|mode| mode.entering_load.as_ref());
        let range = |lane: usize| mode(lane).map_or([0.0, 0.0], Mode::range);
        let cubic = |of: &dyn Fn(usize) -> Option<&'a [f64]>, none: &'a [f64]| {
            Cubic::new(instructions, |lane| of(lane).unwrap_or(none))
        };
        let each = |of: &dyn Fn(usize) -> Option<f64>, none: f64| {
            N::each(instructions, |lane| of(lane).unwrap_or(none))
        };
        Self {
            cop: cubic(&|lane| mode(lane).map(|mode| &mode.cop[..]), &[1.0]),
            capacity: cubic(&|lane| mode(lane).and_then(|mode| mode.capacity.as_deref()), &[NO_LIMIT]),
            cop_by_side: cubic(&|lane| side(lane).map(|side| &side.cop[..]), &[]),
            capacity_by_side: cubic(&|lane| side(lane).map(|side| &side.capacity[..]), &[]),
            reference: each(&|lane| side(lane).map(|side| side.reference), 0.0),
            least_side: each(&|lane| side(lane).map(|side| side.range[0]), f64::NEG_INFINITY),
            most_side: each(&|lane| side(lane).map(|side| side.range[1]), f64::INFINITY),
            least: N::each(instructions, |lane| range(lane)[0]),
            most: N::each(instructions, |lane| range(lane)[1]),
        }
    }

    /// COP and capacity (W) at an entering fluid temperature and an entering load temperature (degC).
    #[inline(always)]
    pub fn cop_and_capacity<T: Number<N>>(&self, entering_fluid: N, side: Option<N>) -> (T, T) {
        let (mut cop, mut capacity) = (self.cop, self.capacity);
        if let Some(side) = side {
            let above = side.max(self.least_side).min(self.most_side) - self.reference;
            cop = cop.moved(above, &self.cop_by_side);
            capacity = capacity.moved(above, &self.capacity_by_side);
        }
        (
            T::along(&cop, entering_fluid, self.least, self.most),
            T::along(&capacity, entering_fluid, self.least, self.most),
        )
    }

    /// Where the curves are not valid.
    #[inline(always)]
    pub fn is_outside(&self, entering_fluid: N, side: Option<N>) -> N::Mask {
        let entering = entering_fluid.is_below(self.least).or(self.most.is_below(entering_fluid));
        match side {
            Some(side) => entering.or(side.is_below(self.least_side)).or(self.most_side.is_below(side)),
            None => entering,
        }
    }
}
