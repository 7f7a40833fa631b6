//! Loads from a design heat loss and annual totals.

use serde::{Deserialize, Serialize};

use super::{HOURS_PER_YEAR, Loads, Series};
use crate::error::{Error, shown};
use crate::quantity::{Quantified, Quantity};

/// A building with known heat loss and annual consumption.
///
/// Heating is linear in the outdoor temperature, from the whole heat loss at the design temperature to zero at a
/// balance point, which follows from the annual total. Solar and internal gains are the difference between that line
/// and the heat loss: none at and below the design temperature, which is the usual design assumption, and increasing in
/// milder weather. Cooling rises from a balance point that is higher by the difference of the two room temperatures,
/// and its annual total gives the slope. Degree hours with a variable balance point: the variable-base degree-day
/// method of the ASHRAE Handbook of Fundamentals (chapter on energy estimating; from memory), hour by hour; that gains
/// vanish at the design temperature is common practice, no source.
///
/// Without a design temperature, the coldest hour of the weather is used.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HeatLoss {
    /// Heat loss at the design outdoor temperature (W).
    pub heat_loss: Option<f64>,
    /// Outdoor temperature of that heat loss (degC).
    pub design_outdoor: Option<f64>,
    /// Heat loss per kelvin, instead of these two (W/K).
    pub loss_coefficient: Option<f64>,
    /// Room temperature in the heating season (degC).
    pub indoor: f64,
    /// Room temperature in the cooling season (degC).
    pub cooling_indoor: f64,
    /// Annual heating (kWh).
    #[serde(rename = "heating_kWh")]
    pub heating_kwh: f64,
    /// Annual cooling (kWh).
    #[serde(rename = "cooling_kWh")]
    pub cooling_kwh: f64,
    /// Annual hot water (kWh), the same in every hour.
    #[serde(rename = "hot_water_kWh")]
    pub hot_water_kwh: f64,
}

impl Quantified for HeatLoss {
    const OWNER: &'static str = "Loads";
    const QUANTITIES: &'static [Quantity<Self>] = &[
        Quantity::new("heat_loss", "W", 1.0, 1e9, |h| h.heat_loss),
        Quantity::new("design_outdoor", "degC", -70.0, 30.0, |h| h.design_outdoor),
        Quantity::new("loss_coefficient", "W/K", 0.1, 1e7, |h| h.loss_coefficient),
        Quantity::new("indoor", "degC", 0.0, 40.0, |h| Some(h.indoor)),
        Quantity::new("cooling_indoor", "degC", 0.0, 50.0, |h| Some(h.cooling_indoor)),
        Quantity::new("heating_kWh", "kWh", 0.0, 1e10, |h| Some(h.heating_kwh)),
        Quantity::new("cooling_kWh", "kWh", 0.0, 1e10, |h| Some(h.cooling_kwh)),
        Quantity::new("hot_water_kWh", "kWh", 0.0, 1e9, |h| Some(h.hot_water_kwh)),
    ];
}

impl HeatLoss {
    /// Loads for hourly outdoor dry-bulb temperatures of a year (degC).
    ///
    /// # Errors
    /// [`Error::InvalidInput`] if a value is out of range, the heat loss is given twice or not at all, or a total is
    /// not possible in this weather.
    pub fn loads(&self, outdoor: &[f64]) -> Result<Loads, Error> {
        self.check_quantities()?;
        let invalid = |field, value: f64, unit, allowed: &str| {
            Err(Error::invalid(Self::OWNER, field, shown(value), unit, allowed))
        };
        if self.cooling_indoor < self.indoor {
            let allowed = format!("must be at least indoor, {} degC", self.indoor);
            return invalid("cooling_indoor", self.cooling_indoor, "degC", &allowed);
        }
        if outdoor.len() != HOURS_PER_YEAR {
            let allowed = format!("must be {HOURS_PER_YEAR}, without a leap day");
            return invalid("outdoor", outdoor.len() as f64, "hourly values", &allowed);
        }
        if let Some(hour) = outdoor.iter().position(|t| !(-100.0..=100.0).contains(t)) {
            let allowed = format!("hour {hour}: must be from -100 to 100 degC");
            return Err(Error::invalid(Self::OWNER, "outdoor", outdoor[hour], "degC", allowed));
        }

        let loss = self.coefficient()?;
        let most: f64 = outdoor.iter().map(|t| loss * (self.indoor - t).max(0.0)).sum::<f64>() / 1e3;
        if self.heating_kwh > most {
            let allowed =
                format!("must be at most {:.0} kWh, this heat loss in this weather without gains", most);
            return invalid("heating_kWh", self.heating_kwh, "kWh", &allowed);
        }
        let coldest = outdoor.iter().copied().fold(f64::INFINITY, f64::min);
        let design = self.design_outdoor.unwrap_or(coldest).min(self.indoor);
        let whole_loss = |t: f64| loss * (self.indoor - t).max(0.0);
        let least = outdoor.iter().filter(|t| **t <= design).map(|t| whole_loss(*t)).sum::<f64>() / 1e3;
        if self.heating_kwh > 0.0 && self.heating_kwh < least {
            let allowed = format!(
                "must be 0 or at least {least:.0} kWh, this heat loss in the hours at {design:.1} degC or below"
            );
            return invalid("heating_kWh", self.heating_kwh, "kWh", &allowed);
        }
        let (heating_base, most_heating) = if self.heating_kwh > 0.0 {
            let full_load_hours = 1e3 * (self.heating_kwh - least) / whole_loss(design);
            (balance_point(outdoor, design, full_load_hours), whole_loss(design))
        } else {
            (coldest, 0.0)
        };
        let heating = |t: f64| match t {
            _ if most_heating == 0.0 || t >= heating_base.max(design) => 0.0,
            _ if t <= design => whole_loss(t),
            _ => most_heating * (heating_base - t) / (heating_base - design),
        };
        let cooling_base = heating_base + self.cooling_indoor - self.indoor;
        let above = |t: &f64| (t - cooling_base).max(0.0);
        let degree_hours: f64 = outdoor.iter().map(above).sum();
        if self.cooling_kwh > 0.0 && degree_hours <= 0.0 {
            let allowed = format!("must be 0: no hour is warmer than {cooling_base:.1} degC");
            return invalid("cooling_kWh", self.cooling_kwh, "kWh", &allowed);
        }
        let gain = if self.cooling_kwh > 0.0 { 1e3 * self.cooling_kwh / degree_hours } else { 0.0 };

        Loads::new(Series {
            heating: outdoor.iter().map(|t| heating(*t)).collect(),
            cooling: outdoor.iter().map(|t| gain * above(t)).collect(),
            hot_water: vec![1e3 * self.hot_water_kwh / HOURS_PER_YEAR as f64; HOURS_PER_YEAR],
            ..Series::default()
        })
    }

    /// Heat loss per kelvin (W/K).
    fn coefficient(&self) -> Result<f64, Error> {
        match (self.heat_loss, self.design_outdoor, self.loss_coefficient) {
            (None, None, Some(coefficient)) => Ok(coefficient),
            (Some(loss), Some(outdoor), None) if outdoor < self.indoor => Ok(loss / (self.indoor - outdoor)),
            (Some(_), Some(outdoor), None) => {
                let allowed = format!("must be below indoor, {} degC", self.indoor);
                Err(Error::invalid(Self::OWNER, "design_outdoor", shown(outdoor), "degC", allowed))
            }
            (Some(loss), None, None) => {
                let allowed = "must be given with design_outdoor";
                Err(Error::invalid(Self::OWNER, "heat_loss", shown(loss), "W", allowed))
            }
            (_, _, Some(coefficient)) => {
                let allowed = "must be left out where heat_loss or design_outdoor is given";
                Err(Error::invalid(Self::OWNER, "loss_coefficient", shown(coefficient), "W/K", allowed))
            }
            (None, _, None) => {
                let allowed = "must be given with design_outdoor, or loss_coefficient instead of both";
                Err(Error::invalid(Self::OWNER, "heat_loss", "nothing", "W", allowed))
            }
        }
    }
}

/// The balance temperature of a line that is 1 at `design` and 0 there, such that the hours of `outdoor` between the
/// two sum to `full_load_hours` (degC); the coldest of these hours if that is 0.
fn balance_point(outdoor: &[f64], design: f64, full_load_hours: f64) -> f64 {
    let mut above: Vec<f64> = outdoor.iter().map(|t| t - design).filter(|above| *above > 0.0).collect();
    above.sort_by(f64::total_cmp);
    let (mut sum, mut point) = (0.0, f64::INFINITY);
    for (colder, above) in above.iter().enumerate() {
        if *above >= point {
            break;
        }
        sum += above;
        let hours = (colder + 1) as f64;
        point = if hours > full_load_hours { sum / (hours - full_load_hours) } else { f64::INFINITY };
    }
    design + point
}

#[cfg(test)]
mod tests {
    use super::*;

    const HOUSE: HeatLoss = HeatLoss {
        heat_loss: Some(9000.0),
        design_outdoor: Some(-10.0),
        loss_coefficient: None,
        indoor: 20.0,
        cooling_indoor: 25.0,
        heating_kwh: 12_000.0,
        cooling_kwh: 1500.0,
        hot_water_kwh: 2628.0,
    };

    fn outdoor() -> Vec<f64> {
        (0..8760).map(|hour| f64::from(hour % 41) - 10.0).collect()
    }

    #[test]
    fn totals_are_met_and_heating_never_coincides_with_cooling() {
        let loads = HOUSE.loads(&outdoor()).unwrap().into_series();
        let total = |series: &[f64]| series.iter().sum::<f64>() / 1e3;
        assert!((total(&loads.heating) - 12_000.0).abs() < 1e-7);
        assert!((total(&loads.cooling) - 1500.0).abs() < 1e-7);
        assert!((total(&loads.hot_water) - 2628.0).abs() < 1e-7);
        for (heating, cooling) in loads.heating.iter().zip(&loads.cooling) {
            assert!(heating * cooling == 0.0);
        }
    }

    #[test]
    fn the_stated_loss_is_reached_at_the_design_temperature() {
        let heating = HOUSE.loads(&outdoor()).unwrap().into_series().heating;
        assert!((heating[0] - 9000.0).abs() < 1e-9);
        let mild = HeatLoss { design_outdoor: Some(-5.0), heating_kwh: 25_000.0, ..HOUSE };
        let heating = mild.loads(&outdoor()).unwrap().into_series().heating;
        assert!((heating.iter().sum::<f64>() / 1e3 - 25_000.0).abs() < 1e-7);
        // 9000 W over 25 K is 360 W/K, fully reached in the hours of -10 to -5 degC.
        for (hour, expected) in [(0, 10_800.0), (3, 9720.0), (5, 9000.0)] {
            assert!((heating[hour] - expected).abs() < 1e-9, "{}", heating[hour]);
        }
        let by_coefficient =
            HeatLoss { heat_loss: None, design_outdoor: None, loss_coefficient: Some(200.0), ..HOUSE };
        let heating = by_coefficient.loads(&outdoor()).unwrap().into_series().heating;
        assert!((heating[0] - 6000.0).abs() < 1e-9);
    }

    #[test]
    fn heating_falls_with_the_outdoor_temperature_and_never_exceeds_the_loss() {
        for total in [9000.0, 12_000.0, 25_000.0] {
            let house =
                HeatLoss { heating_kwh: total, design_outdoor: Some(-7.0), cooling_kwh: 0.0, ..HOUSE };
            let heating = house.loads(&outdoor()).unwrap().into_series().heating;
            for (t, pair) in (-10_i32..30).zip(heating[..41].windows(2)) {
                assert!(pair[1] <= pair[0] && pair[0] <= 9000.0 / 27.0 * f64::from(20 - t).max(0.0) + 1e-9);
            }
        }
    }

    #[test]
    fn the_balance_point_follows_from_the_full_load_hours() {
        // Two of three hours lie below 8: (8 - 4) / 8 + (8 - 2) / 8.
        assert_eq!(balance_point(&[4.0, 30.0, 2.0], 0.0, 1.25), 8.0);
        assert_eq!(balance_point(&[4.0, 30.0, 2.0], 0.0, 0.0), 2.0);
        assert_eq!(balance_point(&[14.0, 40.0, 12.0, 10.0, 5.0], 10.0, 1.25), 18.0);
    }

    #[test]
    fn impossible_totals_are_rejected() {
        let refusal = |house: HeatLoss| house.loads(&outdoor()).unwrap_err().to_string();
        let message = refusal(HeatLoss { heating_kwh: 90_000.0, ..HOUSE });
        assert!(message.starts_with("Loads.heating_kWh = 90000 kWh: must be at most"), "{message}");
        let mild = HeatLoss { heating_kwh: 900.0, design_outdoor: Some(0.0), ..HOUSE };
        assert!(refusal(mild).contains("must be 0 or at least"));
        let message = refusal(HeatLoss { heating_kwh: 0.0, cooling_indoor: 45.0, indoor: 0.0, ..HOUSE });
        assert!(
            message.contains("cooling_kWh = 1500 kWh: must be 0: no hour is warmer than 35"),
            "{message}"
        );
        assert!(refusal(HeatLoss { design_outdoor: Some(20.0), ..HOUSE }).contains("must be below indoor"));
        assert!(refusal(HeatLoss { design_outdoor: None, ..HOUSE }).contains("with design_outdoor"));
        assert!(refusal(HeatLoss { loss_coefficient: Some(1.0), ..HOUSE }).contains("must be left out"));
        let nothing = HeatLoss { heat_loss: None, design_outdoor: None, ..HOUSE };
        assert!(refusal(nothing).contains("heat_loss = nothing W"));
        assert!(refusal(HeatLoss { cooling_indoor: 19.0, ..HOUSE }).contains("must be at least indoor"));
        assert!(HOUSE.loads(&[0.0; 24]).unwrap_err().to_string().contains("24 hourly values"));
        let mut bad = outdoor();
        bad[17] = f64::NAN;
        assert!(HOUSE.loads(&bad).unwrap_err().to_string().contains("outdoor = NaN degC: hour 17"));
    }
}
