//! What happened hour by hour, and who keeps it.

use super::stretch::Stretch;
use crate::hours::Hours;

/// What happened in each hour of a stretch: temperatures at its end [degC], powers [W].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moments<const L: usize, const H: usize> {
    /// Entering fluid temperature.
    pub entering_fluid: Hours<L, H>,
    /// Leaving fluid temperature.
    pub leaving_fluid: Hours<L, H>,
    /// Heat extracted from the ground.
    pub heat_extracted: Hours<L, H>,
    /// Electricity of heat pump and circulation pump.
    pub electricity: Hours<L, H>,
    /// Heat given to the building.
    pub heating: Hours<L, H>,
    /// Heat taken from the building.
    pub cooling: Hours<L, H>,
}

/// What keeps the hours of a run.
pub trait Record<const L: usize, const H: usize> {
    /// Takes the stretches in order; `first` is the first hour of one, that of the run being 0.
    fn take(&mut self, first: usize, stretch: &Stretch<H>, moments: &Moments<L, H>);
}
