//! One hour of the heat pump at a given entering fluid temperature.

use super::{HeatPump, Mode};

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
    /// The value [W].
    pub value: f64,
    /// Its derivative [W/K].
    pub slope: f64,
}

impl Sloped {
    fn moved(self, by: f64) -> f64 {
        self.value + self.slope * by
    }
}

/// What one mode of the heat pump does in an hour.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Work {
    delivered: Sloped,
    electricity: Sloped,
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
    pub fn heat_extracted(&self) -> f64 {
        self.heating - self.cooling - self.electricity
    }
}

impl Operation {
    /// Heat taken from the ground [W] and its slope [W/K].
    #[must_use]
    #[inline(always)]
    pub fn heat_extracted(&self) -> Sloped {
        let balance = |h: f64, c: f64, e: f64| h - c - e;
        let (h, c) = (&self.heating, &self.cooling);
        Sloped {
            value: balance(h.delivered.value, c.delivered.value, h.electricity.value + c.electricity.value),
            slope: balance(h.delivered.slope, c.delivered.slope, h.electricity.slope + c.electricity.slope),
        }
    }

    /// The hour when the entering fluid is warmer by the small difference `by` [K], to second order.
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

impl HeatPump {
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
        let work = |mode: &Option<Mode>, load: f64| match mode {
            Some(mode) if load > 0.0 => mode.work(entering_fluid, load, self.cycling_loss),
            _ => Work::default(),
        };
        Operation {
            heating: work(&self.heating, demand.heating),
            cooling: work(&self.cooling, demand.cooling),
        }
    }

    /// Whether an entering fluid temperature [degC] is outside the table of a mode that is asked for.
    #[must_use]
    pub fn is_outside_table(&self, entering_fluid: f64, demand: &Demand) -> bool {
        let outside = |mode: &Option<Mode>, load: f64| {
            load > 0.0 && mode.as_ref().is_some_and(|mode| mode.held(entering_fluid) != entering_fluid)
        };
        outside(&self.heating, demand.heating) || outside(&self.cooling, demand.cooling)
    }
}

impl Mode {
    /// The entering fluid temperature, held at the end of the table's range beyond it [degC].
    #[inline(always)]
    fn held(&self, entering_fluid: f64) -> f64 {
        let [least, most] = self.range();
        entering_fluid.clamp(least, most)
    }

    #[inline(always)]
    fn work(&self, entering_fluid: f64, load: f64, cycling_loss: f64) -> Work {
        let held = self.held(entering_fluid);
        let inside = if held == entering_fluid { 1.0 } else { 0.0 };
        let (cop, cop_slope) = self.cop_at(held);
        let (delivered, factor) = match self.capacity_at(held) {
            Some((capacity, slope)) if load >= capacity => {
                (Sloped { value: capacity, slope: inside * slope }, Sloped { value: 1.0, slope: 0.0 })
            }
            Some((capacity, slope)) => {
                let part_load = load / capacity;
                let factor = Sloped {
                    value: 1.0 - cycling_loss * (1.0 - part_load),
                    slope: -inside * cycling_loss * part_load * slope / capacity,
                };
                (Sloped { value: load, slope: 0.0 }, factor)
            }
            None => (Sloped { value: load, slope: 0.0 }, Sloped { value: 1.0, slope: 0.0 }),
        };
        let per_watt = 1.0 / (cop * factor.value);
        let electricity = delivered.value * per_watt;
        let electricity_slope = delivered.slope * per_watt
            - electricity * per_watt * (inside * cop_slope * factor.value + cop * factor.slope);
        Work { delivered, electricity: Sloped { value: electricity, slope: electricity_slope } }
    }
}
