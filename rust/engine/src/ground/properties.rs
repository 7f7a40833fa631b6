//! Properties of the ground.

use serde::{Deserialize, Serialize};

use super::Warming;
use crate::error::Error;
use crate::quantity::{Quantified, Quantity};

/// Heat capacity of water per volume (J/(m3 K)), at 20 degC; within 1 % from 0 to 40 degC.
const WATER_HEAT_CAPACITY: f64 = 4.18e6;

/// Homogeneous ground, in which water may flow.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
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
    /// Darcy flux of the groundwater: volume per time and area of the ground (m/s).
    #[serde(default)]
    pub darcy_flux: f64,
    /// Direction towards which the groundwater flows (degrees clockwise from north).
    #[serde(default)]
    pub flow_direction: f64,
    /// Change of the undisturbed temperature during a run; `None` if it stays the same.
    #[serde(default)]
    pub warming: Option<Warming>,
}

impl Quantified for Ground {
    const OWNER: &'static str = "Ground";
    const QUANTITIES: &'static [Quantity<Self>] = &[
        Quantity::new("conductivity", "W/(m K)", 0.1, 20.0, |g| Some(g.conductivity)),
        Quantity::new("volumetric_heat_capacity", "J/(m3 K)", 2e5, 1e7, |g| Some(g.volumetric_heat_capacity)),
        Quantity::new("temperature", "degC", -15.0, 60.0, |g| Some(g.temperature)),
        Quantity::new("gradient", "K/m", -0.05, 0.2, |g| Some(g.gradient)),
        Quantity::new("darcy_flux", "m/s", 0.0, 1e-5, |g| Some(g.darcy_flux)),
        Quantity::new("flow_direction", "deg", 0.0, 360.0, |g| Some(g.flow_direction)),
    ];
}

impl Ground {
    /// Checks that the values are physical.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] names the field that is not.
    pub fn validate(&self) -> Result<(), Error> {
        self.check_quantities()?;
        self.warming.as_ref().map_or(Ok(()), Warming::validate)
    }

    /// Checks that no groundwater flows.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] if it does, naming what it isn't supported for.
    pub fn check_still(&self, unsupported: &str) -> Result<(), Error> {
        if self.darcy_flux == 0.0 {
            return Ok(());
        }
        let allowed = format!("must be 0: groundwater flow isn't supported for {unsupported}");
        Err(Error::invalid("Ground", "darcy_flux", self.darcy_flux, "m/s", allowed))
    }

    /// Thermal diffusivity k / (rho c), in m2/s.
    #[must_use]
    pub fn diffusivity(&self) -> f64 {
        self.conductivity / self.volumetric_heat_capacity
    }

    /// Velocity at which the groundwater carries heat along, to the east and to the north (m/s).
    ///
    /// The Darcy flux times the ratio of the heat capacities per volume of water and ground. Thermal dispersion is
    /// left out.
    #[must_use]
    pub fn thermal_velocity(&self) -> [f64; 2] {
        let speed = self.darcy_flux * WATER_HEAT_CAPACITY / self.volumetric_heat_capacity;
        let (east, north) = self.flow_direction.to_radians().sin_cos();
        [speed * east, speed * north]
    }

    /// Checks that the undisturbed temperature stays the same.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] if it doesn't, naming what that isn't supported for.
    pub fn check_constant(&self, unsupported: &str) -> Result<(), Error> {
        if self.warming.is_none() {
            return Ok(());
        }
        let allowed = format!("must not be given: {unsupported}");
        Err(Error::invalid("Ground", "warming", "given", "", allowed))
    }

    /// Checks that a series of its warming reaches the end of a run of `hours` hours.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] if it is too short.
    pub fn check_reach(&self, hours: usize) -> Result<(), Error> {
        self.warming.as_ref().map_or(Ok(()), |warming| warming.check_reach(hours))
    }

    /// Undisturbed temperature at a depth (m) below the surface at the start of a run, without the warming's first
    /// value (degC).
    #[must_use]
    pub fn undisturbed(&self, depth: f64) -> f64 {
        self.temperature + self.gradient * depth
    }
}
