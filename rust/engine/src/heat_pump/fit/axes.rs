//! Ranges of a table: flow and temperatures, scaled so that the fit is well conditioned.

use faer::Col;

use super::scaled_point::ScaledPoint;
use super::terms::Term;
use crate::error::Error;
use crate::heat_pump::table::Point;

/// A range of values, scaled to -1 to 1.
#[derive(Clone, Copy)]
pub struct Axis {
    pub low: f64,
    pub high: f64,
}

impl Axis {
    pub fn over(values: impl Iterator<Item = f64>) -> Self {
        let span = |(low, high): (f64, f64), value: f64| (low.min(value), high.max(value));
        let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), span);
        Self { low, high }
    }

    /// The axis of an optional column; the design point must have a value for it exactly if the table has the column.
    pub fn checked(
        values: impl Iterator<Item = Option<f64>>,
        design: Option<f64>,
        field: &str,
        unit: &str,
    ) -> Result<Option<Self>, Error> {
        let values: Vec<f64> = values.flatten().collect();
        if values.is_empty() {
            return match design {
                Some(value) => {
                    let allowed = "must be left out: the table does not depend on it";
                    Err(Error::invalid("HeatPump", field, value, unit, allowed))
                }
                None => Ok(None),
            };
        }
        let axis = Self::over(values.into_iter());
        let Self { low, high } = axis;
        match design {
            Some(value) if (low..=high).contains(&value) => Ok(Some(axis)),
            other => {
                let value = other.map_or("nothing".to_owned(), |value| value.to_string());
                let allowed = format!("must be from {low} to {high} {unit}, the table's span");
                Err(Error::invalid("HeatPump", field, value, unit, allowed))
            }
        }
    }

    fn middle(&self) -> f64 {
        0.5 * (self.low + self.high)
    }

    fn half(&self) -> f64 {
        0.5 * (self.high - self.low)
    }

    fn scaled(&self, value: f64) -> f64 {
        if self.half() > 0.0 { (value - self.middle()) / self.half() } else { 0.0 }
    }
}

/// The axes of a table; `None` for a missing column.
pub struct Axes {
    pub entering_fluid: Axis,
    pub flow: Option<Axis>,
    pub entering_load: Option<Axis>,
}

impl Axes {
    pub fn place(&self, point: &Point) -> ScaledPoint {
        ScaledPoint {
            entering_fluid: self.entering_fluid.scaled(point.entering_fluid),
            ..self.at_mean_fluid(point.flow, point.entering_load)
        }
    }

    fn at_mean_fluid(&self, flow: Option<f64>, entering_load: Option<f64>) -> ScaledPoint {
        let scaled = |axis: Option<Axis>, value: Option<f64>| {
            axis.zip(value).map_or(0.0, |(axis, value)| axis.scaled(value))
        };
        ScaledPoint {
            entering_fluid: 0.0,
            flow: scaled(self.flow, flow),
            entering_load: scaled(self.entering_load, entering_load),
        }
    }

    /// Coefficients of 1, EFT and EFT2 at a flow and an entering load temperature, EFT in degC.
    pub fn curve_at_design(
        &self,
        terms: &[&Term],
        coefficients: &Col<f64>,
        flow: Option<f64>,
        entering_load: Option<f64>,
    ) -> Vec<f64> {
        let design = self.at_mean_fluid(flow, entering_load);
        let mut scaled = [0.0; 3];
        for (term, coefficient) in terms.iter().zip(coefficients.iter()) {
            scaled[term.power] += coefficient * (term.factor)(&design);
        }
        let (middle, half) = (self.entering_fluid.middle(), self.entering_fluid.half());
        let [c0, c1, c2] = [scaled[0], scaled[1] / half, scaled[2] / (half * half)];
        vec![c0 - c1 * middle + c2 * middle * middle, c1 - 2.0 * c2 * middle, c2]
    }

    /// Coefficients of 1 and EFT of the change per kelvin of the entering load, EFT in degC.
    pub fn change_by_side(&self, terms: &[&Term], coefficients: &Col<f64>, axis: &Axis) -> Vec<f64> {
        if axis.half() == 0.0 {
            return Vec::new();
        }
        let one = ScaledPoint { entering_fluid: 0.0, flow: 0.0, entering_load: 1.0 };
        let none = ScaledPoint { entering_load: 0.0, ..one };
        let mut scaled = [0.0; 2];
        for (term, coefficient) in terms.iter().zip(coefficients.iter()).filter(|(term, _)| term.power < 2) {
            scaled[term.power] += coefficient * ((term.factor)(&one) - (term.factor)(&none)) / axis.half();
        }
        let (middle, half) = (self.entering_fluid.middle(), self.entering_fluid.half());
        vec![scaled[0] - scaled[1] * middle / half, scaled[1] / half]
    }
}
