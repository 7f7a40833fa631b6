//! Pipes in trenches, straight or coiled, all in parallel.

mod laid;

use serde::{Deserialize, Serialize};

pub(crate) use laid::lines;
pub use laid::{Coil, Laid};

use crate::bore::Pipe;
use crate::error::{Error, shown};
use crate::ground::{Ground, SurfaceWave};
use crate::ground_side::{Description, Measure};
use crate::quantity::{Quantified, Quantity};

/// Identical parallel trenches below a surface with an annual temperature wave.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TrenchField {
    /// Length of each trench (m).
    pub length: f64,
    /// Number of trenches.
    pub trenches: usize,
    /// Distance between the middles of neighbouring trenches (m); not needed for a single trench.
    pub spacing: Option<f64>,
    /// The pipe.
    pub pipe: Pipe,
    /// Its arrangement in each trench.
    pub laid: Laid,
    /// The annual wave of the surface temperature.
    pub surface: SurfaceWave,
}

impl Quantified for TrenchField {
    const OWNER: &'static str = "TrenchField";
    const QUANTITIES: &'static [Quantity<Self>] = &[
        Quantity::new("length", "m", 1.0, 5000.0, |t| Some(t.length)),
        Quantity::new("spacing", "m", 0.05, 1000.0, |t| t.spacing),
    ];
}

/// Most trenches of a field: its equations are solved directly, in a time proportional to the cube of the number of
/// pipes.
const MOST_TRENCHES: usize = 100;

impl Description for TrenchField {
    fn validate(&self) -> Result<(), Error> {
        self.check_quantities()?;
        self.pipe.validate()?;
        self.surface.validate()?;
        let invalid = |field: &str, value: String, unit: &str, allowed: &str| {
            Err(Error::invalid(Self::OWNER, field, value, unit, allowed))
        };
        if !(1..=MOST_TRENCHES).contains(&self.trenches) {
            let allowed = format!("must be from 1 to {MOST_TRENCHES}");
            return invalid("trenches", self.trenches.to_string(), "", &allowed);
        }
        if self.trenches > 1 && self.spacing.is_none() {
            return invalid("spacing", "nothing".to_owned(), "m", "must be given for more than one trench");
        }
        self.laid.validate(self)?;
        let least = self.laid.least_spacing(self.pipe.outer_diameter);
        match self.spacing {
            Some(spacing) if self.trenches > 1 && spacing < least => {
                let allowed = format!(
                    "must be at least {} m, or pipes of neighbouring trenches would overlap",
                    shown(least)
                );
                invalid("spacing", shown(spacing), "m", &allowed)
            }
            _ => Ok(()),
        }
    }

    fn undisturbed(&self, ground: &Ground) -> f64 {
        ground.undisturbed(self.laid.mean_depth())
    }

    fn needs_still_ground(&self) -> Option<&'static str> {
        Some("trenches")
    }

    fn measure(&self, measure: Measure) -> f64 {
        match measure {
            Measure::Length => self.length,
            Measure::Spacing => self.spacing.unwrap_or(f64::NAN),
            Measure::Depth => f64::NAN,
        }
    }

    fn set_measure(&mut self, measure: Measure, value: f64) -> Result<(), Error> {
        match measure {
            Measure::Length => self.length = value,
            Measure::Spacing if self.trenches > 1 => self.spacing = Some(value),
            Measure::Spacing => {
                let allowed = "must be left out: a single trench has no spacing";
                return Err(Error::invalid(Self::OWNER, "spacing", value, "m", allowed));
            }
            Measure::Depth => return Err(measure.missing()),
        }
        Ok(())
    }
}

impl TrenchField {
    /// Number of pipes that share the flow.
    #[must_use]
    pub fn circuits(&self) -> usize {
        self.trenches * self.laid.pipes()
    }

    /// Length of each pipe (m).
    #[must_use]
    pub fn circuit_length(&self) -> f64 {
        self.laid.pipe_length(self.length)
    }

    /// Number of trenches and their spacing (m).
    pub(crate) fn rows(&self) -> [f64; 2] {
        [self.trenches as f64, self.spacing.unwrap_or(0.0)]
    }
}
