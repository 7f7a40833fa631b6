//! Ducts, floor heating and radiators: their electricity and their return temperature to the heat pump.

use serde::{Deserialize, Serialize};

use crate::error::Error;
use crate::loads::Series;
use crate::quantity::{Quantified, Quantity};

/// Distribution of heating and cooling to the rooms.
///
/// The electricity of fans or pumps becomes heat in the air or water they move: it covers that share of the heating and
/// adds to the cooling.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind")]
pub enum Distribution {
    /// Ducts.
    #[serde(rename = "air")]
    Air(AirDistribution),
    /// Floor heating or radiators.
    #[serde(rename = "water")]
    Water(WaterDistribution),
}

/// Ducts that carry room air to the heat pump.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AirDistribution {
    /// Entering air temperature of the heat pump in heating (degC).
    pub heating_air: f64,
    /// Entering air temperature of the heat pump in cooling (degC).
    pub cooling_air: f64,
    /// Electricity of the fans per watt of heating or cooling from the heat pump.
    pub fan_share: f64,
}

/// Floor heating or radiators with outdoor reset of the water temperature.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WaterDistribution {
    /// Entering water temperature of the heat pump in heating on the coldest day (degC).
    pub return_water: f64,
    /// The same on a mild day (degC).
    pub mild_return_water: f64,
    /// Outdoor temperature of the coldest day (degC).
    pub cold_day: f64,
    /// Outdoor temperature of a mild day (degC).
    pub mild_day: f64,
    /// Entering water temperature of the heat pump in cooling (degC).
    pub cooling_water: f64,
    /// Electricity of the pumps per watt of heating or cooling from the heat pump.
    pub pump_share: f64,
    /// Outdoor temperature of each hour of one or more years (degC).
    pub outdoor: Vec<f64>,
}

impl Quantified for AirDistribution {
    const OWNER: &'static str = "AirDistribution";
    const QUANTITIES: &'static [Quantity<Self>] = &[
        Quantity::new("heating_air", "degC", 5.0, 80.0, |d| Some(d.heating_air)),
        Quantity::new("cooling_air", "degC", 3.0, 40.0, |d| Some(d.cooling_air)),
        Quantity::new("fan_share", "", 0.0, 0.3, |d| Some(d.fan_share)),
    ];
}

impl Quantified for WaterDistribution {
    const OWNER: &'static str = "WaterDistribution";
    const QUANTITIES: &'static [Quantity<Self>] = &[
        Quantity::new("return_water", "degC", 5.0, 80.0, |d| Some(d.return_water)),
        Quantity::new("mild_return_water", "degC", 5.0, 80.0, |d| Some(d.mild_return_water)),
        Quantity::new("cold_day", "degC", -60.0, 30.0, |d| Some(d.cold_day)),
        Quantity::new("mild_day", "degC", -60.0, 40.0, |d| Some(d.mild_day)),
        Quantity::new("cooling_water", "degC", 3.0, 40.0, |d| Some(d.cooling_water)),
        Quantity::new("pump_share", "", 0.0, 0.3, |d| Some(d.pump_share)),
    ];
}

impl WaterDistribution {
    fn validate(&self, hours: usize) -> Result<(), Error> {
        self.check_quantities()?;
        let invalid = |field, value, allowed| Err(Error::invalid(Self::OWNER, field, value, "degC", allowed));
        if self.cold_day >= self.mild_day {
            let allowed = format!("must be below mild_day, {} degC", self.mild_day);
            return invalid("cold_day", self.cold_day, allowed);
        }
        if self.return_water < self.mild_return_water {
            let allowed = format!("must be at least mild_return_water, {} degC", self.mild_return_water);
            return invalid("return_water", self.return_water, allowed);
        }
        if self.outdoor.is_empty() || !hours.is_multiple_of(self.outdoor.len()) {
            let value = format!("{} hourly values", self.outdoor.len());
            let allowed = "must be whole years, as the loads are";
            return Err(Error::invalid(Self::OWNER, "outdoor", value, "", allowed));
        }
        match self.outdoor.iter().position(|t| !(-100.0..=100.0).contains(t)) {
            Some(hour) => {
                invalid("outdoor", self.outdoor[hour], format!("hour {hour}: must be from -100 to 100 degC"))
            }
            None => Ok(()),
        }
    }

    /// Entering load temperature in heating in an hour of the loads (degC): linear in the outdoor temperature between
    /// the coldest and a mild day (outdoor reset), constant beyond them.
    fn heating_entering_load_temperature(&self, hour: usize) -> f64 {
        let outdoor = self.outdoor[hour % self.outdoor.len()];
        let cold = (self.mild_day - outdoor) / (self.mild_day - self.cold_day);
        self.mild_return_water + (self.return_water - self.mild_return_water) * cold.clamp(0.0, 1.0)
    }
}

impl Distribution {
    /// Checks that the values are physical and that the outdoor temperatures match loads of `hours` hours.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] names the field that is not.
    pub fn validate(&self, hours: usize) -> Result<(), Error> {
        match self {
            Self::Air(ducts) => ducts.check_quantities(),
            Self::Water(floors) => floors.validate(hours),
        }
    }

    /// Entering load temperature in heating in an hour of the loads (degC).
    #[must_use]
    pub fn heating_entering_load_temperature(&self, hour: usize) -> f64 {
        match self {
            Self::Air(ducts) => ducts.heating_air,
            Self::Water(floors) => floors.heating_entering_load_temperature(hour),
        }
    }

    /// Entering load temperature in cooling (degC).
    #[must_use]
    pub fn cooling_entering_load_temperature(&self) -> f64 {
        match self {
            Self::Air(ducts) => ducts.cooling_air,
            Self::Water(floors) => floors.cooling_water,
        }
    }

    fn power_share(&self) -> f64 {
        match self {
            Self::Air(ducts) => ducts.fan_share,
            Self::Water(floors) => floors.pump_share,
        }
    }

    /// Converts room loads into heat pump loads and adds the electricity of the distribution (W).
    pub(super) fn deliver(&self, series: &mut Series, power: &mut [f64]) {
        let share = self.power_share();
        for (hour, power) in power.iter_mut().enumerate() {
            series.heating[hour] /= 1.0 + share;
            series.cooling[hour] /= 1.0 - share;
            *power = share * (series.heating[hour] + series.cooling[hour]);
        }
    }
}
