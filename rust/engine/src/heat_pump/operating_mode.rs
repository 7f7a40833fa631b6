//! One hour of one mode of heat pumps: stages, cycling and lock-outs.

use super::cubic::Cubic;
use super::demand::Load;
use super::stage::Stage;
use super::tangent::Number;
use super::{HeatPump, Mode};
use crate::lanes::{Lanes, Mask};

/// Range of temperatures (K) at a lock-out over which the capacity returns: within an hour the unit trips and restarts
/// more or less often.
const LOCK_OUT_SPAN: f64 = 1.0;

/// Share of the capacity that remains in a lock-out, to avoid division by zero in part loads.
pub const LEAST_SHARE: f64 = 1e-9;

/// A mode of heat pumps in the form that the hourly loop evaluates, one heat pump per lane.
#[derive(Debug, Clone, Copy)]
#[repr(C, align(64))] // No vector lies across two lines of the processor's cache.
pub struct PreparedMode<N: Lanes> {
    full: Stage<N>,
    /// The lowest stage; for a unit with one stage the full one.
    low: Stage<N>,
    degradation_coefficient: N,
    /// Share of the capacity near the lock-out temperature, clamped to a range of temperatures.
    unlocked: Cubic<N>,
    locked_at: N,
    unlocked_at: N,
    /// Whether its capacity is known.
    is_limited: N::Mask,
    is_staged: N::Mask,
    is_variable: N::Mask,
    /// Whether any lane has more than one stage, and whether any has a lock-out.
    stages: bool,
    locks_out: bool,
}

/// One mode of the heat pump in a lane.
pub struct ModeOf<'a> {
    pub full: Option<&'a Mode>,
    pub low: Option<&'a Mode>,
    /// Its lock-out temperature (degC).
    pub lock_out: Option<f64>,
    /// 1 if the unit runs above it, -1 if it runs below.
    pub direction: f64,
    pub heat_pump: &'a HeatPump,
}

impl<N: Lanes> PreparedMode<N> {
    pub fn new<'a>(instructions: N::Instructions, mode: impl Fn(usize) -> ModeOf<'a>) -> Self {
        let each = |of: &dyn Fn(ModeOf<'a>) -> f64| N::each(instructions, |lane| of(mode(lane)));
        let is = |of: &dyn Fn(ModeOf<'a>) -> bool| {
            N::all(instructions, 0.0).is_below(each(&|mode| f64::from(u8::from(of(mode)))))
        };
        let lock_out = |of: fn(f64, f64) -> f64| {
            each(&|mode| mode.lock_out.map_or(0.0, |at| of(at, at + mode.direction * LOCK_OUT_SPAN)))
        };
        let ramps: Vec<[f64; 2]> = (0..N::COUNT)
            .map(&mode)
            .map(|mode| mode.lock_out.map_or([1.0, 0.0], |at| [-mode.direction * at, mode.direction]))
            .collect();
        let any = |of: fn(&ModeOf<'a>) -> bool| (0..N::COUNT).any(|lane| of(&mode(lane)));
        Self {
            full: Stage::new(instructions, |lane| mode(lane).full),
            low: Stage::new(instructions, |lane| mode(lane).low.or(mode(lane).full)),
            degradation_coefficient: each(&|mode| mode.heat_pump.degradation_coefficient),
            unlocked: Cubic::new(instructions, |lane| &ramps[lane][..]),
            locked_at: lock_out(f64::min),
            unlocked_at: lock_out(f64::max),
            is_limited: is(&|mode| mode.low.or(mode.full).is_some_and(|mode| mode.capacity.is_some())),
            is_staged: is(&|mode| mode.low.is_some()),
            is_variable: is(&|mode| mode.heat_pump.variable_speed),
            stages: any(|mode| mode.low.is_some()),
            locks_out: any(|mode| mode.lock_out.is_some()),
        }
    }

    /// COP and capacity of a stage, reduced by a lock-out.
    #[inline(always)]
    fn cop_and_capacity<T: Number<N>>(&self, stage: &Stage<N>, entering_fluid: N, side: Option<N>) -> (T, T) {
        let (cop, capacity) = stage.cop_and_capacity::<T>(entering_fluid, side);
        if !self.locks_out {
            return (cop, capacity);
        }
        (cop, capacity * self.time_unlocked::<T>(entering_fluid))
    }

    /// Share of the hour in which it isn't locked out, never quite zero.
    #[inline(always)]
    fn time_unlocked<T: Number<N>>(&self, entering_fluid: N) -> T {
        let share = T::along(&self.unlocked, entering_fluid, self.locked_at, self.unlocked_at);
        let constant = |value: f64| entering_fluid.like(value);
        share.times(constant(1.0 - LEAST_SHARE)) + T::constant(constant(LEAST_SHARE))
    }

    /// Heat delivered for a load and the electricity for it (W).
    ///
    /// With capacity C, delivered D and cycling loss l, electricity = D C / (COP x ((1 - l) C + l D)): one division.
    #[inline(always)]
    pub fn work<T: Number<N>>(&self, entering_fluid: N, load: Load<N>) -> (T, T) {
        let Load { amount, side } = load;
        let (cop, capacity) = self.cop_and_capacity::<T>(&self.low, entering_fluid, side);
        let load = T::constant(amount);
        let cycling = lesser(load, capacity);
        let run = (cycling - capacity).times(self.degradation_coefficient) + capacity;
        let electricity = (cycling * capacity).over(cop * run);
        if !self.stages {
            return (cycling, electricity);
        }
        let (full_cop, full_capacity) = self.cop_and_capacity::<T>(&self.full, entering_fluid, side);
        let delivered = lesser(load, full_capacity);
        let beyond = (delivered - capacity).over(full_capacity - capacity);
        let in_turns = electricity + (full_capacity.over(full_cop) - capacity.over(cop)) * beyond;
        let between = delivered.over(cop + (full_cop - cop) * beyond);
        let staged = between.or_else(self.is_variable, in_turns);
        let is_above = capacity.value().is_below(delivered.value()).and(self.is_staged);
        (delivered.or_else(is_above, cycling), staged.or_else(is_above, electricity))
    }

    /// Heat delivered and electricity (W) of a load in at most `time`, a share of the time in which the mode isn't
    /// locked out. The load takes all of that time at least at the lowest stage.
    ///
    /// The part load factor is that of the time, because the compressor stops as often as it does alone.
    #[inline(always)]
    pub fn work_for<T: Number<N>>(&self, entering_fluid: N, load: Load<N>, time: T) -> (T, T) {
        let Load { amount, side } = load;
        let one = T::constant(entering_fluid.like(1.0));
        let (cop, capacity) = self.cop_and_capacity::<T>(&self.low, entering_fluid, side);
        let (full_cop, full_capacity) = if self.stages {
            self.cop_and_capacity::<T>(&self.full, entering_fluid, side)
        } else {
            (cop, capacity)
        };
        let delivered = lesser(T::constant(amount), full_capacity * time);
        let part_load_factor = one - (one - time).times(self.degradation_coefficient);
        // Of the highest stage in the time; a single stage has no capacity beyond the lowest.
        let beyond = (delivered - capacity * time).over((full_capacity - capacity) * time);
        let beyond = beyond.or_else(self.is_staged, T::constant(entering_fluid.like(0.0)));
        let power = capacity.over(cop);
        let in_turns = (power + (full_capacity.over(full_cop) - power) * beyond) * time;
        let between = delivered.over(cop + (full_cop - cop) * beyond);
        (delivered, between.or_else(self.is_variable, in_turns).over(part_load_factor))
    }

    /// Shares of the hour for a load alone.
    #[inline(always)]
    pub fn time_alone<T: Number<N>>(&self, entering_fluid: N, load: Load<N>) -> TimeAlone<T> {
        let one = T::constant(entering_fluid.like(1.0));
        let unlocked = if self.locks_out { self.time_unlocked(entering_fluid) } else { one };
        let at_lowest = self.time_at(&self.low, entering_fluid, load, unlocked);
        let at_full =
            if self.stages { self.time_at(&self.full, entering_fluid, load, unlocked) } else { at_lowest };
        TimeAlone { at_lowest, at_full, unlocked }
    }

    /// Share of the hour that a stage takes for a load alone, at most the share in which it isn't locked out.
    #[inline(always)]
    fn time_at<T: Number<N>>(&self, stage: &Stage<N>, entering_fluid: N, load: Load<N>, unlocked: T) -> T {
        let (_, capacity) = self.cop_and_capacity::<T>(stage, entering_fluid, load.side);
        let one = T::constant(entering_fluid.like(1.0));
        lesser(T::constant(load.amount).over(capacity), one) * unlocked
    }

    /// Where a load needs the heat pump outside its table.
    #[inline(always)]
    pub fn is_outside_table(&self, entering_fluid: N, load: Load<N>) -> N::Mask {
        let Load { amount, side } = load;
        entering_fluid.like(0.0).is_below(amount).and(self.full.is_outside(entering_fluid, side))
    }

    /// Share of the hour in which a load keeps the compressor running: 1 if the capacity is unknown.
    #[inline(always)]
    pub fn running_share(&self, entering_fluid: N, load: Load<N>) -> N {
        let (zero, one) = (entering_fluid.like(0.0), entering_fluid.like(1.0));
        let time = self.time_alone::<N>(entering_fluid, load);
        let throughout = Lanes::or_else(time.unlocked, zero.is_below(load.amount), zero);
        Lanes::or_else(time.at_lowest, self.is_limited, throughout).min(one)
    }
}

/// Shares of an hour for a load alone.
#[derive(Debug, Clone, Copy)]
pub struct TimeAlone<T> {
    /// At the lowest stage.
    pub at_lowest: T,
    /// At full capacity.
    pub at_full: T,
    /// Share of the hour in which the mode isn't locked out.
    pub unlocked: T,
}

impl<T> TimeAlone<T> {
    /// Share of the time in which the mode isn't locked out that it runs beside another mode, which with this one takes
    /// the whole hour: shortened by higher stages if both then fit, otherwise cut off.
    #[inline(always)]
    pub fn beside_another<N: Lanes>(self, fits: N::Mask, hastened: T, both_at_full: T) -> T
    where
        T: Number<N>,
    {
        let hurried = self.at_lowest - (self.at_lowest - self.at_full) * hastened;
        hurried.or_else(fits, self.at_full.over(both_at_full)).over(self.unlocked)
    }
}

/// The number with the smaller value.
#[inline(always)]
fn lesser<N: Lanes, T: Number<N>>(a: T, b: T) -> T {
    a.or_else(a.value().is_below(b.value()), b)
}
