//! A groundwater well that discharges to surface water or back into the aquifer.

mod pair;
mod theis;

use serde::{Deserialize, Serialize};

pub(crate) use pair::weights;
pub use pair::{breakthrough, returned_share};
pub use theis::well_function;

use crate::error::{Error, shown};
use crate::ground::Ground;
use crate::ground_side::Description;
use crate::quantity::{Quantified, Quantity};

/// A confined, homogeneous aquifer.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Aquifer {
    /// Temperature of its water (degC).
    pub temperature: f64,
    /// Thickness (m).
    pub thickness: f64,
    /// Transmissivity (m2/s).
    pub transmissivity: f64,
    /// Storativity.
    pub storativity: f64,
}

impl Quantified for Aquifer {
    const OWNER: &'static str = "Aquifer";
    const QUANTITIES: &'static [Quantity<Self>] = &[
        Quantity::new("temperature", "degC", 0.5, 60.0, |a| Some(a.temperature)),
        Quantity::new("thickness", "m", 0.5, 1000.0, |a| Some(a.thickness)),
        Quantity::new("transmissivity", "m2/s", 1e-7, 1.0, |a| Some(a.transmissivity)),
        Quantity::new("storativity", "", 1e-7, 0.5, |a| Some(a.storativity)),
    ];
}

/// A well, its heat exchanger and its discharge.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Well {
    /// The aquifer.
    pub aquifer: Aquifer,
    /// Diameter of the bore at the screen (m).
    pub diameter: f64,
    /// Depth of each well (m); affects only its cost.
    #[serde(default)]
    pub depth: Option<f64>,
    /// Largest sustained yield (kg/s).
    pub sustained_yield: f64,
    /// Height from the resting water level to the discharge, including friction losses (m).
    pub lift: f64,
    /// Efficiency of the well pump: hydraulic power over electric power.
    pub pump_efficiency: f64,
    /// Flow of the well while it pumps (kg/s); not given if the well water passes through the heat pump itself.
    pub flow: Option<f64>,
    /// Effectiveness of the heat exchanger between well water and loop fluid; given together with the flow.
    pub effectiveness: Option<f64>,
    /// Distance of the return well (m); without it the water is discharged to surface water.
    pub return_distance: Option<f64>,
    /// Lowest temperature allowed of the discharge (degC).
    pub lowest_discharge: f64,
    /// Available drawdown of the well (m).
    pub available_drawdown: Option<f64>,
    /// Whether the well pump stops with the compressor or runs through every hour with demand.
    #[serde(default = "stops")]
    pub pump_stops: bool,
}

/// By default the well pump stops with the compressor.
fn stops() -> bool {
    true
}

impl Quantified for Well {
    const OWNER: &'static str = "Well";
    const QUANTITIES: &'static [Quantity<Self>] = &[
        Quantity::new("diameter", "m", 0.02, 5.0, |w| Some(w.diameter)),
        Quantity::new("depth", "m", 1.0, 2000.0, |w| w.depth),
        Quantity::new("sustained_yield", "kg/s", 1e-3, 1e4, |w| Some(w.sustained_yield)),
        Quantity::new("lift", "m", 0.0, 1000.0, |w| Some(w.lift)),
        Quantity::new("pump_efficiency", "", 0.05, 1.0, |w| Some(w.pump_efficiency)),
        Quantity::new("flow", "kg/s", 1e-3, 1e4, |w| w.flow),
        Quantity::new("effectiveness", "", 0.05, 0.99, |w| w.effectiveness),
        Quantity::new("return_distance", "m", 1.0, 1e5, |w| w.return_distance),
        Quantity::new("lowest_discharge", "degC", 0.0, 50.0, |w| Some(w.lowest_discharge)),
        Quantity::new("available_drawdown", "m", 0.01, 1000.0, |w| w.available_drawdown),
    ];
}

impl Description for Well {
    fn validate(&self) -> Result<(), Error> {
        self.check_quantities()?;
        self.aquifer.check_quantities()?;
        let invalid = |field: &str, value: String, unit: &str, allowed: String| {
            Err(Error::invalid(Self::OWNER, field, value, unit, allowed))
        };
        if self.flow.is_some() != self.effectiveness.is_some() {
            let missing = if self.flow.is_some() { "effectiveness" } else { "flow" };
            let allowed =
                "flow and effectiveness must be given together, or neither: a heat exchanger has both";
            return invalid(missing, "nothing".to_owned(), "", allowed.to_owned());
        }
        if self.lowest_discharge >= self.aquifer.temperature {
            let allowed =
                format!("must be below the aquifer's temperature, {} degC", shown(self.aquifer.temperature));
            return invalid("lowest_discharge", shown(self.lowest_discharge), "degC", allowed);
        }
        if let Some(distance) = self.return_distance.filter(|&distance| distance <= self.diameter) {
            let allowed = format!("must be above the well's diameter, {} m", shown(self.diameter));
            return invalid("return_distance", shown(distance), "m", allowed);
        }
        match self.flow {
            Some(flow) => self.check_yield("flow", flow),
            None => Ok(()),
        }
    }

    fn undisturbed(&self, _ground: &Ground) -> f64 {
        self.aquifer.temperature
    }

    fn needs_still_ground(&self) -> Option<&'static str> {
        Some("wells")
    }

    fn needs_constant_ground(&self) -> Option<&'static str> {
        Some("the water of a well keeps the temperature of its aquifer: give it another aquifer")
    }
}

impl Well {
    pub(crate) fn check_yield(&self, field: &str, flow: f64) -> Result<(), Error> {
        if flow <= self.sustained_yield {
            return Ok(());
        }
        let allowed = format!("must be at most the sustained yield, {} kg/s", shown(self.sustained_yield));
        Err(Error::invalid(Self::OWNER, field, shown(flow), "kg/s", allowed))
    }
}
