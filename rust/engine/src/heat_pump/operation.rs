//! One hour of the heat pump at a given entering fluid temperature.

use std::array::from_fn;

use super::cubic::Cubic;
use super::demand::{Asked, Demand};
use super::stage::Stage;
use super::tangent::Number;
use super::{HeatPump, Mode};
use crate::lanes::Lanes;

/// Distance [K] from the temperature of a lock-out over which the capacity comes back: over an hour the unit trips and
/// returns more or less often.
const LOCK_OUT_SPAN: f64 = 1.0;

/// Share of the capacity that a locked-out unit is left with, so that no part load is a share of nothing.
const LEAST_SHARE: f64 = 1e-9;

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

/// A mode of heat pumps in the form that the hourly loop evaluates.
#[derive(Debug, Clone, Copy, PartialEq)]
struct ReadyMode<const L: usize> {
    full: Stage<L>,
    /// The lowest stage; of a unit with one stage the full one.
    low: Stage<L>,
    is_staged: [bool; L],
    is_variable: [bool; L],
    cycling_loss: Lanes<L>,
    /// Share of the capacity near the temperature of a lock-out, held to a range of temperatures.
    unlocked: Cubic<L>,
    locked_at: Lanes<L>,
    unlocked_at: Lanes<L>,
    locks_out: bool,
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
        let mode =
            |of: fn(&HeatPump) -> [Option<&Mode>; 2], lock_out: fn(&HeatPump) -> Option<f64>, direction| {
                ReadyMode::new(heat_pumps, heat_pumps.map(of), heat_pumps.map(lock_out), direction)
            };
        Self {
            heating: mode(|h| [h.heating.as_ref(), h.heating_low.as_ref()], |h| h.heating_lock_out, 1.0),
            cooling: mode(|h| [h.cooling.as_ref(), h.cooling_low.as_ref()], |h| h.cooling_lock_out, -1.0),
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
    /// (the linear form of ARI 210/240, from memory) up to the capacity of its lowest stage. Above that, stages take turns, so that
    /// the electricity rises straight from that of the lowest to that of full capacity; with variable speed the COP changes
    /// straight between the two. Beyond the range of its table a mode acts as at the range's end. Within 1 K of the temperature
    /// at which it locks out its capacity falls to nothing.
    #[must_use]
    #[inline(always)]
    pub fn operate<N: Number<L>>(&self, entering_fluid: Lanes<L>, asked: &Asked<L>) -> Operation<N> {
        let mut operation = Operation::default();
        if asked.heats() {
            let (delivered, electricity) =
                self.heating.work::<N>(entering_fluid, asked.heating, asked.heating_side);
            operation.heating = delivered;
            operation.heat_extracted = delivered - electricity;
        }
        if asked.cools() {
            let (delivered, electricity) =
                self.cooling.work::<N>(entering_fluid, asked.cooling, asked.cooling_side);
            operation.cooling = delivered;
            operation.heat_extracted = operation.heat_extracted - (delivered + electricity);
        }
        operation
    }

    /// The heat pumps of some lanes.
    #[must_use]
    pub fn lanes<const M: usize>(&self, lanes: [usize; M]) -> ReadyHeatPump<M> {
        ReadyHeatPump { heating: self.heating.lanes(lanes), cooling: self.cooling.lanes(lanes) }
    }

    /// Where an entering fluid temperature [degC] is outside the table of a mode that is asked for.
    #[must_use]
    #[inline(always)]
    pub fn is_outside_table(&self, entering_fluid: Lanes<L>, demand: &Demand) -> [bool; L] {
        let outside = |mode: &ReadyMode<L>, load: f64, side: Option<f64>, lane: usize| {
            load > 0.0 && mode.full.is_outside(lane, entering_fluid.0[lane], side)
        };
        from_fn(|lane| {
            outside(&self.heating, demand.heating, demand.heating_side, lane)
                || outside(&self.cooling, demand.cooling, demand.cooling_side, lane)
        })
    }

    /// Share of the hour in which the compressors run.
    #[must_use]
    #[inline(always)]
    pub fn running_share(&self, entering_fluid: Lanes<L>, asked: &Asked<L>) -> Lanes<L> {
        let mut share = Lanes::default();
        if asked.heats() {
            share = self.heating.running_share(entering_fluid, asked.heating, asked.heating_side);
        }
        if asked.cools() {
            share = share + self.cooling.running_share(entering_fluid, asked.cooling, asked.cooling_side);
        }
        share.min(Lanes::all(1.0))
    }
}

impl<const L: usize> ReadyMode<L> {
    /// `direction` is 1 where the unit runs above the temperature of its lock-out, -1 below it.
    fn new(
        heat_pumps: [&HeatPump; L],
        modes: [[Option<&Mode>; 2]; L],
        lock_outs: [Option<f64>; L],
        direction: f64,
    ) -> Self {
        let lock_out = |of: fn(f64, f64) -> f64, none: f64| {
            Lanes(lock_outs.map(|at| at.map_or(none, |at| of(at, at + direction * LOCK_OUT_SPAN))))
        };
        let ramps = lock_outs.map(|at| at.map_or([1.0, 0.0], |at| [-direction * at, direction]));
        Self {
            full: Stage::new(modes.map(|[full, _]| full)),
            low: Stage::new(modes.map(|[full, low]| low.or(full))),
            is_staged: modes.map(|[_, low]| low.is_some()),
            is_variable: heat_pumps.map(|heat_pump| heat_pump.variable_speed),
            cycling_loss: Lanes(heat_pumps.map(|heat_pump| heat_pump.cycling_loss)),
            unlocked: Cubic::new(from_fn(|lane| &ramps[lane][..])),
            locked_at: lock_out(f64::min, 0.0),
            unlocked_at: lock_out(f64::max, 0.0),
            locks_out: lock_outs.iter().any(Option::is_some),
        }
    }

    fn lanes<const M: usize>(&self, lanes: [usize; M]) -> ReadyMode<M> {
        ReadyMode {
            full: self.full.lanes(lanes),
            low: self.low.lanes(lanes),
            is_staged: lanes.map(|lane| self.is_staged[lane]),
            is_variable: lanes.map(|lane| self.is_variable[lane]),
            cycling_loss: self.cycling_loss.lanes(lanes),
            unlocked: self.unlocked.lanes(lanes),
            locked_at: self.locked_at.lanes(lanes),
            unlocked_at: self.unlocked_at.lanes(lanes),
            locks_out: self.locks_out,
        }
    }

    /// COP and capacity of a stage, less what a lock-out takes from it.
    #[inline(always)]
    fn cop_and_capacity<N: Number<L>>(
        &self,
        stage: &Stage<L>,
        entering_fluid: Lanes<L>,
        side: Option<Lanes<L>>,
    ) -> (N, N) {
        let (cop, capacity) = stage.cop_and_capacity::<N>(entering_fluid, side);
        if !self.locks_out {
            return (cop, capacity);
        }
        let share = N::along(&self.unlocked, entering_fluid, self.locked_at, self.unlocked_at);
        (cop, capacity * (share.times(Lanes::all(1.0 - LEAST_SHARE)) + N::constant(Lanes::all(LEAST_SHARE))))
    }

    /// Heat delivered for a load and electricity for that [W].
    ///
    /// With capacity C, delivered D and cycling loss l, electricity = D C / (COP x ((1 - l) C + l D)): one division.
    #[inline(always)]
    fn work<N: Number<L>>(&self, entering_fluid: Lanes<L>, load: Lanes<L>, side: Option<Lanes<L>>) -> (N, N) {
        let (cop, capacity) = self.cop_and_capacity::<N>(&self.low, entering_fluid, side);
        let load = N::constant(load);
        let cycling = lesser(load, capacity);
        let run = (cycling - capacity).times(self.cycling_loss) + capacity;
        let electricity = (cycling * capacity).over(cop * run);
        if self.is_staged == [false; L] {
            return (cycling, electricity);
        }
        let (full_cop, full_capacity) = self.cop_and_capacity::<N>(&self.full, entering_fluid, side);
        let delivered = lesser(load, full_capacity);
        let beyond = (delivered - capacity).over(full_capacity - capacity);
        let in_turns = electricity + (full_capacity.over(full_cop) - capacity.over(cop)) * beyond;
        let between = delivered.over(cop + (full_cop - cop) * beyond);
        let staged = between.or_else(self.is_variable, in_turns);
        let is_low = capacity.value().is_below(delivered.value()).map(|is_above| !is_above);
        let is_low = from_fn(|lane| is_low[lane] || !self.is_staged[lane]);
        (cycling.or_else(is_low, delivered), electricity.or_else(is_low, staged))
    }

    /// Share of the hour in which a load keeps the compressor running.
    #[inline(always)]
    fn running_share(&self, entering_fluid: Lanes<L>, load: Lanes<L>, side: Option<Lanes<L>>) -> Lanes<L> {
        let (_, capacity) = self.low.cop_and_capacity::<Lanes<L>>(entering_fluid, side);
        load.over(capacity).min(Lanes::all(1.0))
    }
}

/// The number with the lesser value.
#[inline(always)]
fn lesser<const L: usize, N: Number<L>>(a: N, b: N) -> N {
    a.or_else(a.value().is_below(b.value()), b)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::heat_pump::{LoadSide, Tangent};
    use proptest::prelude::*;

    fn mode(scale: f64, cop: f64) -> Mode {
        Mode {
            cop: vec![cop, 0.08],
            capacity: Some(vec![scale * 10e3, scale * 300.0]),
            load_side: Some(LoadSide {
                reference: 35.0,
                range: [25.0, 50.0],
                cop: vec![-0.06],
                capacity: vec![-40.0],
            }),
            ..Mode::default()
        }
    }

    fn unit() -> HeatPump {
        HeatPump { heating: Some(mode(1.0, 3.5)), cycling_loss: 0.2, ..HeatPump::default() }
    }

    fn asked(demand: &Demand) -> Asked<1> {
        Asked {
            heating: Lanes([demand.heating]),
            cooling: Lanes([demand.cooling]),
            heating_side: demand.heating_side.map(Lanes::all),
            cooling_side: demand.cooling_side.map(Lanes::all),
        }
    }

    /// Heat delivered and electricity [W].
    fn heating(heat_pump: &HeatPump, entering_fluid: f64, load: f64, side: Option<f64>) -> (f64, f64) {
        let demand = Demand { heating: load, heating_side: side, ..Demand::default() };
        let done: Operation<Lanes<1>> =
            ReadyHeatPump::new([heat_pump]).operate(Lanes([entering_fluid]), &asked(&demand));
        (done.heating.0[0], done.heating.0[0] - done.heat_extracted.0[0])
    }

    fn assert_close(found: (f64, f64), expected: (f64, f64)) {
        let close = |a: f64, b: f64| (a - b).abs() <= 1e-9 * b.abs();
        assert!(close(found.0, expected.0) && close(found.1, expected.1), "{found:?} {expected:?}");
    }

    #[test]
    fn a_warmer_building_side_costs_cop_and_capacity() {
        // At 5 degC and 45 degC: capacity 11500 - 400, COP 3.9 - 0.6; beyond 50 degC as at 50.
        assert_close(heating(&unit(), 5.0, 20e3, Some(45.0)), (11_100.0, 11_100.0 / 3.3));
        assert_close(heating(&unit(), 5.0, 20e3, Some(35.0)), heating(&unit(), 5.0, 20e3, None));
        assert_close(heating(&unit(), 5.0, 20e3, Some(60.0)), heating(&unit(), 5.0, 20e3, Some(50.0)));
    }

    #[test]
    fn stages_take_turns_and_speeds_lie_between() {
        let two = HeatPump { heating_low: Some(mode(0.6, 4.1)), ..unit() };
        let variable = HeatPump { variable_speed: true, ..two.clone() };
        // At 5 degC the stages give 6900 W at a COP of 4.5 and 11500 W at 3.9.
        let (low, full) = (6900.0 / 4.5, 11_500.0 / 3.9);
        for unit in [&two, &variable] {
            assert_close(heating(unit, 5.0, 6900.0, None), (6900.0, low));
            assert_close(heating(unit, 5.0, 11_500.0, None), (11_500.0, full));
            assert_close(heating(unit, 5.0, 15e3, None), (11_500.0, full));
            // Half of the lowest stage: part load factor 1 - 0.2 / 2.
            assert_close(heating(unit, 5.0, 3450.0, None), (3450.0, 3450.0 / (4.5 * 0.9)));
        }
        assert_close(heating(&two, 5.0, 9200.0, None), (9200.0, 0.5 * (low + full)));
        assert_close(heating(&variable, 5.0, 9200.0, None), (9200.0, 9200.0 / 4.2));
    }

    #[test]
    fn a_unit_locks_out_within_a_kelvin() {
        let unit = HeatPump { heating_lock_out: Some(-2.0), cycling_loss: 0.0, ..unit() };
        assert!(heating(&unit, -2.0, 5e3, None).0 < 1e-4);
        assert!(heating(&unit, -9.0, 5e3, None).0 < 1e-4);
        assert_close(heating(&unit, -1.0, 20e3, None), (9700.0, 9700.0 / 3.42));
        let half = heating(&unit, -1.5, 20e3, None);
        assert!((half.0 - 0.5 * 9550.0).abs() < 1e-4, "{half:?}");
    }

    #[test]
    fn the_pump_runs_with_the_compressor() {
        let share = |heat_pump: &HeatPump, load: f64| {
            let demand = Demand { heating: load, ..Demand::default() };
            ReadyHeatPump::new([heat_pump]).running_share(Lanes([5.0]), &asked(&demand)).0[0]
        };
        assert!((share(&unit(), 2300.0) - 0.2).abs() < 1e-12);
        assert!(
            (share(&HeatPump { heating_low: Some(mode(0.6, 4.1)), ..unit() }, 3450.0) - 0.5).abs() < 1e-12
        );
        assert!((share(&unit(), 30e3) - 1.0).abs() < 1e-12);
    }

    proptest! {
        #[test]
        fn slopes_are_those_of_small_steps(
            entering in -4.0..25.0_f64,
            load in 500.0..16e3_f64,
            side in 26.0..49.0_f64,
            variable_speed: bool,
        ) {
            let low = Some(mode(0.5, 4.0));
            let unit = HeatPump { heating_low: low, variable_speed, heating_lock_out: Some(-5.0), ..unit() };
            let demand = Demand { heating: load, heating_side: Some(side), ..Demand::default() };
            let (ready, demand) = (ReadyHeatPump::new([&unit]), asked(&demand));
            let near: Operation<Tangent<1>> = ready.operate(Lanes([entering]), &demand);
            let value = |t: f64| ready.operate::<Lanes<1>>(Lanes([t]), &demand).heat_extracted.0[0];
            let step = 1e-3;
            let (left, right) = ((value(entering) - value(entering - step)) / step, (value(entering + step) - value(entering)) / step);
            // At a kink, where a stage or a range ends, the slope is that of one side.
            let slope = near.heat_extracted.slope.0[0];
            let scale = 1.0 + slope.abs();
            prop_assert!((slope - left).abs().min((slope - right).abs()) < 2e-3 * scale, "{slope} {left} {right}");
            prop_assert!((near.heat_extracted.value.0[0] - value(entering)).abs() < 1e-9 * load);
        }
    }
}
