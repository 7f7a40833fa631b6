//! Properties of the ground.

use serde::{Deserialize, Serialize};

use crate::error::Error;
use crate::quantity::{Quantified, Quantity};

/// Homogeneous ground.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Ground {
    /// Thermal conductivity (W/(m K)).
    pub conductivity: f64,
    /// Heat capacity per volume (J/(m3 K)).
    pub volumetric_heat_capacity: f64,
    /// Undisturbed temperature below the seasonal zone, extrapolated to the surface along the gradient (degC).
    pub temperature: f64,
    /// Rise of the undisturbed temperature with depth (K/m).
    pub gradient: f64,
}

impl Quantified for Ground {
    const OWNER: &'static str = "Ground";
    const QUANTITIES: &'static [Quantity<Self>] = &[
        Quantity::new("conductivity", "W/(m K)", 0.1, 20.0, |g| Some(g.conductivity)),
        Quantity::new("volumetric_heat_capacity", "J/(m3 K)", 2e5, 1e7, |g| Some(g.volumetric_heat_capacity)),
        Quantity::new("temperature", "degC", -15.0, 60.0, |g| Some(g.temperature)),
        Quantity::new("gradient", "K/m", -0.05, 0.2, |g| Some(g.gradient)),
    ];
}

impl Ground {
    /// Checks that the values are physical.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] names the field that is not.
    pub fn validate(&self) -> Result<(), Error> {
        self.check_quantities()
    }

    /// Thermal diffusivity k / (rho c), in m2/s.
    #[must_use]
    pub fn diffusivity(&self) -> f64 {
        self.conductivity / self.volumetric_heat_capacity
    }

    /// Undisturbed temperature at a depth (m) below the surface (degC).
    #[must_use]
    pub fn undisturbed(&self, depth: f64) -> f64 {
        self.temperature + self.gradient * depth
    }
}
