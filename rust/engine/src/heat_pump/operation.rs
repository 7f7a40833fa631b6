//! One hour of the heat pump at a given entering fluid temperature.

use super::HeatPump;
use super::demand::{Load, ModeLoads};
use super::operating_mode::{ModeOf, PreparedMode};
use super::tangent::Number;
use crate::lanes::{Lanes, Mask};

/// Operation of heat pumps in one hour (W), for a number type `T`.
#[derive(Debug, Clone, Copy)]
pub struct Operation<T> {
    /// Heat delivered to the building.
    pub heating: T,
    /// Heat removed from the building.
    pub cooling: T,
    /// Heat extracted from the ground: heating minus electricity in heating, minus both in cooling.
    pub heat_extracted: T,
}

/// Heat pumps in the form that the hourly loop evaluates, one per lane.
#[derive(Debug, Clone, Copy)]
pub struct PreparedHeatPump<N: Lanes> {
    heating: PreparedMode<N>,
    cooling: PreparedMode<N>,
}

impl<N: Lanes> PreparedHeatPump<N> {
    /// Prepares the heat pumps of the lanes; loads must not contain a mode that one of them lacks.
    #[must_use]
    pub fn new<'a>(instructions: N::Instructions, heat_pump: impl Fn(usize) -> &'a HeatPump) -> Self {
        let heating = |lane: usize| ModeOf {
            full: heat_pump(lane).heating.as_ref(),
            low: heat_pump(lane).heating_low.as_ref(),
            lock_out: heat_pump(lane).heating_lock_out,
            direction: 1.0,
            heat_pump: heat_pump(lane),
        };
        let cooling = |lane: usize| ModeOf {
            full: heat_pump(lane).cooling.as_ref(),
            low: heat_pump(lane).cooling_low.as_ref(),
            lock_out: heat_pump(lane).cooling_lock_out,
            direction: -1.0,
            heat_pump: heat_pump(lane),
        };
        Self {
            heating: PreparedMode::new(instructions, heating),
            cooling: PreparedMode::new(instructions, cooling),
        }
    }

    /// Operation of the heat pumps at entering fluid temperatures (degC), or at and around them.
    ///
    /// Each mode delivers its load, at most its capacity, and uses
    ///
    /// ```text
    /// electricity = delivered / (COP x part load factor)
    /// part load factor = 1 - cycling loss x (1 - delivered / capacity)
    /// ```
    ///
    /// (the linear form of ARI 210/240, from memory, checked by tests/reference/test_second_sources_water.py) up to the
    /// capacity of its lowest stage. Above that, stages alternate, so the electricity rises linearly from that of the
    /// lowest stage to that of full capacity; with variable speed the COP changes linearly between the two. Beyond the
    /// range of its table a mode performs as at the end of the range. Within 1 K of its lock-out temperature the
    /// capacity falls to zero.
    ///
    /// A unit has one compressor: if heating and cooling of one hour exceed its time, they share it (see
    /// `share_time`).
    #[must_use]
    #[inline(always)]
    pub fn operate<T: Number<N>>(&self, entering_fluid: N, loads: &ModeLoads<N>) -> Operation<T> {
        let nothing = T::constant(entering_fluid.like(0.0));
        let mut operation = Operation { heating: nothing, cooling: nothing, heat_extracted: nothing };
        if let Some(load) = loads.heating {
            let (delivered, electricity) = self.heating.work::<T>(entering_fluid, load);
            operation.heating = delivered;
            operation.heat_extracted = delivered - electricity;
        }
        if let Some(load) = loads.cooling {
            let (delivered, electricity) = self.cooling.work::<T>(entering_fluid, load);
            operation.cooling = delivered;
            operation.heat_extracted = operation.heat_extracted - (delivered + electricity);
        }
        if let (Some(heating), Some(cooling)) = (loads.heating, loads.cooling) {
            let none = entering_fluid.like(0.0);
            let does_both = none.is_below(heating.amount).and(none.is_below(cooling.amount));
            if does_both.any() {
                return self.share_time(entering_fluid, heating, cooling, does_both, operation);
            }
        }
        operation
    }

    /// Where both modes run (`does_both`) and together exceed the hour, their operation in the time that each gets;
    /// elsewhere the operation of each `alone`.
    ///
    /// Alone, a mode runs for a share b of the hour at its lowest stage, or for a smaller share a at full capacity,
    /// both at most the share in which it isn't locked out. With the sums B and A over the modes, each runs for
    ///
    /// ```text
    /// b                          if B <= 1: they fit
    /// b - (b - a) (B - 1) / (B - A)   if A <= 1 < B: they fit at higher stages
    /// a / A                      if A > 1: they don't; each is cut short in proportion to its time
    /// ```
    ///
    /// Neither mode has priority, because a design doesn't state which matters more; the times are continuous
    /// everywhere.
    #[inline(always)]
    fn share_time<T: Number<N>>(
        &self,
        entering_fluid: N,
        heating: Load<N>,
        cooling: Load<N>,
        does_both: N::Mask,
        alone: Operation<T>,
    ) -> Operation<T> {
        let one = entering_fluid.like(1.0);
        let heats = self.heating.time_alone::<T>(entering_fluid, heating);
        let cools = self.cooling.time_alone::<T>(entering_fluid, cooling);
        let (at_lowest, at_full) = (heats.at_lowest + cools.at_lowest, heats.at_full + cools.at_full);
        let is_crowded = does_both.and(one.is_below(at_lowest.value()));
        if !is_crowded.any() {
            return alone;
        }
        let fits = at_full.value().is_below(one);
        let hastened = (at_lowest - T::constant(one)).over(at_lowest - at_full);
        let time_to_heat = heats.beside_another(fits, hastened, at_full);
        let time_to_cool = cools.beside_another(fits, hastened, at_full);
        let (heat, to_heat) = self.heating.work_for(entering_fluid, heating, time_to_heat);
        let (cold, to_cool) = self.cooling.work_for(entering_fluid, cooling, time_to_cool);
        Operation {
            heating: heat.or_else(is_crowded, alone.heating),
            cooling: cold.or_else(is_crowded, alone.cooling),
            heat_extracted: (heat - to_heat - (cold + to_cool)).or_else(is_crowded, alone.heat_extracted),
        }
    }

    /// Where an entering fluid temperature (degC) is outside the table of a mode with a load.
    #[must_use]
    #[inline(always)]
    pub fn is_outside_table(&self, entering_fluid: N, loads: &ModeLoads<N>) -> N::Mask {
        let nothing = entering_fluid.like(0.0);
        let mut is_outside = nothing.is_below(nothing);
        if let Some(load) = loads.heating {
            is_outside = self.heating.is_outside_table(entering_fluid, load);
        }
        if let Some(load) = loads.cooling {
            is_outside = is_outside.or(self.cooling.is_outside_table(entering_fluid, load));
        }
        is_outside
    }

    /// Share of the hour in which the compressors run; zero in a lock-out.
    #[must_use]
    #[inline(always)]
    pub fn running_share(&self, entering_fluid: N, loads: &ModeLoads<N>) -> N {
        let mut share = entering_fluid.like(0.0);
        if let Some(load) = loads.heating {
            share = self.heating.running_share(entering_fluid, load);
        }
        if let Some(load) = loads.cooling {
            share = share + self.cooling.running_share(entering_fluid, load);
        }
        share.min(entering_fluid.like(1.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::heat_pump::operating_mode::LEAST_SHARE;
    use crate::heat_pump::{EnteringLoadCorrection, Mode, Tangent};
    use proptest::prelude::*;

    fn mode(scale: f64, cop: f64) -> Mode {
        Mode {
            cop: vec![cop, 0.08],
            capacity: Some(vec![scale * 10e3, scale * 300.0]),
            entering_load: Some(EnteringLoadCorrection {
                reference: 35.0,
                range: [25.0, 50.0],
                cop: vec![-0.06],
                capacity: vec![-40.0],
            }),
            ..Mode::default()
        }
    }

    fn unit() -> HeatPump {
        HeatPump { heating: Some(mode(1.0, 3.5)), degradation_coefficient: 0.2, ..HeatPump::default() }
    }

    fn prepared(heat_pump: &HeatPump) -> PreparedHeatPump<f64> {
        PreparedHeatPump::new((), |_| heat_pump)
    }

    fn loads(amount: f64, side: Option<f64>) -> ModeLoads<f64> {
        ModeLoads { heating: Some(Load { amount, side }), cooling: None }
    }

    /// Heat delivered and electricity (W).
    fn heating(heat_pump: &HeatPump, entering_fluid: f64, load: f64, side: Option<f64>) -> (f64, f64) {
        let done: Operation<f64> = prepared(heat_pump).operate(entering_fluid, &loads(load, side));
        (done.heating, done.heating - done.heat_extracted)
    }

    fn assert_close(found: (f64, f64), expected: (f64, f64)) {
        let close = |a: f64, b: f64| (a - b).abs() <= 1e-9 * b.abs();
        assert!(close(found.0, expected.0) && close(found.1, expected.1), "{found:?} {expected:?}");
    }

    #[test]
    fn a_warmer_entering_load_reduces_cop_and_capacity() {
        // At 5 degC and 45 degC: capacity 11500 - 400, COP 3.9 - 0.6; beyond 50 degC as at 50.
        assert_close(heating(&unit(), 5.0, 20e3, Some(45.0)), (11_100.0, 11_100.0 / 3.3));
        assert_close(heating(&unit(), 5.0, 20e3, Some(35.0)), heating(&unit(), 5.0, 20e3, None));
        assert_close(heating(&unit(), 5.0, 20e3, Some(60.0)), heating(&unit(), 5.0, 20e3, Some(50.0)));
    }

    #[test]
    fn stages_alternate_and_speeds_are_in_between() {
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
        let unit = HeatPump { heating_lock_out: Some(-2.0), degradation_coefficient: 0.0, ..unit() };
        assert!(heating(&unit, -2.0, 5e3, None).0 < 1e-4);
        assert!(heating(&unit, -9.0, 5e3, None).0 < 1e-4);
        assert_close(heating(&unit, -1.0, 20e3, None), (9700.0, 9700.0 / 3.42));
        let half = heating(&unit, -1.5, 20e3, None);
        assert!((half.0 - 0.5 * 9550.0).abs() < 1e-4, "{half:?}");
    }

    #[test]
    fn the_pump_runs_with_the_compressor() {
        let share =
            |heat_pump: &HeatPump, load: f64| prepared(heat_pump).running_share(5.0, &loads(load, None));
        assert!((share(&unit(), 2300.0) - 0.2).abs() < 1e-12);
        assert!(
            (share(&HeatPump { heating_low: Some(mode(0.6, 4.1)), ..unit() }, 3450.0) - 0.5).abs() < 1e-12
        );
        assert!((share(&unit(), 30e3) - 1.0).abs() < 1e-12);
        let unlimited =
            |heating: Mode| HeatPump { heating: Some(Mode { capacity: None, ..heating }), ..unit() };
        let plain = Mode { cop: vec![3.5], ..Mode::default() };
        assert_eq!([share(&unlimited(plain.clone()), 10.0), share(&unlimited(plain), 0.0)], [1.0, 0.0]);
    }

    /// A unit with both modes and different high stages.
    fn both() -> HeatPump {
        let cooling = Mode { cop: vec![6.0, -0.05], capacity: Some(vec![11e3, -60.0]), ..Mode::default() };
        HeatPump { cooling: Some(cooling), ..unit() }
    }

    fn both_staged(variable_speed: bool) -> HeatPump {
        let low = Mode { cop: vec![6.5, -0.05], capacity: Some(vec![5e3, -30.0]), ..Mode::default() };
        HeatPump { heating_low: Some(mode(0.6, 4.1)), cooling_low: Some(low), variable_speed, ..both() }
    }

    fn does(heat_pump: &HeatPump, entering_fluid: f64, heating: f64, cooling: f64) -> Operation<f64> {
        let load = |amount| Some(Load { amount, side: None });
        prepared(heat_pump)
            .operate(entering_fluid, &ModeLoads { heating: load(heating), cooling: load(cooling) })
    }

    #[test]
    fn heating_and_cooling_share_the_hour() {
        // At 5 degC: 11.5 kW of heating at a COP of 3.9, 10.7 kW of cooling at 5.75.
        let unit = HeatPump { degradation_coefficient: 0.0, ..both() };
        let done = does(&unit, 5.0, 23e3, 8560.0);
        // Alone they would run for 1 and 0.8 of the hour.
        let (heat, cold) = (11_500.0 / 1.8, 0.8 * 10_700.0 / 1.8);
        assert_close((done.heating, done.cooling), (heat, cold));
        assert_close((done.heat_extracted, 1.0), (heat * (1.0 - 1.0 / 3.9) - cold * (1.0 + 1.0 / 5.75), 1.0));
        // If both fit, each operates as if the other mode did not exist.
        let done = does(&unit, 5.0, 5750.0, 5000.0);
        assert_eq!((done.heating, done.cooling), (5750.0, 5000.0));
    }

    #[test]
    fn higher_stages_leave_time_for_the_other_mode() {
        // At full capacity 0.5 and 0.45 of the hour, at the lowest stage 0.83 and 0.99.
        for variable_speed in [false, true] {
            let done = does(&both_staged(variable_speed), 5.0, 5750.0, 4815.0);
            assert_eq!((done.heating, done.cooling), (5750.0, 4815.0));
            let done = does(&both_staged(variable_speed), 5.0, 11_500.0, 10_700.0);
            assert_close((done.heating, done.cooling), (5750.0, 5350.0));
        }
    }

    #[test]
    fn a_locked_out_mode_takes_no_time() {
        let unit = HeatPump { heating_lock_out: Some(6.0), ..both() };
        let done = does(&unit, 5.0, 9e3, 10_700.0);
        assert!(done.heating < 1e-4, "{}", done.heating);
        assert!((done.cooling - 10_700.0).abs() < 1e-4, "{}", done.cooling);
        let load = |amount| Some(Load { amount, side: None });
        let share = prepared(&unit).running_share(5.0, &ModeLoads { heating: load(9e3), cooling: None });
        assert!(share < 1e-8, "{share}");
    }

    proptest! {
        #[test]
        fn both_modes_fit_into_an_hour_and_slopes_are_those_of_small_steps(
            entering in -4.0..25.0_f64,
            heating in 500.0..16e3_f64,
            cooling in 500.0..16e3_f64,
            staged: bool,
            variable_speed: bool,
        ) {
            let unit = if staged { both_staged(variable_speed) } else { both() };
            let unit = HeatPump { heating_lock_out: Some(0.0), cooling_lock_out: Some(20.0), ..unit };
            let done = does(&unit, entering, heating, cooling);
            let most = does(&unit, entering, 1e9, 0.0).heating;
            let most_cold = does(&unit, entering, 0.0, 1e9).cooling;
            let unlocked = |distance: f64| distance.clamp(LEAST_SHARE, 1.0);
            let time = done.heating / most * unlocked(entering) + done.cooling / most_cold * unlocked(20.0 - entering);
            prop_assert!(time < 1.0 + 1e-8, "{time}");
            prop_assert!(done.heating <= heating && done.cooling <= cooling);
            // If any load is not met, no time is left.
            if done.heating < most.min(heating) * (1.0 - 1e-9) || done.cooling < most_cold.min(cooling) * (1.0 - 1e-9) {
                prop_assert!(time > 1.0 - 1e-8, "{time}");
            }
            let load = |amount| Some(Load { amount, side: None });
            let loads = ModeLoads { heating: load(heating), cooling: load(cooling) };
            let near: Operation<Tangent<f64>> = prepared(&unit).operate(entering, &loads);
            let value = |t: f64| does(&unit, t, heating, cooling).heat_extracted;
            let step = 1e-4;
            let (left, right) = ((value(entering) - value(entering - step)) / step, (value(entering + step) - value(entering)) / step);
            let slope = near.heat_extracted.slope;
            let scale = 1.0 + slope.abs();
            prop_assert!((slope - left).abs().min((slope - right).abs()) < 2e-3 * scale, "{slope} {left} {right}");
            // Continuous everywhere: the value follows the slopes on both sides.
            prop_assert!((value(entering + step) - value(entering - step)).abs() < step * 1e5);
        }

        #[test]
        fn slopes_are_those_of_small_steps(
            entering in -4.0..25.0_f64,
            load in 500.0..16e3_f64,
            side in 26.0..49.0_f64,
            variable_speed: bool,
        ) {
            let low = Some(mode(0.5, 4.0));
            let unit = HeatPump { heating_low: low, variable_speed, heating_lock_out: Some(-5.0), ..unit() };
            let (prepared, loads) = (prepared(&unit), loads(load, Some(side)));
            let near: Operation<Tangent<f64>> = prepared.operate(entering, &loads);
            let value = |t: f64| prepared.operate::<f64>(t, &loads).heat_extracted;
            let step = 1e-3;
            let (left, right) = ((value(entering) - value(entering - step)) / step, (value(entering + step) - value(entering)) / step);
            // At a kink, where a stage or a range ends, the slope is that of one side.
            let slope = near.heat_extracted.slope;
            let scale = 1.0 + slope.abs();
            prop_assert!((slope - left).abs().min((slope - right).abs()) < 2e-3 * scale, "{slope} {left} {right}");
            prop_assert!((near.heat_extracted.value - value(entering)).abs() < 1e-9 * load);
        }
    }
}
