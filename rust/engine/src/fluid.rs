//! Properties of the circulating fluid over temperature.

use serde::{Deserialize, Serialize};

use crate::error::Error;

/// Properties of the fluid at one temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FluidState {
    /// Density [kg/m3].
    pub density: f64,
    /// Heat capacity per mass [J/(kg K)].
    pub heat_capacity: f64,
    /// Thermal conductivity [W/(m K)].
    pub conductivity: f64,
    /// Dynamic viscosity [Pa s].
    pub viscosity: f64,
}

impl FluidState {
    /// Prandtl number c mu / k.
    #[must_use]
    pub fn prandtl(&self) -> f64 {
        self.heat_capacity * self.viscosity / self.conductivity
    }
}

/// Properties tabulated over evenly spaced temperatures, read by linear interpolation and held at the ends.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Fluid {
    /// What the fluid is, for tables and messages.
    pub name: String,
    /// Temperature at which ice begins to form [degC].
    pub freezing_point: f64,
    /// First temperature of the table [degC].
    pub first_temperature: f64,
    /// Step between the temperatures of the table [K].
    pub temperature_step: f64,
    /// Density [kg/m3], one value a temperature.
    pub density: Vec<f64>,
    /// Heat capacity per mass [J/(kg K)], one value a temperature.
    pub heat_capacity: Vec<f64>,
    /// Thermal conductivity [W/(m K)], one value a temperature.
    pub conductivity: Vec<f64>,
    /// Dynamic viscosity [Pa s], one value a temperature.
    pub viscosity: Vec<f64>,
}

impl Fluid {
    /// Checks that the table is complete and physical.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] names the property that is not.
    pub fn validate(&self) -> Result<(), Error> {
        let invalid = |field: &str, value: f64, unit: &str, allowed: &str| {
            Err(Error::invalid("Fluid", field, value, unit, allowed))
        };
        if !(-100.0..=20.0).contains(&self.freezing_point) {
            return invalid("freezing_point", self.freezing_point, "degC", "must be from -100 to 20 degC");
        }
        if !self.first_temperature.is_finite() {
            return invalid("first_temperature", self.first_temperature, "degC", "must be a number");
        }
        if !(self.temperature_step > 0.0 && self.temperature_step.is_finite()) {
            return invalid("temperature_step", self.temperature_step, "K", "must be above 0 K");
        }
        let rows = self.density.len();
        let columns = [
            ("density", "kg/m3", &self.density, 100.0, 3000.0),
            ("heat_capacity", "J/(kg K)", &self.heat_capacity, 500.0, 10_000.0),
            ("conductivity", "W/(m K)", &self.conductivity, 0.01, 5.0),
            ("viscosity", "Pa s", &self.viscosity, 1e-5, 10.0),
        ];
        for (field, unit, values, least, most) in columns {
            if values.is_empty() || values.len() != rows {
                let allowed = format!("must have {} values, one a temperature", rows.max(1));
                return Err(Error::invalid("Fluid", field, format!("{} values", values.len()), "", allowed));
            }
            if let Some(value) = values.iter().find(|value| !(least..=most).contains(*value)) {
                let allowed = format!("must be from {least} to {most} {unit}");
                return Err(Error::invalid("Fluid", field, value, unit, allowed));
            }
        }
        Ok(())
    }

    /// Properties at a temperature [degC]; beyond the table those of its nearest end.
    #[must_use]
    pub fn at(&self, temperature: f64) -> FluidState {
        let last = (self.density.len() - 1) as f64;
        let place = ((temperature - self.first_temperature) / self.temperature_step).clamp(0.0, last);
        let below = (place as usize).min(self.density.len().saturating_sub(2));
        let above = (below + 1).min(self.density.len() - 1);
        let share = place - below as f64;
        let read = |values: &[f64]| values[below] + share * (values[above] - values[below]);
        FluidState {
            density: read(&self.density),
            heat_capacity: read(&self.heat_capacity),
            conductivity: read(&self.conductivity),
            viscosity: read(&self.viscosity),
        }
    }
}
