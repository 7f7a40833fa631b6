//! Properties of the circulating fluid over temperature.

use serde::{Deserialize, Serialize};

use crate::error::Error;
use crate::quantity::{Quantified, Quantity};

/// Properties of the fluid at one temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FluidState {
    /// Density (kg/m3).
    pub density: f64,
    /// Heat capacity per mass (J/(kg K)).
    pub heat_capacity: f64,
    /// Thermal conductivity (W/(m K)).
    pub conductivity: f64,
    /// Dynamic viscosity (Pa s).
    pub viscosity: f64,
}

impl Quantified for FluidState {
    const OWNER: &'static str = "Fluid";
    const QUANTITIES: &'static [Quantity<Self>] = &[
        Quantity::new("density", "kg/m3", 100.0, 3000.0, |s| Some(s.density)),
        Quantity::new("heat_capacity", "J/(kg K)", 500.0, 10_000.0, |s| Some(s.heat_capacity)),
        Quantity::new("conductivity", "W/(m K)", 0.01, 5.0, |s| Some(s.conductivity)),
        Quantity::new("viscosity", "Pa s", 1e-5, 10.0, |s| Some(s.viscosity)),
    ];
}

impl FluidState {
    /// Prandtl number c mu / k.
    #[must_use]
    pub fn prandtl(&self) -> f64 {
        self.heat_capacity * self.viscosity / self.conductivity
    }
}

/// Properties tabulated at evenly spaced temperatures, interpolated linearly and constant beyond the ends.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Fluid {
    /// Description for tables and messages.
    pub name: String,
    /// Temperature at which ice begins to form (degC).
    pub freezing_point: f64,
    /// First temperature of the table (degC).
    pub first_temperature: f64,
    /// Step between the temperatures of the table (K).
    pub temperature_step: f64,
    /// Density (kg/m3), one value per temperature.
    pub density: Vec<f64>,
    /// Heat capacity per mass (J/(kg K)), one value per temperature.
    pub heat_capacity: Vec<f64>,
    /// Thermal conductivity (W/(m K)), one value per temperature.
    pub conductivity: Vec<f64>,
    /// Dynamic viscosity (Pa s), one value per temperature.
    pub viscosity: Vec<f64>,
}

impl Quantified for Fluid {
    const OWNER: &'static str = "Fluid";
    const QUANTITIES: &'static [Quantity<Self>] = &[
        Quantity::new("freezing_point", "degC", -100.0, 20.0, |f| Some(f.freezing_point)),
        Quantity::new("first_temperature", "degC", -100.0, 100.0, |f| Some(f.first_temperature)),
        Quantity::new("temperature_step", "K", 0.01, 10.0, |f| Some(f.temperature_step)),
    ];
}

impl Fluid {
    /// Checks that the table is complete and physical.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] names the property that is not.
    pub fn validate(&self) -> Result<(), Error> {
        self.check_quantities()?;
        let rows = self.density.len();
        let columns = [
            ("density", &self.density),
            ("heat_capacity", &self.heat_capacity),
            ("conductivity", &self.conductivity),
            ("viscosity", &self.viscosity),
        ];
        for (field, values) in columns {
            if values.is_empty() || values.len() != rows {
                let allowed = format!("must have {} values, one per temperature", rows.max(1));
                return Err(Error::invalid("Fluid", field, format!("{} values", values.len()), "", allowed));
            }
        }
        (0..rows).try_for_each(|row| self.state(row).check_quantities())
    }

    /// Properties at one row of the table.
    fn state(&self, row: usize) -> FluidState {
        FluidState {
            density: self.density[row],
            heat_capacity: self.heat_capacity[row],
            conductivity: self.conductivity[row],
            viscosity: self.viscosity[row],
        }
    }

    /// First and last temperature of the table (degC).
    #[must_use]
    pub fn temperatures(&self) -> [f64; 2] {
        let rows = self.density.len().saturating_sub(1);
        [self.first_temperature, self.first_temperature + rows as f64 * self.temperature_step]
    }

    /// Properties at a temperature (degC); beyond the table those of its nearest end.
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

#[cfg(test)]
mod tests {
    use super::*;

    fn brine() -> Fluid {
        Fluid {
            name: "brine".to_owned(),
            freezing_point: -10.0,
            first_temperature: -5.0,
            temperature_step: 5.0,
            density: vec![1030.0, 1028.0, 1024.0],
            heat_capacity: vec![3900.0, 3910.0, 3930.0],
            conductivity: vec![0.44, 0.45, 0.46],
            viscosity: vec![6e-3, 5e-3, 4e-3],
        }
    }

    #[test]
    fn interpolates_between_rows_and_is_constant_beyond_the_ends() {
        let fluid = brine();
        assert_eq!(fluid.at(0.0), fluid.state(1));
        assert!((fluid.at(2.0).density - 1026.4).abs() < 1e-9);
        assert_eq!(fluid.at(-40.0), fluid.state(0));
        assert_eq!(fluid.at(80.0), fluid.state(2));
    }

    #[test]
    fn a_value_outside_its_range_is_named() {
        let mut fluid = brine();
        assert!(fluid.validate().is_ok());
        fluid.viscosity[2] = f64::NAN;
        let text = fluid.validate().unwrap_err().to_string();
        assert_eq!(text, "Fluid.viscosity = NaN Pa s: must be from 0.00001 to 10 Pa s");
    }

    #[test]
    fn a_short_column_is_named() {
        let mut fluid = brine();
        fluid.heat_capacity.pop();
        let text = fluid.validate().unwrap_err().to_string();
        assert_eq!(text, "Fluid.heat_capacity = 2 values: must have 3 values, one per temperature");
    }
}
