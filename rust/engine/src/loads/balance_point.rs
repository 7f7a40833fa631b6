//! Loads from the outdoor temperature alone.

use serde::{Deserialize, Serialize};

use super::{Loads, Series};
use crate::error::Error;
use crate::quantity::{Quantified, Quantity};

/// A building whose loads rise straight with the outdoor temperature's distance from a balance point.
///
/// Degree hours with a free base: the variable-base degree-day method of the ASHRAE Handbook of Fundamentals (chapter
/// on energy estimating; from memory), taken hour by hour. Sun, people and the building's heat capacity are only in the
/// balance points, so yearly sums are better than single hours.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BalancePoint {
    /// Heating load per kelvin below the heating balance point [W/K].
    pub loss_coefficient: f64,
    /// Outdoor temperature below which the building needs heating [degC].
    pub heating_balance: f64,
    /// Cooling load per kelvin above the cooling balance point [W/K].
    pub gain_coefficient: f64,
    /// Outdoor temperature above which the building needs cooling [degC].
    pub cooling_balance: f64,
}

impl Quantified for BalancePoint {
    const OWNER: &'static str = "Loads";
    const QUANTITIES: &'static [Quantity<Self>] = &[
        Quantity::new("loss_coefficient", "W/K", 0.0, 1e6, |b| Some(b.loss_coefficient)),
        Quantity::new("heating_balance", "degC", -30.0, 40.0, |b| Some(b.heating_balance)),
        Quantity::new("gain_coefficient", "W/K", 0.0, 1e6, |b| Some(b.gain_coefficient)),
        Quantity::new("cooling_balance", "degC", -30.0, 40.0, |b| Some(b.cooling_balance)),
    ];
}

impl BalancePoint {
    /// Loads under hourly outdoor dry-bulb temperatures [degC] of whole years, without hot water [W].
    ///
    /// # Errors
    /// [`Error::InvalidInput`] where a value is out of range or the building would be heated and cooled at once.
    pub fn loads(&self, outdoor: &[f64]) -> Result<Loads, Error> {
        self.check_quantities()?;
        if self.cooling_balance < self.heating_balance {
            let allowed = format!("must be at least heating_balance, {} degC", self.heating_balance);
            return Err(Error::invalid(
                Self::OWNER,
                "cooling_balance",
                self.cooling_balance,
                "degC",
                allowed,
            ));
        }
        if let Some(hour) = outdoor.iter().position(|t| !(-100.0..=100.0).contains(t)) {
            let allowed = format!("hour {hour}: must be from -100 to 100 degC");
            return Err(Error::invalid(Self::OWNER, "outdoor", outdoor[hour], "degC", allowed));
        }
        let heating = |t: &f64| self.loss_coefficient * (self.heating_balance - t).max(0.0);
        let cooling = |t: &f64| self.gain_coefficient * (t - self.cooling_balance).max(0.0);
        Loads::new(Series {
            heating: outdoor.iter().map(heating).collect(),
            cooling: outdoor.iter().map(cooling).collect(),
            ..Series::default()
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const HOUSE: BalancePoint = BalancePoint {
        loss_coefficient: 200.0,
        heating_balance: 15.0,
        gain_coefficient: 150.0,
        cooling_balance: 22.0,
    };

    #[test]
    fn loads_rise_from_the_balance_points() {
        let outdoor: Vec<f64> = (0..8760).map(|hour| f64::from(hour % 5) * 10.0 - 5.0).collect();
        let loads = HOUSE.loads(&outdoor).unwrap();
        assert_eq!(loads.series().heating[..5], [4000.0, 2000.0, 0.0, 0.0, 0.0]);
        assert_eq!(loads.series().cooling[..5], [0.0, 0.0, 0.0, 450.0, 1950.0]);
    }

    #[test]
    fn heating_and_cooling_at_once_is_refused() {
        let house = BalancePoint { cooling_balance: 14.0, ..HOUSE };
        let message = house.loads(&[0.0; 8760]).unwrap_err().to_string();
        assert_eq!(message, "Loads.cooling_balance = 14 degC: must be at least heating_balance, 15 degC");
    }

    #[test]
    fn bad_temperatures_are_refused() {
        let mut outdoor = vec![0.0; 8760];
        outdoor[17] = f64::NAN;
        assert!(HOUSE.loads(&outdoor).unwrap_err().to_string().contains("Loads.outdoor = NaN degC: hour 17"));
        assert!(HOUSE.loads(&[0.0; 24]).unwrap_err().to_string().contains("24 hourly values"));
    }
}
