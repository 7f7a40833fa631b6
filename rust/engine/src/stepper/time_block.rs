//! Loads of hours that are solved together.

use std::array::from_fn;

use super::course::Course;
use crate::heat_pump::{Demand, Load, ModeLoads};
use crate::lane_layout::LaneLayout;

/// Consecutive hours that are solved together.
#[derive(Debug, Clone, PartialEq)]
pub struct TimeBlock<const H: usize> {
    heating: ModeHours<H>,
    cooling: ModeHours<H>,
    /// Heat supplied directly to the loop, minus heat recovered for hot water (W).
    pub net_recharge: [f64; H],
    /// Whether the fluid circulates in any of the hours.
    pub any_circulates: bool,
    /// Electricity of an element for hot water and of the distribution (W).
    pub other_electricity: [f64; H],
    /// 1 if the fluid circulates, otherwise 0.
    pub circulates: [f64; H],
    /// 1 if it circulates for the heat pump alone, otherwise 0.
    pub circulates_for_heat_pump: [f64; H],
    /// 1 if the heat pump runs, otherwise 0.
    pub runs: [f64; H],
    /// Whether the heat pump runs in any of the hours.
    pub asks_heat_pump: bool,
    /// Whether the loop exchanges heat with the fluid in any of the hours.
    pub exchanges_heat: bool,
}

/// Loads of one mode in the hours of a time block.
#[derive(Debug, Clone, PartialEq)]
struct ModeHours<const H: usize> {
    /// Heating or cooling (W).
    amount: [f64; H],
    /// Whether any hour has a load.
    is_needed: bool,
    /// Entering load temperature [degC].
    side: Option<[f64; H]>,
}

impl<const H: usize> TimeBlock<H> {
    /// The time blocks of a course from its start on; the demands must be a multiple of a time block.
    ///
    /// An entering load temperature is given for all hours or for none.
    #[must_use]
    pub fn all(course: &Course) -> Vec<Self> {
        let (before, from_start) = course.demands.as_chunks::<H>().0.split_at(course.start() / H);
        from_start.iter().chain(before).map(Self::of).collect()
    }

    /// The time block of these demands.
    pub(crate) fn of(demands: &[Demand; H]) -> Self {
        let mode = |amount: fn(&Demand) -> f64, side: fn(&Demand) -> Option<f64>| ModeHours {
            amount: from_fn(|hour| amount(&demands[hour])),
            is_needed: demands.iter().any(|demand| amount(demand) > 0.0),
            side: side(&demands[0]).map(|_| from_fn(|hour| side(&demands[hour]).unwrap_or_default())),
        };
        let one_where =
            |is_so: fn(&Demand) -> bool| demands.map(|demand| f64::from(u8::from(is_so(&demand))));
        Self {
            heating: mode(|demand| demand.heating, |demand| demand.heating_entering_load_temperature),
            cooling: mode(|demand| demand.cooling, |demand| demand.cooling_entering_load_temperature),
            net_recharge: demands.map(|demand| demand.recharge - demand.recovered),
            any_circulates: demands.iter().any(|demand| !demand.is_idle()),
            other_electricity: demands.map(|demand| demand.element + demand.distribution_power),
            circulates: one_where(|demand| !demand.is_idle()),
            circulates_for_heat_pump: one_where(|demand| demand.recharge == 0.0 && !demand.is_idle()),
            runs: one_where(Demand::asks_heat_pump),
            asks_heat_pump: demands.iter().any(Demand::asks_heat_pump),
            exchanges_heat: demands
                .iter()
                .any(|demand| demand.asks_heat_pump() || demand.recharge != demand.recovered),
        }
    }

    /// Heating of rooms and hot water in each hour (W).
    #[must_use]
    #[inline(always)]
    pub fn heating(&self) -> &[f64; H] {
        &self.heating.amount
    }

    /// Cooling of rooms in each hour (W).
    #[must_use]
    #[inline(always)]
    pub fn cooling(&self) -> &[f64; H] {
        &self.cooling.amount
    }

    /// Whether any hour has a heating load.
    #[must_use]
    #[inline(always)]
    pub fn heats(&self) -> bool {
        self.heating.is_needed
    }

    /// Whether any hour has a cooling load.
    #[must_use]
    #[inline(always)]
    pub fn cools(&self) -> bool {
        self.cooling.is_needed
    }

    /// Loads of heat pumps in one part of the hours.
    #[inline(always)]
    pub(crate) fn loads<A: LaneLayout>(&self, layout: A, part: usize) -> ModeLoads<A::Wide> {
        let load = |mode: &ModeHours<H>| {
            mode.is_needed.then(|| Load {
                amount: layout.shared(&mode.amount, part),
                side: mode.side.as_ref().map(|side| layout.shared(side, part)),
            })
        };
        ModeLoads { heating: load(&self.heating), cooling: load(&self.cooling) }
    }
}
