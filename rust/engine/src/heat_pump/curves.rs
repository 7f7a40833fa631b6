//! A heat pump described by curves over the entering fluid temperature.

use serde::{Deserialize, Serialize};

use super::polynomial::{least, value_and_slope};
use crate::error::{Error, shown};
use crate::quantity::{Quantified, Quantity};

/// Highest power of the entering fluid temperature in a curve.
pub const HIGHEST_DEGREE: usize = 3;
/// Temperatures at which curves without their own range must be physical (degC).
pub const USUAL_RANGE: [f64; 2] = [-10.0, 40.0];

/// Steady full-load performance in heating or in cooling: polynomials c0 + c1 EFT + c2 EFT2 + ..., EFT in degC.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Mode {
    /// Coefficients of the COP: capacity over electricity.
    pub cop: Vec<f64>,
    /// Coefficients of the capacity (W): heat delivered to the building, or removed from it; `None` for unlimited
    /// capacity.
    pub capacity: Option<Vec<f64>>,
    /// Lowest and highest entering fluid temperature of the curves (degC).
    pub entering_fluid_range: Option<[f64; 2]>,
    /// Effect of the entering load temperature; `None` if it is unknown.
    #[serde(default)]
    pub entering_load: Option<EnteringLoadCorrection>,
}

/// Change of performance with the entering load temperature.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct EnteringLoadCorrection {
    /// Reference entering load temperature of the mode's curves (degC).
    pub reference: f64,
    /// Lowest and highest entering load temperature for which this is valid (degC).
    pub range: [f64; 2],
    /// Change of the COP per kelvin above the reference: coefficients c0 + c1 EFT.
    pub cop: Vec<f64>,
    /// Change of the capacity per kelvin above the reference: coefficients c0 + c1 EFT (W/K).
    pub capacity: Vec<f64>,
}

/// Highest power of the entering fluid temperature in the correction for the entering load.
const ENTERING_LOAD_DEGREE: usize = 1;

impl EnteringLoadCorrection {
    fn validate(&self, mode: &str) -> Result<(), Error> {
        let field = format!("{mode}_entering_load");
        let [low, high] = self.range;
        if !(-30.0 <= low && low <= self.reference && self.reference <= high && high <= 90.0) {
            let value = format!("{} degC within {:?}", self.reference, self.range);
            let allowed =
                "must be a temperature within its range, whose ends must rise and be from -30 to 90 degC";
            return Err(Error::invalid("HeatPump", &field, value, "degC", allowed));
        }
        for curve in [&self.cop, &self.capacity] {
            if curve.len() > ENTERING_LOAD_DEGREE + 1 || curve.iter().any(|c| c.abs() > 1e12 || c.is_nan()) {
                let allowed =
                    format!("must have up to {} coefficients from -1e12 to 1e12", ENTERING_LOAD_DEGREE + 1);
                return Err(Error::invalid("HeatPump", &field, format!("{curve:?}"), "", allowed));
            }
        }
        Ok(())
    }
}

impl Mode {
    /// Lowest and highest entering fluid temperature for which the curves are valid (degC).
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
        self.entering_load.iter().try_for_each(|side| side.validate(mode))?;
        check_curve(&format!("{mode}_cop"), &self.cop, "", least_cop, range)?;
        if let Some(capacity) = &self.capacity {
            check_curve(&format!("{mode}_capacity"), capacity, "W", 0.0, range)?;
        }
        for (end, far) in self.far_sides() {
            let at = |name| format!("{mode}_{name} at an entering load temperature of {end} degC");
            check_curve(&at("cop"), &far.cop, "", least_cop, range)?;
            if let Some(capacity) = &far.capacity {
                check_curve(&at("capacity"), capacity, "W", 0.0, range)?;
            }
        }
        Ok(())
    }

    /// The curves at both ends of the entering load's range: the correction is linear, so bounds at both ends hold in
    /// between.
    fn far_sides(&self) -> Vec<(f64, Self)> {
        let Some(side) = &self.entering_load else { return Vec::new() };
        let at = |end: f64| {
            let shift = |curve: &[f64], change: &[f64]| -> Vec<f64> {
                let value = |c: &[f64], i: usize| c.get(i).copied().unwrap_or(0.0);
                let moved = |i| value(curve, i) + (end - side.reference) * value(change, i);
                (0..curve.len().max(change.len())).map(moved).collect()
            };
            let cop = shift(&self.cop, &side.cop);
            let capacity = self.capacity.as_ref().map(|capacity| shift(capacity, &side.capacity));
            (end, Self { cop, capacity, entering_load: None, ..self.clone() })
        };
        side.range.map(at).to_vec()
    }

    /// Checks that a lowest stage has less capacity than this one over its range.
    fn check_low(&self, mode: &str, low: &Self) -> Result<(), Error> {
        let field = format!("{mode}_low_capacity");
        let (Some(_), Some(_)) = (&self.capacity, &low.capacity) else {
            let allowed = format!("must be given, and {mode}_capacity too");
            return Err(Error::invalid("HeatPump", &field, "nothing", "W", allowed));
        };
        let sides = |mode: &Self| match mode.far_sides() {
            none if none.is_empty() => vec![(0.0, mode.clone())],
            far => far,
        };
        for (_, full) in sides(self) {
            for (_, low) in sides(low) {
                let value = |c: &Option<Vec<f64>>, i: usize| {
                    c.as_ref().and_then(|c| c.get(i)).copied().unwrap_or(0.0)
                };
                let spare: Vec<f64> = (0..=HIGHEST_DEGREE)
                    .map(|i| value(&full.capacity, i) - value(&low.capacity, i))
                    .collect();
                let range = low.range();
                let (place, spare) = least(&spare, range);
                if spare <= 0.0 {
                    let (low, _) = value_and_slope(low.capacity.as_deref().unwrap_or_default(), place);
                    let allowed = format!(
                        "must be below {mode}_capacity, which is {:.1} W at {place:.2} degC",
                        low + spare
                    );
                    return Err(Error::invalid("HeatPump", &field, format!("{low:.1}"), "W", allowed));
                }
            }
        }
        Ok(())
    }
}

/// A heat pump, in heating, in cooling or in both.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HeatPump {
    /// Performance in heating; `None` if it does not heat.
    pub heating: Option<Mode>,
    /// Performance in cooling; `None` if it does not cool.
    pub cooling: Option<Mode>,
    /// Performance of the lowest stage, or at the lowest speed, in heating; `None` for a single stage.
    #[serde(default)]
    pub heating_low: Option<Mode>,
    /// Performance of the lowest stage, or at the lowest speed, in cooling; `None` for a single stage.
    #[serde(default)]
    pub cooling_low: Option<Mode>,
    /// Whether the speed varies between the lowest and the full one; otherwise the two stages alternate.
    #[serde(default)]
    pub variable_speed: bool,
    /// Degradation coefficient: share of the COP lost by cycling as the part load approaches zero.
    pub degradation_coefficient: f64,
    /// Entering fluid temperature below which the unit does not heat (degC).
    #[serde(default)]
    pub heating_lock_out: Option<f64>,
    /// Entering fluid temperature above which the unit does not cool (degC).
    #[serde(default)]
    pub cooling_lock_out: Option<f64>,
}

impl Quantified for HeatPump {
    const OWNER: &'static str = "HeatPump";
    const QUANTITIES: &'static [Quantity<Self>] = &[
        Quantity::new("degradation_coefficient", "", 0.0, 0.5, |h| Some(h.degradation_coefficient)),
        Quantity::new("heating_lock_out", "degC", -50.0, 100.0, |h| h.heating_lock_out),
        Quantity::new("cooling_lock_out", "degC", -50.0, 100.0, |h| h.cooling_lock_out),
    ];
}

impl HeatPump {
    /// Checks that the curves are physical over their ranges: COP above 1 in heating and above 0 in cooling, capacity
    /// above 0 W; curves without a range over -10 to 40 degC.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] names the field that is not.
    pub fn validate(&self) -> Result<(), Error> {
        self.check_quantities()?;
        let modes = [
            ("heating", &self.heating, &self.heating_low, self.heating_lock_out, 1.0),
            ("cooling", &self.cooling, &self.cooling_low, self.cooling_lock_out, 0.0),
        ];
        if modes.iter().all(|(_, mode, ..)| mode.is_none()) {
            let allowed = "must be given, or cooling_cop, or both";
            return Err(Error::invalid("HeatPump", "heating_cop", "nothing", "", allowed));
        }
        if self.variable_speed && self.heating_low.is_none() && self.cooling_low.is_none() {
            let allowed = "must be left out without performance at the lowest speed";
            return Err(Error::invalid("HeatPump", "variable_speed", true, "", allowed));
        }
        for (name, mode, low, lock_out, least_cop) in modes {
            let Some(mode) = mode else {
                if low.is_some() {
                    let allowed = format!("must be given with {name}_low_cop");
                    return Err(Error::invalid("HeatPump", &format!("{name}_cop"), "nothing", "", allowed));
                }
                if let Some(lock_out) = lock_out {
                    let (field, allowed) = (
                        format!("{name}_lock_out"),
                        format!("must be left out: the heat pump has no {name}"),
                    );
                    return Err(Error::invalid("HeatPump", &field, shown(lock_out), "degC", allowed));
                }
                continue;
            };
            mode.validate(name, least_cop)?;
            if let Some(low) = low {
                low.validate(&format!("{name}_low"), least_cop)?;
                mode.check_low(name, low)?;
            }
            if let (Some(lock_out), None) = (lock_out, &mode.capacity) {
                let allowed = format!("must be left out without {name}_capacity");
                return Err(Error::invalid(
                    "HeatPump",
                    &format!("{name}_lock_out"),
                    lock_out,
                    "degC",
                    allowed,
                ));
            }
            if self.degradation_coefficient > 0.0 && mode.capacity.is_none() {
                let allowed = format!("must be 0 without {name}_capacity, from which the part load follows");
                return Err(Error::invalid(
                    "HeatPump",
                    "degradation_coefficient",
                    self.degradation_coefficient,
                    "",
                    allowed,
                ));
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
            entering_load: None,
        };
        let cooling =
            Mode { cop: vec![7.0, -0.09], capacity: None, entering_fluid_range: None, entering_load: None };
        HeatPump { heating: Some(heating), cooling: Some(cooling), ..HeatPump::default() }
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
    fn unphysical_curves_are_rejected_with_the_temperature() {
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
    fn degradation_needs_a_capacity() {
        let message = refusal(|heat_pump, _| heat_pump.degradation_coefficient = 0.2);
        assert!(message.contains("must be 0 without cooling_capacity"), "{message}");
        let message = refusal(|heat_pump, _| heat_pump.degradation_coefficient = 0.6);
        assert!(
            message.contains("HeatPump.degradation_coefficient = 0.6: must be from 0 to 0.5"),
            "{message}"
        );
    }

    #[test]
    fn a_heat_pump_heats_or_cools() {
        let message = HeatPump::default().validate().unwrap_err();
        assert!(message.to_string().contains("HeatPump.heating_cop = nothing"));
    }

    #[test]
    fn the_far_ends_of_the_entering_load_range_are_checked() {
        let side = EnteringLoadCorrection {
            reference: 35.0,
            range: [25.0, 55.0],
            cop: vec![-0.12],
            capacity: vec![],
        };
        let message = refusal(|_, heating| heating.entering_load = Some(side.clone()));
        assert!(
            message.starts_with("HeatPump.heating_cop at an entering load temperature of 55 degC = 0.7"),
            "{message}"
        );
        let gentle = EnteringLoadCorrection { cop: vec![-0.05], ..side.clone() };
        HeatPump {
            heating: both().heating.map(|mode| Mode { entering_load: Some(gentle), ..mode }),
            ..both()
        }
        .validate()
        .unwrap();
        let message = refusal(|_, heating| {
            heating.entering_load = Some(EnteringLoadCorrection { reference: 60.0, ..side.clone() })
        });
        assert!(
            message.contains("HeatPump.heating_entering_load = 60 degC within [25.0, 55.0]"),
            "{message}"
        );
    }

    #[test]
    fn a_low_stage_has_less_capacity() {
        let low = |scale: f64| {
            let full = both().heating.unwrap();
            Mode {
                capacity: full.capacity.map(|c| c.iter().map(|c| scale * c).collect()),
                ..both().heating.unwrap()
            }
        };
        HeatPump { heating_low: Some(low(0.6)), variable_speed: true, ..both() }.validate().unwrap();
        let message = refusal(|heat_pump, _| heat_pump.heating_low = Some(low(1.1)));
        assert!(message.contains("HeatPump.heating_low_capacity = "), "{message}");
        assert_eq!(
            message,
            "HeatPump.heating_low_capacity = 25850.0 W: must be below heating_capacity, which is 23500.0 W at 35.00 degC"
        );
        let message = refusal(|heat_pump, _| heat_pump.variable_speed = true);
        assert!(message.contains("HeatPump.variable_speed = true"), "{message}");
        let message = refusal(|heat_pump, _| heat_pump.cooling_lock_out = Some(40.0));
        assert!(message.contains("must be left out without cooling_capacity"), "{message}");
        let message = refusal(|heat_pump, _| {
            heat_pump.cooling_lock_out = Some(40.0);
            heat_pump.cooling = None;
        });
        assert_eq!(
            message,
            "HeatPump.cooling_lock_out = 40 degC: must be left out: the heat pump has no cooling"
        );
    }
}
