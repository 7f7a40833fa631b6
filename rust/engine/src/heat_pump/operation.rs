//! One hour of the heat pump at a given entering fluid temperature.

use super::cubic::Cubic;
use super::{HeatPump, Mode};

/// Capacity that stands for none given [W]: far above any load that is accepted.
const NO_LIMIT: f64 = 1e15;

/// Heating and cooling that the building asks for in one hour [W].
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Demand {
    /// Heat for rooms and hot water, zero or more.
    pub heating: f64,
    /// Heat to be taken out of the rooms, zero or more.
    pub cooling: f64,
}

/// A value and how fast it changes with the entering fluid temperature.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Sloped {
    /// The value.
    pub value: f64,
    /// Its derivative [1/K].
    pub slope: f64,
}

impl Sloped {
    #[inline(always)]
    fn moved(self, by: f64) -> f64 {
        self.slope.mul_add(by, self.value)
    }
}

/// What one mode of the heat pump does in an hour [W].
#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Work {
    delivered: Sloped,
    electricity: Sloped,
    /// Capacity less what is asked for.
    spare: Sloped,
}

/// What the heat pump does in one hour [W], and how that changes with the entering fluid temperature.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Operation {
    heating: Work,
    cooling: Work,
}

/// What the heat pump did in one hour [W].
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Hour {
    /// Heat given to the building.
    pub heating: f64,
    /// Heat taken from the building.
    pub cooling: f64,
    /// Electricity of the compressor.
    pub electricity: f64,
}

impl Hour {
    /// Heat taken from the ground: building heat less electricity in heating, less both in cooling.
    #[must_use]
    #[inline(always)]
    pub fn heat_extracted(&self) -> f64 {
        self.heating - self.cooling - self.electricity
    }
}

impl Operation {
    /// Heat taken from the ground [W] and its slope [W/K].
    #[must_use]
    #[inline(always)]
    pub fn heat_extracted(&self) -> Sloped {
        let (h, c) = (&self.heating, &self.cooling);
        let of = |part: fn(&Sloped) -> f64| {
            part(&h.delivered) - part(&c.delivered) - (part(&h.electricity) + part(&c.electricity))
        };
        Sloped { value: of(|s| s.value), slope: of(|s| s.slope) }
    }

    /// Electricity [W] and its slope [W/K].
    #[must_use]
    #[inline(always)]
    pub fn electricity(&self) -> Sloped {
        let (h, c) = (&self.heating.electricity, &self.cooling.electricity);
        Sloped { value: h.value + c.value, slope: h.slope + c.slope }
    }

    /// The hour when the entering fluid is warmer by the small difference `by` [K], to first order.
    #[must_use]
    #[inline(always)]
    pub fn at_shifted(&self, by: f64, demand: &Demand) -> Hour {
        Hour {
            heating: self.heating.delivered.moved(by).min(demand.heating),
            cooling: self.cooling.delivered.moved(by).min(demand.cooling),
            electricity: self.heating.electricity.moved(by) + self.cooling.electricity.moved(by),
        }
    }
}

/// A mode of the heat pump in the form that the hourly loop evaluates.
#[derive(Debug, Clone, Copy, PartialEq)]
struct ReadyMode {
    cop: Cubic,
    capacity: Cubic,
    /// What of the capacity counts at no part load: capacity x (1 - cycling loss).
    idling: Cubic,
    cycling_loss: f64,
    least: f64,
    most: f64,
}

/// A heat pump in the form that the hourly loop evaluates.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReadyHeatPump {
    heating: ReadyMode,
    cooling: ReadyMode,
}

impl From<&HeatPump> for ReadyHeatPump {
    /// A mode that the heat pump lacks must not be asked for.
    fn from(heat_pump: &HeatPump) -> Self {
        let ready = |mode: &Option<Mode>| {
            let [least, most] = mode.as_ref().map_or([0.0, 0.0], Mode::range);
            let limit = mode.as_ref().and_then(|mode| mode.capacity.as_deref());
            let capacity = Cubic::new(limit.unwrap_or(&[NO_LIMIT]));
            ReadyMode {
                cop: Cubic::new(mode.as_ref().map_or(&[1.0], |mode| &mode.cop)),
                capacity,
                idling: capacity.times(1.0 - heat_pump.cycling_loss),
                cycling_loss: heat_pump.cycling_loss,
                least,
                most,
            }
        };
        Self { heating: ready(&heat_pump.heating), cooling: ready(&heat_pump.cooling) }
    }
}

impl ReadyHeatPump {
    /// What the heat pump does at an entering fluid temperature [degC].
    ///
    /// Each mode delivers what is asked for, at most its capacity, and takes
    ///
    /// ```text
    /// electricity = delivered / (COP x part load factor)
    /// part load factor = 1 - cycling loss x (1 - delivered / capacity)
    /// ```
    ///
    /// (the linear form of ARI 210/240, from memory). Beyond the range of its table a mode acts as at the range's end.
    #[must_use]
    #[inline(always)]
    pub fn operate(&self, entering_fluid: f64, demand: &Demand) -> Operation {
        let work = |mode: &ReadyMode, load: f64| {
            if load > 0.0 { mode.work(entering_fluid, load) } else { Work::default() }
        };
        Operation {
            heating: work(&self.heating, demand.heating),
            cooling: work(&self.cooling, demand.cooling),
        }
    }

    /// Whether the slopes of an operation found at `entering_fluid` [degC] hold as far as `by` [K] from there: neither does the
    /// capacity begin or cease to suffice, nor is an end of the table's range crossed.
    #[must_use]
    #[inline(always)]
    pub fn is_smooth(&self, operation: &Operation, entering_fluid: f64, by: f64, demand: &Demand) -> bool {
        let shifted = entering_fluid + by;
        let smooth = |mode: &ReadyMode, work: &Work, load: f64| {
            let same_side = |end: f64| (entering_fluid < end) == (shifted < end);
            let same_capacity = (work.spare.value > 0.0) == (work.spare.moved(by) > 0.0);
            load == 0.0 || (same_capacity && same_side(mode.least) && same_side(mode.most))
        };
        smooth(&self.heating, &operation.heating, demand.heating)
            && smooth(&self.cooling, &operation.cooling, demand.cooling)
    }

    /// Whether an entering fluid temperature [degC] is outside the table of a mode that is asked for.
    #[must_use]
    pub fn is_outside_table(&self, entering_fluid: f64, demand: &Demand) -> bool {
        let outside = |mode: &ReadyMode, load: f64| load > 0.0 && mode.held(entering_fluid) != entering_fluid;
        outside(&self.heating, demand.heating) || outside(&self.cooling, demand.cooling)
    }
}

impl ReadyMode {
    /// The entering fluid temperature, held at the end of the table's range beyond it [degC].
    #[inline(always)]
    fn held(&self, entering_fluid: f64) -> f64 {
        entering_fluid.max(self.least).min(self.most)
    }

    /// With capacity C, delivered D and cycling loss l, electricity = D C / (COP x ((1 - l) C + l D)): one division.
    #[inline(always)]
    fn work(&self, entering_fluid: f64, load: f64) -> Work {
        let held = self.held(entering_fluid);
        let [mut cop, mut capacity, mut run] =
            [&self.cop, &self.capacity, &self.idling].map(|curve| curve.at(held));
        if held != entering_fluid {
            (cop.slope, capacity.slope, run.slope) = (0.0, 0.0, 0.0);
        }
        let spare = Sloped { value: capacity.value - load, slope: capacity.slope };
        let delivered = if spare.value > 0.0 { Sloped { value: load, slope: 0.0 } } else { capacity };
        run.value = self.cycling_loss.mul_add(delivered.value, run.value);
        run.slope = self.cycling_loss.mul_add(delivered.slope, run.slope);
        let inverse = 1.0 / (cop.value * run.value);
        let electricity = delivered.value * capacity.value * inverse;
        let numerator_slope = delivered.slope * capacity.value + delivered.value * capacity.slope;
        let denominator_slope = cop.slope * run.value + cop.value * run.slope;
        let slope = (numerator_slope - electricity * denominator_slope) * inverse;
        Work { delivered, electricity: Sloped { value: electricity, slope }, spare }
    }
}
