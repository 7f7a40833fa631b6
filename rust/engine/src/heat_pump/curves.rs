//! A heat pump by its curves over the entering fluid temperature.

use serde::{Deserialize, Serialize};

use super::polynomial::least;
use crate::error::Error;
use crate::quantity::{Quantified, Quantity};

/// Highest power of the entering fluid temperature in a curve.
pub const HIGHEST_DEGREE: usize = 3;
/// Where curves without a range of their own must be physical [degC].
pub const USUAL_RANGE: [f64; 2] = [-10.0, 40.0];

/// Steady full-load performance in heating or in cooling: polynomials c0 + c1 EFT + c2 EFT2 + ..., EFT in degC.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Mode {
    /// Coefficients of the COP: capacity over electricity.
    pub cop: Vec<f64>,
    /// Coefficients of the capacity [W]: heat given to the building, or taken from it; `None` where it has no limit.
    pub capacity: Option<Vec<f64>>,
    /// Lowest and highest entering fluid temperature that the curves are known for [degC].
    pub entering_fluid_range: Option<[f64; 2]>,
}

impl Mode {
    /// Lowest and highest entering fluid temperature at which the curves hold [degC].
    #[must_use]
    #[inline(always)]
    pub fn range(&self) -> [f64; 2] {
        self.entering_fluid_range.unwrap_or(USUAL_RANGE)
    }

    fn validate(&self, mode: &str, least_cop: f64) -> Result<(), Error> {
        let range = self.range();
        if !(-50.0 <= range[0] && range[0] < range[1] && range[1] <= 100.0) {
            let field = format!("{mode}_range");
            let allowed = "must be a lower and a higher temperature from -50 to 100 degC";
            return Err(Error::invalid("HeatPump", &field, format!("{range:?}"), "degC", allowed));
        }
        check_curve(&format!("{mode}_cop"), &self.cop, "", least_cop, range)?;
        match &self.capacity {
            Some(capacity) => check_curve(&format!("{mode}_capacity"), capacity, "W", 0.0, range),
            None => Ok(()),
        }
    }
}

/// A heat pump, in heating, in cooling or in both.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HeatPump {
    /// Performance in heating; `None` where it does not heat.
    pub heating: Option<Mode>,
    /// Performance in cooling; `None` where it does not cool.
    pub cooling: Option<Mode>,
    /// Share of the COP that is lost by cycling as the part load goes to nothing.
    pub cycling_loss: f64,
}

impl Quantified for HeatPump {
    const OWNER: &'static str = "HeatPump";
    const QUANTITIES: &'static [Quantity<Self>] =
        &[Quantity::new("cycling_loss", "", 0.0, 0.5, |h| Some(h.cycling_loss))];
}

impl HeatPump {
    /// Checks that the curves are physical over their ranges: COP above 1 in heating and above 0 in cooling, capacity
    /// above 0 W; curves without a range over -10 to 40 degC.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] names the field that is not.
    pub fn validate(&self) -> Result<(), Error> {
        self.check_quantities()?;
        let modes = [("heating", &self.heating, 1.0), ("cooling", &self.cooling, 0.0)];
        if modes.iter().all(|(_, mode, _)| mode.is_none()) {
            let allowed = "must be given, or cooling_cop, or both";
            return Err(Error::invalid("HeatPump", "heating_cop", "nothing", "", allowed));
        }
        for (name, mode, least_cop) in modes {
            let Some(mode) = mode else { continue };
            mode.validate(name, least_cop)?;
            if self.cycling_loss > 0.0 && mode.capacity.is_none() {
                let allowed = format!("must be 0 without {name}_capacity, which tells the part load");
                return Err(Error::invalid("HeatPump", "cycling_loss", self.cycling_loss, "", allowed));
            }
        }
        Ok(())
    }
}

fn check_curve(field: &str, curve: &[f64], unit: &str, bound: f64, range: [f64; 2]) -> Result<(), Error> {
    let invalid =
        |value: String, allowed: String| Err(Error::invalid("HeatPump", field, value, unit, allowed));
    if curve.is_empty() || curve.len() > HIGHEST_DEGREE + 1 {
        let allowed = format!("must have 1 to {} coefficients", HIGHEST_DEGREE + 1);
        return invalid(format!("{curve:?}"), allowed);
    }
    if let Some(coefficient) = curve.iter().find(|c| c.abs() > 1e12 || c.is_nan()) {
        return invalid(coefficient.to_string(), "each coefficient must be from -1e12 to 1e12".to_owned());
    }
    let (place, value) = least(curve, range);
    if value > bound {
        return Ok(());
    }
    let spaced_unit = if unit.is_empty() { String::new() } else { format!(" {unit}") };
    let allowed = format!(
        "must be above {bound}{spaced_unit} from {} to {} degC; at {place:.2} degC it is not",
        range[0], range[1]
    );
    invalid(format!("{value:.4}"), allowed)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn both() -> HeatPump {
        let heating = Mode {
            cop: vec![3.6, 0.08, -0.0004],
            capacity: Some(vec![13_000.0, 300.0]),
            entering_fluid_range: Some([-5.0, 35.0]),
        };
        let cooling = Mode { cop: vec![7.0, -0.09], capacity: None, entering_fluid_range: None };
        HeatPump { heating: Some(heating), cooling: Some(cooling), cycling_loss: 0.0 }
    }

    fn refusal(change: impl Fn(&mut HeatPump, &mut Mode)) -> String {
        let mut heat_pump = both();
        let mut heating = heat_pump.heating.clone().unwrap();
        change(&mut heat_pump, &mut heating);
        heat_pump.heating = Some(heating);
        heat_pump.validate().unwrap_err().to_string()
    }

    #[test]
    fn sensible_curves_are_accepted() {
        both().validate().unwrap();
        HeatPump { heating: None, ..both() }.validate().unwrap();
    }

    #[test]
    fn unphysical_curves_are_refused_with_their_place() {
        let message = refusal(|_, heating| heating.cop = vec![1.5, 0.1]);
        assert_eq!(
            message,
            "HeatPump.heating_cop = 1.0000: must be above 1 from -5 to 35 degC; at -5.00 degC it is not"
        );
        let message = refusal(|_, heating| heating.capacity = Some(vec![900.0, -60.0, 1.0]));
        assert!(message.contains("HeatPump.heating_capacity = 0.0000 W: must be above 0 W"), "{message}");
        assert!(message.contains("at 30.00 degC"), "{message}");
        let message = refusal(|_, heating| heating.cop = vec![]);
        assert!(message.contains("1 to 4 coefficients"), "{message}");
        let message = refusal(|_, heating| heating.cop = vec![4.0, f64::NAN]);
        assert!(message.contains("HeatPump.heating_cop = NaN"), "{message}");
        let message = refusal(|_, heating| heating.entering_fluid_range = Some([20.0, 20.0]));
        assert!(message.contains("HeatPump.heating_range"), "{message}");
    }

    #[test]
    fn cycling_losses_need_a_capacity() {
        let message = refusal(|heat_pump, _| heat_pump.cycling_loss = 0.2);
        assert!(message.contains("must be 0 without cooling_capacity"), "{message}");
        let message = refusal(|heat_pump, _| heat_pump.cycling_loss = 0.6);
        assert!(message.contains("HeatPump.cycling_loss = 0.6: must be from 0 to 0.5"), "{message}");
    }

    #[test]
    fn a_heat_pump_does_something() {
        let message = HeatPump { heating: None, cooling: None, cycling_loss: 0.0 }.validate().unwrap_err();
        assert!(message.to_string().contains("HeatPump.heating_cop = nothing"));
    }
}
