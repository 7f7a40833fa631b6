//! A pond with coils on its bottom.

mod weather;

use serde::{Deserialize, Serialize};

pub use weather::Weather;

use crate::bore::Pipe;
use crate::error::{Error, shown};
use crate::fluid::Fluid;
use crate::ground::Ground;
use crate::ground_side::{Description, Measure};
use crate::quantity::{Quantified, Quantity};

/// A body of fresh water open to the sky, with identical parallel coils on its bottom.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Pond {
    /// Depths below the surface, the first 0, and the area of the water at each (m, m2).
    pub bathymetry: Vec<[f64; 2]>,
    /// Depth at which light falls to 1/e (m).
    pub extinction_depth: f64,
    /// Inflow at the surface, equal to the outflow there (kg/s).
    pub inflow: f64,
    /// Its temperature (degC); not needed without inflow.
    pub inflow_temperature: Option<f64>,
    /// The pipe of the coils.
    pub pipe: Pipe,
    /// Number of coils, which share the flow.
    pub circuits: usize,
    /// Length of the pipe of each coil (m).
    pub length: f64,
    /// Air, sun and wind.
    pub weather: Weather,
    /// Properties of water over temperature.
    pub water: Fluid,
}

impl Quantified for Pond {
    const OWNER: &'static str = "Pond";
    const QUANTITIES: &'static [Quantity<Self>] = &[
        Quantity::new("extinction_depth", "m", 0.05, 50.0, |p| Some(p.extinction_depth)),
        Quantity::new("inflow", "kg/s", 0.0, 1e4, |p| Some(p.inflow)),
        Quantity::new("inflow_temperature", "degC", 0.0, 40.0, |p| p.inflow_temperature),
        Quantity::new("length", "m", 1.0, 5000.0, |p| Some(p.length)),
    ];
}

/// Most coils of a pond.
const MOST_CIRCUITS: usize = 10_000;
/// Rows of a table of depths and areas.
const MOST_ROWS: usize = 1000;
/// Shallowest and deepest pond (m): a shallower one freezes to the bottom, a deeper one stratifies differently.
const DEPTHS: [f64; 2] = [1.0, 60.0];
/// Smallest and largest surface (m2).
const AREAS: [f64; 2] = [20.0, 1e7];

impl Description for Pond {
    fn validate(&self) -> Result<(), Error> {
        self.check_quantities()?;
        self.pipe.validate()?;
        self.water.validate()?;
        self.weather.validate()?;
        self.validate_bathymetry()?;
        if !(1..=MOST_CIRCUITS).contains(&self.circuits) {
            let allowed = format!("must be from 1 to {MOST_CIRCUITS}");
            return Err(Error::invalid(Self::OWNER, "circuits", self.circuits, "", allowed));
        }
        if self.inflow > 0.0 && self.inflow_temperature.is_none() {
            let allowed = "must be given where water flows in";
            return Err(Error::invalid(Self::OWNER, "inflow_temperature", "nothing", "degC", allowed));
        }
        Ok(())
    }

    /// That of the water, assumed to follow the air down to freezing.
    fn undisturbed(&self, _ground: &Ground) -> f64 {
        let air = &self.weather.dry_bulb;
        air.iter().map(|temperature| temperature.max(0.0)).sum::<f64>() / air.len() as f64
    }

    fn needs_still_ground(&self) -> Option<&'static str> {
        Some("a pond")
    }

    fn needs_constant_ground(&self) -> Option<&'static str> {
        Some("a pond follows its weather: give it warmer air")
    }

    fn measure(&self, measure: Measure) -> f64 {
        if measure == Measure::Length { self.length } else { f64::NAN }
    }

    fn set_measure(&mut self, measure: Measure, value: f64) -> Result<(), Error> {
        if measure != Measure::Length {
            return Err(measure.missing());
        }
        self.length = value;
        Ok(())
    }
}

impl Pond {
    fn validate_bathymetry(&self) -> Result<(), Error> {
        let invalid = |value: String, unit: &str, allowed: String| {
            Err(Error::invalid(Self::OWNER, "bathymetry", value, unit, allowed))
        };
        let rows = &self.bathymetry;
        if !(2..=MOST_ROWS).contains(&rows.len()) {
            return invalid(format!("{} rows", rows.len()), "", format!("must have from 2 to {MOST_ROWS}"));
        }
        let ([first, surface], [deepest, _]) = (rows[0], rows[rows.len() - 1]);
        if first != 0.0 {
            return invalid(shown(first), "m", "first depth: must be 0, the surface".to_owned());
        }
        if !(AREAS[0]..=AREAS[1]).contains(&surface) {
            let allowed = format!("area of the surface: must be from {} to {} m2", AREAS[0], AREAS[1]);
            return invalid(shown(surface), "m2", allowed);
        }
        for (row, pair) in rows.windows(2).enumerate() {
            let ([depth, area], [next_depth, next_area]) = (pair[0], pair[1]);
            if next_depth <= depth || next_depth.is_nan() {
                let allowed = format!("depth in row {}: must be below that of the row before", row + 2);
                return invalid(shown(next_depth), "m", allowed);
            }
            if !(0.0..=area).contains(&next_area) {
                let allowed = format!("area in row {}: must be from 0 to that above it", row + 2);
                return invalid(shown(next_area), "m2", allowed);
            }
        }
        if !(DEPTHS[0]..=DEPTHS[1]).contains(&deepest) {
            let allowed = format!("greatest depth: must be from {} to {} m", DEPTHS[0], DEPTHS[1]);
            return invalid(shown(deepest), "m", allowed);
        }
        Ok(())
    }

    /// Length of all coils together (m).
    #[must_use]
    pub fn total_length(&self) -> f64 {
        self.circuits as f64 * self.length
    }

    /// Flow through each coil (kg/s).
    #[must_use]
    pub fn flow_each(&self, flow: f64) -> f64 {
        flow / self.circuits as f64
    }
}
