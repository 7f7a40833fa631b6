//! What is asked for in hours that are solved together.

use std::array::from_fn;

use super::course::Course;
use crate::heat_pump::{Demand, Load, ModeLoads};
use crate::lane_layout::LaneLayout;

/// Hours that follow each other and are solved together.
#[derive(Debug, Clone, PartialEq)]
pub struct TimeBlock<const H: usize> {
    heating: ModeHours<H>,
    cooling: ModeHours<H>,
    /// Heat that goes into the loop past the heat pump (W).
    pub besides: [f64; H],
    /// Whether the fluid circulates in any of the hours.
    pub any_circulates: bool,
    /// Electricity beside heat pump and loop: of an element for hot water, and of what distributes heat and cold (W).
    pub electricity_beside: [f64; H],
    /// One where the fluid circulates, zero where it doesn't.
    pub circulates: [f64; H],
    /// The same, where it does so for the heat pump alone.
    pub circulates_for_heat_pump: [f64; H],
    /// One where the heat pump runs, zero where it doesn't.
    pub runs: [f64; H],
    /// Whether the heat pump runs in any of the hours.
    pub asks_heat_pump: bool,
    /// Whether heat passes through the loop in any of the hours.
    pub passes_heat: bool,
}

/// What is asked of one mode in the hours of a time block.
#[derive(Debug, Clone, PartialEq)]
struct ModeHours<const H: usize> {
    /// Heat or cold (W).
    amount: [f64; H],
    /// Whether there is any.
    is_needed: bool,
    side: Option<[f64; H]>,
}

impl<const H: usize> TimeBlock<H> {
    /// The time blocks of a course, from its start on; the length of its demands is a multiple of theirs.
    ///
    /// A temperature from the building is given for all hours or for none.
    #[must_use]
    pub fn all(course: &Course) -> Vec<Self> {
        let (before, from_start) = course.demands.as_chunks::<H>().0.split_at(course.start() / H);
        from_start.iter().chain(before).map(Self::of).collect()
    }

    /// The hours of these demands.
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
            besides: demands.map(|demand| demand.recharge - demand.recovered),
            any_circulates: demands.iter().any(|demand| !demand.is_idle()),
            electricity_beside: demands.map(|demand| demand.element + demand.distribution_power),
            circulates: one_where(|demand| !demand.is_idle()),
            circulates_for_heat_pump: one_where(|demand| demand.recharge == 0.0 && !demand.is_idle()),
            runs: one_where(Demand::asks_heat_pump),
            asks_heat_pump: demands.iter().any(Demand::asks_heat_pump),
            passes_heat: demands
                .iter()
                .any(|demand| demand.asks_heat_pump() || demand.recharge != demand.recovered),
        }
    }

    /// Heat for rooms and hot water in each hour (W).
    #[must_use]
    #[inline(always)]
    pub fn heating(&self) -> &[f64; H] {
        &self.heating.amount
    }

    /// Heat to be taken out of the rooms in each hour (W).
    #[must_use]
    #[inline(always)]
    pub fn cooling(&self) -> &[f64; H] {
        &self.cooling.amount
    }

    /// Whether any hour asks for heat.
    #[must_use]
    #[inline(always)]
    pub fn heats(&self) -> bool {
        self.heating.is_needed
    }

    /// Whether any hour asks for cold.
    #[must_use]
    #[inline(always)]
    pub fn cools(&self) -> bool {
        self.cooling.is_needed
    }

    /// What is asked of heat pumps in one part of the hours.
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
