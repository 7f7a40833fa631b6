//! All inputs of a run except the loads, and their validation.

use serde::{Deserialize, Serialize};

use crate::error::Error;
use crate::fluid::Fluid;
use crate::ground::Ground;
use crate::ground_side::{Description, GroundSideKind};
use crate::heat_pump::{Demands, HeatPump};
use crate::limits::Limits;
use crate::loads::{HOURS_PER_YEAR, Loads};
use crate::quantity::{Quantified, Quantity};

/// Hours before each month of a year without leap day.
const HOURS_BEFORE_MONTH: [usize; 12] = [0, 744, 1416, 2160, 2880, 3624, 4344, 5088, 5832, 6552, 7296, 8016];

/// A plant: ground, loop, fluid and heat pump.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Design {
    /// The ground.
    pub ground: Ground,
    /// The ground side, the heat source and sink of the heat pump.
    pub ground_side: GroundSideKind,
    /// The circulating fluid.
    pub fluid: Fluid,
    /// Total mass flow while the circulation pump runs (kg/s).
    pub flow: f64,
    /// Power of the circulation pump while it runs (W).
    pub pump_power: f64,
    /// Whether the circulation pump stops with the compressor or runs through every hour with demand.
    #[serde(default)]
    pub pump_stops: bool,
    /// The heat pump.
    pub heat_pump: HeatPump,
    /// Limits of the fluid temperature and other results.
    pub limits: Limits,
    /// Month of the loads' calendar in which the run begins, 1 to 12.
    pub start_month: u32,
}

impl Quantified for Design {
    const OWNER: &'static str = "Design";
    const QUANTITIES: &'static [Quantity<Self>] = &[
        Quantity::new("flow", "kg/s", 1e-3, 1e5, |d| Some(d.flow)),
        Quantity::new("pump_power", "W", 0.0, 1e7, |d| Some(d.pump_power)),
    ];
}

impl Design {
    /// Checks every part, and that the parts are compatible.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] names the field that is wrong.
    pub fn validate(&self) -> Result<(), Error> {
        self.check_quantities()?;
        if !(1..=12).contains(&self.start_month) {
            return Err(Error::invalid(
                "Design",
                "start_month",
                self.start_month,
                "",
                "must be from 1 to 12",
            ));
        }
        self.ground.validate()?;
        self.ground_side.validate()?;
        if let Some(unsupported) = self.ground_side.needs_still_ground() {
            self.ground.check_still(unsupported)?;
        }
        if let Some(unsupported) = self.ground_side.needs_constant_ground() {
            self.ground.check_constant(unsupported)?;
        }
        self.fluid.validate()?;
        self.heat_pump.validate()?;
        self.limits.validate()?;
        let undisturbed = self.ground_side.undisturbed(&self.ground);
        if self.fluid.freezing_point >= undisturbed {
            let allowed = format!("must be below the undisturbed ground, {undisturbed:.2} degC");
            return Err(Error::invalid(
                "Fluid",
                "freezing_point",
                self.fluid.freezing_point,
                "degC",
                allowed,
            ));
        }
        Ok(())
    }

    /// Demand of each hour of the loads.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] if the loads contain a mode that the heat pump lacks.
    pub fn demands<'a>(&self, loads: &'a Loads) -> Result<Demands<'a>, Error> {
        let demands = Demands::of(loads);
        self.check_modes(&demands)?;
        Ok(demands)
    }

    /// Checks that the heat pump has every mode that the loads require.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] names the mode that it lacks.
    pub fn check_modes(&self, demands: &Demands) -> Result<(), Error> {
        let lacks = |field: &str, what: &str| {
            Err(Error::invalid(
                "HeatPump",
                field,
                "nothing",
                "",
                format!("must be given: the loads include {what}"),
            ))
        };
        if self.heat_pump.heating.is_none() && demands.hours().any(|demand| demand.heating > 0.0) {
            return lacks("heating_cop", "heating");
        }
        if self.heat_pump.cooling.is_none() && demands.hours().any(|demand| demand.cooling > 0.0) {
            return lacks("cooling_cop", "cooling");
        }
        Ok(())
    }

    /// Hour of the loads' first year in which the run begins.
    #[must_use]
    pub fn start_hour(&self) -> usize {
        HOURS_BEFORE_MONTH[(self.start_month.clamp(1, 12) - 1) as usize]
    }
}

/// Checks a horizon and converts it to hours.
///
/// # Errors
/// [`Error::InvalidInput`] unless `years` is from 1 to 100.
pub fn hours_of(years: usize) -> Result<usize, Error> {
    if (1..=100).contains(&years) {
        Ok(years * HOURS_PER_YEAR)
    } else {
        Err(Error::invalid("run", "years", years, "a", "must be from 1 to 100 a"))
    }
}
