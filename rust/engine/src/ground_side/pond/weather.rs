//! The weather over a pond.

use serde::{Deserialize, Serialize};

use crate::error::Error;
use crate::loads::HOURS_PER_YEAR;

/// Hourly means of a year from 1 January.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Weather {
    /// Temperature of the air (degC).
    pub dry_bulb: Vec<f64>,
    /// Relative humidity (%).
    pub relative_humidity: Vec<f64>,
    /// Global horizontal irradiance (W/m2).
    pub ghi: Vec<f64>,
    /// Wind speed 10 m above ground (m/s).
    pub wind_speed: Vec<f64>,
    /// Latitude (deg).
    pub latitude: f64,
    /// Height above the sea (m).
    pub altitude: f64,
}

impl Weather {
    /// Checks that every hour has a physical value.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] names the series that is invalid.
    pub fn validate(&self) -> Result<(), Error> {
        let series = [
            ("dry_bulb", &self.dry_bulb, "degC", -90.0..=60.0),
            ("relative_humidity", &self.relative_humidity, "%", 0.0..=100.0),
            ("ghi", &self.ghi, "W/m2", 0.0..=1600.0),
            ("wind_speed", &self.wind_speed, "m/s", 0.0..=100.0),
        ];
        for (name, values, unit, range) in series {
            if values.len() != HOURS_PER_YEAR {
                let allowed = format!("must be {HOURS_PER_YEAR}, without a leap day");
                return Err(Error::invalid("Weather", name, values.len(), "hourly values", allowed));
            }
            if let Some(hour) = values.iter().position(|value| !range.contains(value)) {
                let allowed =
                    format!("hour {hour}: must be from {} to {} {unit}", range.start(), range.end());
                return Err(Error::invalid("Weather", name, values[hour], unit, allowed));
            }
        }
        for (name, value, unit, range) in [
            ("latitude", self.latitude, "deg", -90.0..=90.0),
            ("altitude", self.altitude, "m", -500.0..=9000.0),
        ] {
            if !range.contains(&value) {
                let allowed = format!("must be from {} to {} {unit}", range.start(), range.end());
                return Err(Error::invalid("Weather", name, value, unit, allowed));
            }
        }
        Ok(())
    }
}
