//! Ducts, warm floors and radiators: what they take to move heat, and how warm they bring the heat pump's other side.

use serde::{Deserialize, Serialize};

use crate::error::Error;
use crate::loads::Series;
use crate::quantity::{Quantified, Quantity};

/// Distribution of heat and cold in the building.
///
/// Electricity of its fans or pumps ends as heat in what they move: they carry that share of the heating, and add it to the cooling.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Distribution {
    /// What enters the heat pump in heating on the coldest day; with air on every day [degC].
    pub heating_side: f64,
    /// The same on a mild day [degC].
    pub mild_heating_side: f64,
    /// Outdoor temperatures of the coldest and of a mild day [degC].
    pub cold_day: f64,
    /// Outdoor temperature of a mild day [degC].
    pub mild_day: f64,
    /// What enters the heat pump in cooling [degC].
    pub cooling_side: f64,
    /// Electricity for each watt of heat or cold that comes from the heat pump.
    pub power_share: f64,
    /// Outdoor temperature of each hour of a year, where the water's temperature follows it [degC].
    pub outdoor: Option<Vec<f64>>,
}

impl Quantified for Distribution {
    const OWNER: &'static str = "Distribution";
    const QUANTITIES: &'static [Quantity<Self>] = &[
        Quantity::new("heating_side", "degC", 5.0, 80.0, |d| Some(d.heating_side)),
        Quantity::new("mild_heating_side", "degC", 5.0, 80.0, |d| Some(d.mild_heating_side)),
        Quantity::new("cold_day", "degC", -60.0, 30.0, |d| Some(d.cold_day)),
        Quantity::new("mild_day", "degC", -60.0, 40.0, |d| Some(d.mild_day)),
        Quantity::new("cooling_side", "degC", 3.0, 40.0, |d| Some(d.cooling_side)),
        Quantity::new("power_share", "", 0.0, 0.3, |d| Some(d.power_share)),
    ];
}

impl Distribution {
    /// Checks that the values are physical and the outdoor temperatures go with loads of `hours` hours.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] names the field that is not.
    pub fn validate(&self, hours: usize) -> Result<(), Error> {
        self.check_quantities()?;
        if self.cold_day >= self.mild_day {
            let allowed = format!("must be below mild_day, {} degC", self.mild_day);
            return Err(Error::invalid(Self::OWNER, "cold_day", self.cold_day, "degC", allowed));
        }
        if self.heating_side < self.mild_heating_side {
            let allowed = format!("must be at least mild_heating_side, {} degC", self.mild_heating_side);
            return Err(Error::invalid(Self::OWNER, "heating_side", self.heating_side, "degC", allowed));
        }
        let Some(outdoor) = &self.outdoor else { return Ok(()) };
        if outdoor.is_empty() || !hours.is_multiple_of(outdoor.len()) {
            let value = format!("{} hourly values", outdoor.len());
            return Err(Error::invalid(
                Self::OWNER,
                "outdoor",
                value,
                "",
                "must be whole years, as the loads are",
            ));
        }
        match outdoor.iter().position(|t| !(-100.0..=100.0).contains(t)) {
            Some(hour) => {
                let allowed = format!("hour {hour}: must be from -100 to 100 degC");
                Err(Error::invalid(Self::OWNER, "outdoor", outdoor[hour], "degC", allowed))
            }
            None => Ok(()),
        }
    }

    /// What enters the heat pump in heating in an hour of the loads [degC]: straight over the outdoor temperature between the
    /// coldest and a mild day (outdoor reset), as on those beyond.
    #[must_use]
    pub fn heating_side(&self, hour: usize) -> f64 {
        let Some(outdoor) = &self.outdoor else { return self.heating_side };
        let cold = (self.mild_day - outdoor[hour % outdoor.len()]) / (self.mild_day - self.cold_day);
        self.mild_heating_side + (self.heating_side - self.mild_heating_side) * cold.clamp(0.0, 1.0)
    }

    /// Turns what the rooms need into what the heat pump must deliver; tells the electricity that goes with it [W].
    pub(super) fn deliver(&self, series: &mut Series, power: &mut [f64]) {
        for (hour, power) in power.iter_mut().enumerate() {
            series.heating[hour] /= 1.0 + self.power_share;
            series.cooling[hour] /= 1.0 - self.power_share;
            *power = self.power_share * (series.heating[hour] + series.cooling[hour]);
        }
    }
}
