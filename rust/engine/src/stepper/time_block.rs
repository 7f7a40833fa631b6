//! Loads of hours that are solved together.

use std::array::from_fn;

use super::course::Course;
use crate::heat_pump::{Demand, Demands, Load, ModeLoads, Scales};
use crate::lane_layout::{Demanded, LaneLayout};
use crate::lanes::{Lanes, Mask};

/// Consecutive hours that are solved together; a number `D` is that of all designs, or has one per design.
#[derive(Debug, Clone, PartialEq)]
pub struct TimeBlock<D, const H: usize> {
    pub(super) heating: ModeHours<D, H>,
    pub(super) cooling: ModeHours<D, H>,
    /// Heat supplied directly to the loop, minus heat recovered for hot water (W).
    pub net_recharge: [D; H],
    /// Whether the fluid circulates in any of the hours.
    pub any_circulates: bool,
    /// Electricity of an element for hot water and of the distribution (W).
    pub other_electricity: [D; H],
    /// 1 if the fluid circulates, otherwise 0.
    pub circulates: [D; H],
    /// 1 if it circulates for the heat pump alone, otherwise 0.
    pub circulates_for_heat_pump: [D; H],
    /// 1 if the heat pump runs, otherwise 0.
    pub runs: [D; H],
    /// Whether the heat pump runs in any of the hours.
    pub asks_heat_pump: bool,
    /// Whether the loop exchanges heat with the fluid in any of the hours.
    pub exchanges_heat: bool,
}

/// Loads of one mode in the hours of a time block.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct ModeHours<D, const H: usize> {
    /// Heating or cooling (W).
    pub amount: [D; H],
    /// Whether any hour has a load.
    pub is_needed: bool,
    /// Entering load temperature [degC].
    pub side: Option<[D; H]>,
}

impl<D: Copy, const H: usize> ModeHours<D, H> {
    #[inline(always)]
    fn load<A: LaneLayout<Demand = D>>(&self, layout: A, part: usize) -> Load<A::Wide> {
        Load {
            amount: layout.demanded(&self.amount, part),
            side: self.side.as_ref().map(|side| layout.demanded(side, part)),
        }
    }
}

/// The time blocks of a course in the order of its hours, which repeat.
pub trait TimeBlocks<D, const H: usize> {
    /// How many there are before they repeat.
    fn count(&self) -> usize;

    /// One of them, where 0 is the first of the course.
    fn at(&mut self, place: usize) -> &TimeBlock<D, H>;
}

impl<D, const H: usize> TimeBlocks<D, H> for Vec<TimeBlock<D, H>> {
    #[inline(always)]
    fn count(&self) -> usize {
        self.len()
    }

    #[inline(always)]
    fn at(&mut self, place: usize) -> &TimeBlock<D, H> {
        &self[place]
    }
}

/// The same loads in every time block.
impl<D, const H: usize> TimeBlocks<D, H> for &TimeBlock<D, H> {
    #[inline(always)]
    fn count(&self) -> usize {
        1
    }

    #[inline(always)]
    fn at(&mut self, _place: usize) -> &TimeBlock<D, H> {
        self
    }
}

/// Loads of an hour (W).
#[derive(Debug, Clone, Copy)]
pub(super) struct HourLoads<N> {
    /// Of rooms, and of hot water that the heat pump supplies.
    pub heating: [N; 2],
    pub cooling: N,
    /// Heat supplied directly to the loop, and heat recovered for hot water.
    pub recharge: [N; 2],
    /// Electricity of an element for hot water, and of the distribution.
    pub electricity: [N; 2],
}

impl<N: Lanes, const H: usize> TimeBlock<N, H> {
    /// Hours without loads; entering load temperatures if `sides` says so, in heating and in cooling.
    pub(crate) fn idle(zero: N, sides: [bool; 2]) -> Self {
        let none = [zero; H];
        let [heating, cooling] = sides.map(|is_given| ModeHours {
            amount: none,
            is_needed: false,
            side: is_given.then_some(none),
        });
        Self {
            heating,
            cooling,
            net_recharge: none,
            any_circulates: false,
            other_electricity: none,
            circulates: none,
            circulates_for_heat_pump: none,
            runs: none,
            asks_heat_pump: false,
            exchanges_heat: false,
        }
    }

    /// Sets the loads of all hours, times factors: of heating, hot water, cooling and recharge.
    #[inline(always)]
    pub(super) fn set(&mut self, scales: [N; 4], of_hour: impl Fn(usize) -> HourLoads<N>) {
        let [of_heating, of_hot_water, of_cooling, of_recharge] = scales;
        let (zero, one) = (of_heating.like(0.0), of_heating.like(1.0));
        let none = zero.is_below(zero);
        let (mut heats, mut cools, mut circulates, mut exchanges) = (none, none, none, none);
        for hour in 0..H {
            let loads = of_hour(hour);
            let heating = of_heating * loads.heating[0] + of_hot_water * loads.heating[1];
            let cooling = of_cooling * loads.cooling;
            let recharge = of_recharge * loads.recharge[0];
            let net_recharge = recharge - loads.recharge[1];
            let (is_heated, is_cooled) = (zero.is_below(heating), zero.is_below(cooling));
            let runs = is_heated.or(is_cooled);
            let recharges = zero.is_below(recharge.abs());
            self.heating.amount[hour] = heating;
            self.cooling.amount[hour] = cooling;
            self.net_recharge[hour] = net_recharge;
            self.other_electricity[hour] = loads.electricity[0] + loads.electricity[1];
            self.circulates[hour] = one.or_else(runs.or(recharges), zero);
            self.circulates_for_heat_pump[hour] = one.or_else(runs.and(recharges.not()), zero);
            self.runs[hour] = one.or_else(runs, zero);
            heats = heats.or(is_heated);
            cools = cools.or(is_cooled);
            circulates = circulates.or(runs).or(recharges);
            exchanges = exchanges.or(runs).or(zero.is_below(net_recharge.abs()));
        }
        self.heating.is_needed = heats.any();
        self.cooling.is_needed = cools.any();
        self.asks_heat_pump = heats.or(cools).any();
        self.any_circulates = circulates.any();
        self.exchanges_heat = exchanges.any();
    }
}

impl TimeBlock<f64, 1> {
    /// An hour with a demand.
    #[must_use]
    pub fn hour(demand: &Demand) -> Self {
        let sides = [demand.heating_entering_load_temperature, demand.cooling_entering_load_temperature];
        let mut hour = Self::idle(0.0, sides.map(|side| side.is_some()));
        hour.set([1.0; 4], |_| HourLoads {
            heating: [demand.heating, 0.0],
            cooling: demand.cooling,
            recharge: [demand.recharge, demand.recovered],
            electricity: [demand.element, demand.distribution_power],
        });
        let [heating, cooling] = sides.map(|side| side.map(|temperature| [temperature]));
        hour.heating.side = heating;
        hour.cooling.side = cooling;
        hour
    }
}

impl<const H: usize> TimeBlock<f64, H> {
    /// The time blocks of a course whose designs share their demand, from its start on; the demand must be a multiple of
    /// a time block.
    ///
    /// An entering load temperature is given for all hours or for none.
    #[must_use]
    pub fn all(course: &Course) -> Vec<Self> {
        let (demands, start) = (&course.demands[0], course.start(0));
        let hours = demands.len();
        let of = |block: usize| Self::of(demands, (start + block * H) % hours);
        (0..hours / H).map(of).collect()
    }

    /// The time block that begins with an hour of the demand.
    pub(crate) fn of(demands: &Demands, first: usize) -> Self {
        let series = demands.series();
        let rows = |values: &[f64]| -> [f64; H] {
            let values = &values[first..first + H];
            from_fn(|hour| values[hour])
        };
        let (heating, hot_water, cooling) =
            (rows(&series.heating), rows(&series.hot_water), rows(&series.cooling));
        let (recharge, recovered) = (rows(&series.recharge), rows(&series.recovered));
        let (element, distribution) = (rows(&series.element), rows(&series.distribution_power));
        let side = |values: &[f64]| (!values.is_empty()).then(|| rows(values));
        let mut time_block = Self::idle(0.0, [false; 2]);
        let Scales {
            heating: of_heating,
            cooling: of_cooling,
            hot_water: of_hot_water,
            recharge: of_recharge,
        } = demands.scales();
        time_block.set([of_heating, of_hot_water, of_cooling, of_recharge], |hour| HourLoads {
            heating: [heating[hour], hot_water[hour]],
            cooling: cooling[hour],
            recharge: [recharge[hour], recovered[hour]],
            electricity: [element[hour], distribution[hour]],
        });
        time_block.heating.side = side(&series.heating_entering_load_temperature);
        time_block.cooling.side = side(&series.cooling_entering_load_temperature);
        time_block
    }
}

impl<D: Copy, const H: usize> TimeBlock<D, H> {
    /// Heating of rooms and hot water in each hour (W).
    #[must_use]
    #[inline(always)]
    pub fn heating(&self) -> &[D; H] {
        &self.heating.amount
    }

    /// Cooling of rooms in each hour (W).
    #[must_use]
    #[inline(always)]
    pub fn cooling(&self) -> &[D; H] {
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
    pub(crate) fn loads<A: LaneLayout<Demand = D>>(&self, layout: A, part: usize) -> ModeLoads<A::Wide> {
        ModeLoads {
            heating: self.heats().then(|| self.heating_load(layout, part)),
            cooling: self.cools().then(|| self.cooling_load(layout, part)),
        }
    }

    /// Heating loads of heat pumps in one part of the hours.
    #[inline(always)]
    pub(crate) fn heating_load<A: LaneLayout<Demand = D>>(&self, layout: A, part: usize) -> Load<A::Wide> {
        self.heating.load(layout, part)
    }

    /// Cooling loads of heat pumps in one part of the hours.
    #[inline(always)]
    pub(crate) fn cooling_load<A: LaneLayout<Demand = D>>(&self, layout: A, part: usize) -> Load<A::Wide> {
        self.cooling.load(layout, part)
    }

    /// The time block of one of the designs, each with a number of type `N`.
    pub(super) fn of_design<N: Lanes>(&self, design: usize) -> TimeBlock<f64, H>
    where
        D: Demanded<N>,
    {
        let each = |hours: &[D; H]| hours.map(|number| number.of_design(design));
        let mode = |mode: &ModeHours<D, H>| ModeHours {
            amount: each(&mode.amount),
            is_needed: mode.is_needed,
            side: mode.side.as_ref().map(each),
        };
        TimeBlock {
            heating: mode(&self.heating),
            cooling: mode(&self.cooling),
            net_recharge: each(&self.net_recharge),
            any_circulates: self.any_circulates,
            other_electricity: each(&self.other_electricity),
            circulates: each(&self.circulates),
            circulates_for_heat_pump: each(&self.circulates_for_heat_pump),
            runs: each(&self.runs),
            asks_heat_pump: self.asks_heat_pump,
            exchanges_heat: self.exchanges_heat,
        }
    }
}
