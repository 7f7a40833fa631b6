//! Curves of entering fluid temperature from a performance table, by least squares.

use faer::linalg::solvers::SolveLstsq;
use faer::{Col, Mat};
use serde::Serialize;

use super::curves::{HeatPump, LoadSide, Mode};
use super::table::{ModeName, PerformanceTable, Point};
use crate::error::Error;

/// Share of a term that the terms before it must leave unexplained for it to be fitted.
const LEAST_NEW_SHARE: f64 = 0.02;

/// Where a table that depends on more than the entering fluid temperature is read.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct DesignPoint {
    /// Mass flow on the loop side [kg/s].
    pub flow: Option<f64>,
    /// Temperature that enters from the building in heating [degC].
    pub heating_load_side: Option<f64>,
    /// Temperature that enters from the building in cooling [degC].
    pub cooling_load_side: Option<f64>,
}

/// How well the curves meet the table.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FitQuality {
    /// In heating; `None` where the table has no heating.
    pub heating: Option<ModeQuality>,
    /// In cooling; `None` where the table has no cooling.
    pub cooling: Option<ModeQuality>,
    /// Of the lowest stage in heating; `None` where the table has none.
    pub heating_low: Option<ModeQuality>,
    /// Of the lowest stage in cooling; `None` where the table has none.
    pub cooling_low: Option<ModeQuality>,
}

/// How well the curves of one mode meet the table.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ModeQuality {
    /// Number of rating points.
    pub rows: usize,
    /// Terms of the fit in the entering fluid temperature T, the flow m and the load-side temperature L.
    pub terms: Vec<&'static str>,
    /// Lowest and highest entering fluid temperature of the table [degC].
    pub entering_fluid_range: [f64; 2],
    /// Of the capacity.
    pub capacity: Residual,
    /// Of the power.
    pub power: Residual,
    /// Entering fluid temperature [degC], capacity and power [W] of each rating point.
    pub points: Vec<[f64; 3]>,
}

/// Relative differences fitted / given - 1 over the rating points.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Residual {
    /// Root of the mean square.
    pub rms: f64,
    /// The one that is farthest from 0.
    pub largest: f64,
    /// Line of the file where it is.
    pub line: u64,
}

impl PerformanceTable {
    /// Curves at a design point, without cycling losses, and how well they meet the table.
    ///
    /// Capacity and COP are fitted by least squares with the terms 1, T, T2, m, T m, L, T L of entering fluid
    /// temperature, flow and load-side temperature, in this order; a term that the terms before it make up at the rating
    /// points (as T2 with two temperatures, or m with one flow) is left out, so that there are never more unknowns than
    /// points. At the design flow and load-side temperature a quadratic in T is left.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] where the table has one of the two columns but the design point has no value inside its
    /// span, or the other way round; where a mode has fewer than two entering fluid temperatures; and where the curves
    /// are not physical over the table's temperatures.
    pub fn fit(&self, design: &DesignPoint) -> Result<(HeatPump, FitQuality), Error> {
        let fit = |mode, is_low, load_side| -> Result<(Option<Mode>, Option<ModeQuality>), Error> {
            let is_there = self.points.iter().any(|point| point.mode == mode && point.is_low);
            if is_low && !is_there {
                return Ok((None, None));
            }
            Ok(self.fit_mode(mode, is_low, design.flow, load_side)?.unzip())
        };
        let (heating, heating_quality) = fit(ModeName::Heating, false, design.heating_load_side)?;
        let (cooling, cooling_quality) = fit(ModeName::Cooling, false, design.cooling_load_side)?;
        let (heating_low, heating_low_quality) = fit(ModeName::Heating, true, design.heating_load_side)?;
        let (cooling_low, cooling_low_quality) = fit(ModeName::Cooling, true, design.cooling_load_side)?;
        let heat_pump = HeatPump { heating, cooling, heating_low, cooling_low, ..HeatPump::default() };
        heat_pump.validate()?;
        let quality = FitQuality {
            heating: heating_quality,
            cooling: cooling_quality,
            heating_low: heating_low_quality,
            cooling_low: cooling_low_quality,
        };
        Ok((heat_pump, quality))
    }

    fn fit_mode(
        &self,
        mode: ModeName,
        is_low: bool,
        flow: Option<f64>,
        load_side: Option<f64>,
    ) -> Result<Option<(Mode, ModeQuality)>, Error> {
        let (name, load_side_field) = match mode {
            ModeName::Heating => ("heating", "heating_load_side"),
            ModeName::Cooling => ("cooling", "cooling_load_side"),
        };
        let points: Vec<&Point> =
            self.points.iter().filter(|point| point.mode == mode && point.is_low == is_low).collect();
        if points.is_empty() {
            return match load_side {
                Some(value) => {
                    let allowed = format!("must be left out: the table has no {name}");
                    Err(Error::invalid("HeatPump", load_side_field, value, "degC", allowed))
                }
                None => Ok(None),
            };
        }
        let axes = Axes {
            entering_fluid: Axis::over(points.iter().map(|point| point.entering_fluid)),
            flow: Axis::checked(points.iter().map(|point| point.flow), flow, "flow", "kg/s")?,
            load_side: Axis::checked(
                points.iter().map(|point| point.load_side),
                load_side,
                load_side_field,
                "degC",
            )?,
        };
        let entering_fluid_range = [axes.entering_fluid.low, axes.entering_fluid.high];
        if entering_fluid_range[0] >= entering_fluid_range[1] {
            let value = format!("only {} degC in {name}", entering_fluid_range[0]);
            let allowed = "must have at least two temperatures in each mode";
            return Err(Error::invalid("HeatPump", "entering_fluid", value, "", allowed));
        }

        let places: Vec<Place> = points.iter().map(|point| axes.place(point)).collect();
        let terms = carried_terms(&places);
        let given: Vec<(f64, f64)> = points.iter().map(|point| (point.capacity, point.power)).collect();
        let capacity = least_squares(&terms, &places, |row| given[row].0);
        let cop = least_squares(&terms, &places, |row| given[row].0 / given[row].1);

        let fitted = |row: usize| (sum(&terms, &capacity, places[row]), sum(&terms, &cop, places[row]));
        let lines: Vec<u64> = points.iter().map(|point| point.line).collect();
        let quality = ModeQuality {
            rows: points.len(),
            terms: terms.iter().map(|term| term.name).collect(),
            entering_fluid_range,
            capacity: residual(&lines, |row| fitted(row).0 / given[row].0 - 1.0),
            power: residual(&lines, |row| fitted(row).0 / fitted(row).1 / given[row].1 - 1.0),
            points: points.iter().map(|point| [point.entering_fluid, point.capacity, point.power]).collect(),
        };
        let curve = |coefficients: &Col<f64>| axes.curve_at_design(&terms, coefficients, flow, load_side);
        let curves = Mode {
            cop: curve(&cop),
            capacity: Some(curve(&capacity)),
            entering_fluid_range: Some(entering_fluid_range),
            load_side: axes.load_side.zip(load_side).map(|(axis, reference)| LoadSide {
                reference,
                range: [axis.low, axis.high],
                cop: axes.change_by_side(&terms, &cop, &axis),
                capacity: axes.change_by_side(&terms, &capacity, &axis),
            }),
        };
        Ok(Some((curves, quality)))
    }
}

/// A rating point with each axis scaled to -1 to 1 over the table.
#[derive(Clone, Copy)]
struct Place {
    entering_fluid: f64,
    flow: f64,
    load_side: f64,
}

/// A power of the entering fluid temperature times a function of flow and load-side temperature.
struct Term {
    name: &'static str,
    power: usize,
    factor: fn(&Place) -> f64,
}

const TERMS: [Term; 7] = [
    Term { name: "1", power: 0, factor: |_| 1.0 },
    Term { name: "T", power: 1, factor: |_| 1.0 },
    Term { name: "T2", power: 2, factor: |_| 1.0 },
    Term { name: "m", power: 0, factor: |place| place.flow },
    Term { name: "T m", power: 1, factor: |place| place.flow },
    Term { name: "L", power: 0, factor: |place| place.load_side },
    Term { name: "T L", power: 1, factor: |place| place.load_side },
];

impl Term {
    fn at(&self, place: &Place) -> f64 {
        place.entering_fluid.powi(self.power as i32) * (self.factor)(place)
    }
}

fn sum(terms: &[&Term], coefficients: &Col<f64>, place: Place) -> f64 {
    terms.iter().zip(coefficients.iter()).map(|(term, c)| c * term.at(&place)).sum()
}

/// The terms that no sum of the terms before them makes up.
fn carried_terms(places: &[Place]) -> Vec<&'static Term> {
    let mut carried: Vec<&Term> = Vec::new();
    for term in &TERMS {
        let squares = |values: &dyn Fn(&Place) -> f64| places.iter().map(|p| values(p).powi(2)).sum::<f64>();
        let coefficients = least_squares(&carried, places, |row| term.at(&places[row]));
        let new = squares(&|place| term.at(place) - sum(&carried, &coefficients, *place));
        if new > LEAST_NEW_SHARE.powi(2) * squares(&|place| term.at(place)) {
            carried.push(term);
        }
    }
    carried
}

fn least_squares(terms: &[&Term], places: &[Place], value: impl Fn(usize) -> f64) -> Col<f64> {
    if terms.is_empty() {
        return Col::zeros(0);
    }
    let matrix = Mat::from_fn(places.len(), terms.len(), |row, column| terms[column].at(&places[row]));
    matrix.qr().solve_lstsq(Col::from_fn(places.len(), value))
}

fn residual(lines: &[u64], relative: impl Fn(usize) -> f64) -> Residual {
    let values: Vec<f64> = (0..lines.len()).map(relative).collect();
    let mean_square = values.iter().map(|value| value * value).sum::<f64>() / values.len() as f64;
    let start = Residual { rms: mean_square.sqrt(), largest: 0.0, line: lines[0] };
    values.iter().zip(lines).fold(start, |worst, (&largest, &line)| {
        if largest.abs() > worst.largest.abs() { Residual { largest, line, ..worst } } else { worst }
    })
}

/// A span of values, scaled to -1 to 1.
#[derive(Clone, Copy)]
struct Axis {
    low: f64,
    high: f64,
}

impl Axis {
    fn over(values: impl Iterator<Item = f64>) -> Self {
        let span = |(low, high): (f64, f64), value: f64| (low.min(value), high.max(value));
        let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), span);
        Self { low, high }
    }

    /// The axis of a column that the table may lack; a design value belongs to it exactly where it is there.
    fn checked(
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

struct Axes {
    entering_fluid: Axis,
    flow: Option<Axis>,
    load_side: Option<Axis>,
}

impl Axes {
    fn place(&self, point: &Point) -> Place {
        Place {
            entering_fluid: self.entering_fluid.scaled(point.entering_fluid),
            ..self.beside(point.flow, point.load_side)
        }
    }

    fn beside(&self, flow: Option<f64>, load_side: Option<f64>) -> Place {
        let scaled = |axis: Option<Axis>, value: Option<f64>| {
            axis.zip(value).map_or(0.0, |(axis, value)| axis.scaled(value))
        };
        Place {
            entering_fluid: 0.0,
            flow: scaled(self.flow, flow),
            load_side: scaled(self.load_side, load_side),
        }
    }

    /// Coefficients of 1, EFT and EFT2 at a flow and a load-side temperature, EFT in degC.
    fn curve_at_design(
        &self,
        terms: &[&Term],
        coefficients: &Col<f64>,
        flow: Option<f64>,
        load_side: Option<f64>,
    ) -> Vec<f64> {
        let design = self.beside(flow, load_side);
        let mut scaled = [0.0; 3];
        for (term, coefficient) in terms.iter().zip(coefficients.iter()) {
            scaled[term.power] += coefficient * (term.factor)(&design);
        }
        let (middle, half) = (self.entering_fluid.middle(), self.entering_fluid.half());
        let [c0, c1, c2] = [scaled[0], scaled[1] / half, scaled[2] / (half * half)];
        vec![c0 - c1 * middle + c2 * middle * middle, c1 - 2.0 * c2 * middle, c2]
    }
}

impl Axes {
    /// Coefficients of 1 and EFT of what changes for each kelvin of the load side, EFT in degC.
    fn change_by_side(&self, terms: &[&Term], coefficients: &Col<f64>, axis: &Axis) -> Vec<f64> {
        if axis.half() == 0.0 {
            return Vec::new();
        }
        let one = Place { entering_fluid: 0.0, flow: 0.0, load_side: 1.0 };
        let none = Place { load_side: 0.0, ..one };
        let mut scaled = [0.0; 2];
        for (term, coefficient) in terms.iter().zip(coefficients.iter()).filter(|(term, _)| term.power < 2) {
            scaled[term.power] += coefficient * ((term.factor)(&one) - (term.factor)(&none)) / axis.half();
        }
        let (middle, half) = (self.entering_fluid.middle(), self.entering_fluid.half());
        vec![scaled[0] - scaled[1] * middle / half, scaled[1] / half]
    }
}

#[cfg(test)]
mod tests {
    use super::super::polynomial::value_and_slope;
    use super::*;
    use proptest::prelude::*;

    fn point(mode: ModeName, entering_fluid: f64, capacity: f64, cop: f64) -> Point {
        let power = capacity / cop;
        Point { line: 2, mode, entering_fluid, capacity, power, flow: None, load_side: None, is_low: false }
    }

    fn heating(
        temperatures: &[f64],
        capacity: impl Fn(f64) -> f64,
        cop: impl Fn(f64) -> f64,
    ) -> PerformanceTable {
        let at = |(index, &t): (usize, &f64)| Point {
            line: index as u64 + 2,
            ..point(ModeName::Heating, t, capacity(t), cop(t))
        };
        PerformanceTable { points: temperatures.iter().enumerate().map(at).collect() }
    }

    /// Capacity and COP that the fit can meet exactly.
    fn smooth(t: f64, flow: f64, load_side: f64) -> (f64, f64) {
        let capacity = 12e3 + 300.0 * t - 0.8 * t * t + 900.0 * flow + 20.0 * t * flow - 30.0 * load_side;
        (capacity, 6.0 + 0.1 * t - 0.0005 * t * t + 0.4 * flow - 0.05 * load_side - 0.001 * t * load_side)
    }

    fn assert_close(found: &[f64], expected: &[f64]) {
        assert_eq!(found.len(), expected.len());
        for (a, b) in found.iter().zip(expected) {
            assert!((a - b).abs() <= 1e-9 * (1.0 + b.abs()), "{found:?} {expected:?}");
        }
    }

    #[test]
    fn a_quadratic_is_found_again() {
        let table = heating(
            &[-5.0, 0.0, 10.0, 20.0],
            |t| 12e3 + 300.0 * t - 2.0 * t * t,
            |t| 3.5 + 0.09 * t - 0.0004 * t * t,
        );
        let (heat_pump, quality) = table.fit(&DesignPoint::default()).unwrap();
        let mode = heat_pump.heating.unwrap();
        assert_close(&mode.capacity.unwrap(), &[12e3, 300.0, -2.0]);
        assert_close(&mode.cop, &[3.5, 0.09, -0.0004]);
        let quality = quality.heating.unwrap();
        assert_eq!((quality.rows, quality.terms.as_slice()), (4, ["1", "T", "T2"].as_slice()));
        assert_eq!(mode.entering_fluid_range, Some([-5.0, 20.0]));
        assert!(quality.capacity.rms < 1e-12 && quality.power.rms < 1e-12);
        assert!(heat_pump.cooling.is_none());
    }

    #[test]
    fn few_points_carry_few_terms() {
        let (heat_pump, quality) =
            heating(&[0.0, 10.0], |_| 12e3, |t| 3.0 + 0.1 * t).fit(&DesignPoint::default()).unwrap();
        assert_eq!(quality.heating.unwrap().terms, ["1", "T"]);
        assert_close(&heat_pump.heating.unwrap().cop, &[3.0, 0.1, 0.0]);
        let message =
            heating(&[5.0], |_| 12e3, |_| 3.0).fit(&DesignPoint::default()).unwrap_err().to_string();
        assert!(message.contains("only 5 degC in heating"), "{message}");
    }

    #[test]
    fn the_worst_row_is_named() {
        let table = heating(
            &[0.0, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0],
            |t| if t == 15.0 { 12.6e3 } else { 12e3 },
            |_| 4.0,
        );
        let quality = table.fit(&DesignPoint::default()).unwrap().1.heating.unwrap();
        assert_eq!(quality.capacity.line, 5);
        assert!(-0.05 < quality.capacity.largest && quality.capacity.largest < -0.02);
    }

    #[test]
    fn flow_and_load_side_belong_to_tables_that_have_them() {
        let mut table = heating(&[0.0, 10.0], |_| 12e3, |_| 3.0);
        let fit = |table: &PerformanceTable, flow| table.fit(&DesignPoint { flow, ..DesignPoint::default() });
        assert!(
            fit(&table, Some(0.5))
                .unwrap_err()
                .to_string()
                .contains("HeatPump.flow = 0.5 kg/s: must be left out")
        );
        table.points[0].flow = Some(0.4);
        table.points[1].flow = Some(0.6);
        assert!(
            fit(&table, None)
                .unwrap_err()
                .to_string()
                .contains("HeatPump.flow = nothing kg/s: must be from 0.4")
        );
        assert!(fit(&table, Some(0.7)).unwrap_err().to_string().contains("to 0.6 kg/s, the table's span"));
        for flow in [0.4, 0.5, 0.6] {
            fit(&table, Some(flow)).unwrap();
        }
        let cooling =
            DesignPoint { cooling_load_side: Some(20.0), flow: Some(0.5), ..DesignPoint::default() };
        assert!(table.fit(&cooling).unwrap_err().to_string().contains("the table has no cooling"));
    }

    proptest! {
        #[test]
        fn a_smooth_table_is_met_at_any_design_point(flow in 0.4..0.8_f64, load_side in 30.0..45.0_f64) {
            let mut points = Vec::new();
            for t in [-5.0, 0.0, 5.0, 15.0] {
                for m in [0.4, 0.8] {
                    for l in [30.0, 35.0, 45.0] {
                        let (capacity, cop) = smooth(t, m, l);
                        points.push(Point { flow: Some(m), load_side: Some(l), ..point(ModeName::Heating, t, capacity, cop) });
                    }
                }
            }
            let design = DesignPoint { flow: Some(flow), heating_load_side: Some(load_side), cooling_load_side: None };
            let (heat_pump, quality) = PerformanceTable { points }.fit(&design).unwrap();
            prop_assert_eq!(quality.heating.unwrap().terms.len(), 7);
            let mode = heat_pump.heating.unwrap();
            let (capacity, cop) = smooth(7.0, flow, load_side);
            let at_seven = [mode.capacity.clone().unwrap(), mode.cop.clone()].map(|curve| value_and_slope(&curve, 7.0).0);
            assert_close(&at_seven, &[capacity, cop]);
            let side = mode.load_side.unwrap();
            let (warm_capacity, warm_cop) = smooth(7.0, flow, 42.0);
            let moved = |c: &[f64]| (42.0 - load_side) * value_and_slope(c, 7.0).0;
            assert_close(
                &[at_seven[0] + moved(&side.capacity), at_seven[1] + moved(&side.cop)],
                &[warm_capacity, warm_cop],
            );
        }

        #[test]
        fn any_points_give_a_fit_or_a_refusal(
            rows in prop::collection::vec((-5.0..40.0_f64, 5e3..20e3_f64, 1.5..8.0_f64, 0.4..0.8_f64), 1..8),
        ) {
            let points = rows
                .iter()
                .map(|&(t, capacity, cop, m)| Point { flow: Some(m), ..point(ModeName::Cooling, t, capacity, cop) })
                .collect();
            let design = DesignPoint { flow: Some(rows[0].3), ..DesignPoint::default() };
            if let Ok((heat_pump, quality)) = (PerformanceTable { points }).fit(&design) {
                prop_assert!(quality.cooling.unwrap().terms.len() <= rows.len());
                prop_assert!(heat_pump.cooling.unwrap().cop.iter().all(|c| c.is_finite()));
            }
        }
    }
}
