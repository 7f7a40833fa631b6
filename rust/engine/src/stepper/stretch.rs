//! What is asked for in hours that are solved together.

use std::array::from_fn;

use crate::heat_pump::{Asked, Demand};
use crate::lanes::Lanes;

/// A stretch of hours that follow each other and are solved together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch<const H: usize> {
    /// Heat for rooms and hot water in each hour [W].
    pub heating: [f64; H],
    /// Heat to be taken out of the rooms [W].
    pub cooling: [f64; H],
    /// Heat that goes into the loop past the heat pump [W].
    pub besides: [f64; H],
    heating_side: Option<[f64; H]>,
    cooling_side: Option<[f64; H]>,
    /// One where the fluid circulates, zero where it doesn't.
    pub circulates: [f64; H],
    /// The same, where it does so for the heat pump alone.
    pub circulates_for_heat_pump: [f64; H],
    /// Whether the heat pump runs in any of the hours.
    pub asks_heat_pump: bool,
}

impl<const H: usize> Stretch<H> {
    /// The stretches of a series of demands whose length is a multiple of theirs.
    ///
    /// A temperature from the building is given for all hours or for none.
    pub(super) fn all(demands: &[Demand]) -> Vec<Self> {
        demands.as_chunks::<H>().0.iter().map(Self::of).collect()
    }

    fn of(demands: &[Demand; H]) -> Self {
        let side = |of: fn(&Demand) -> Option<f64>| {
            of(&demands[0]).map(|_| from_fn(|hour| of(&demands[hour]).unwrap_or_default()))
        };
        Self {
            heating: demands.map(|demand| demand.heating),
            cooling: demands.map(|demand| demand.cooling),
            besides: demands.map(|demand| demand.recharge - demand.recovered),
            heating_side: side(|demand| demand.heating_side),
            cooling_side: side(|demand| demand.cooling_side),
            circulates: demands.map(|demand| one_if(!demand.is_idle())),
            circulates_for_heat_pump: demands
                .map(|demand| one_if(demand.recharge == 0.0 && !demand.is_idle())),
            asks_heat_pump: demands.iter().any(Demand::asks_heat_pump),
        }
    }

    /// What is asked for in the hours of `W` lanes from the lane `first` on, where each hour has `L` of them.
    #[inline(always)]
    pub(super) fn asked<const L: usize, const W: usize>(&self, first: usize) -> Asked<W> {
        let lanes = |hours: &[f64; H]| Lanes::each(|lane| hours[(first + lane) / L]);
        Asked {
            heating: lanes(&self.heating),
            cooling: lanes(&self.cooling),
            heating_side: self.heating_side.as_ref().map(lanes),
            cooling_side: self.cooling_side.as_ref().map(lanes),
        }
    }
}

fn one_if(it_is: bool) -> f64 {
    f64::from(u8::from(it_is))
}
