//! Curves over the entering fluid temperature from a performance table, by least squares.

mod axes;
mod scaled_point;
mod terms;

use faer::Col;
use serde::{Deserialize, Serialize};

use super::curves::{EnteringLoadCorrection, HeatPump, Mode};
use super::table::{ModeName, PerformanceTable, Point};
use crate::error::Error;
use axes::{Axes, Axis};
use scaled_point::ScaledPoint;
use terms::{carried_terms, least_squares, sum};

/// Design point for a table that depends on more than the entering fluid temperature.
#[derive(Debug, Clone, Copy, Default, PartialEq, Deserialize)]
pub struct DesignPoint {
    /// Mass flow on the loop side (kg/s).
    pub flow: Option<f64>,
    /// Entering load temperature in heating (degC).
    pub heating_entering_load_temperature: Option<f64>,
    /// Entering load temperature in cooling (degC).
    pub cooling_entering_load_temperature: Option<f64>,
}

/// Quality of the fit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FitQuality {
    /// In heating; `None` if the table has no heating.
    pub heating: Option<ModeQuality>,
    /// In cooling; `None` if the table has no cooling.
    pub cooling: Option<ModeQuality>,
    /// Of the lowest stage in heating; `None` if the table has none.
    pub heating_low: Option<ModeQuality>,
    /// Of the lowest stage in cooling; `None` if the table has none.
    pub cooling_low: Option<ModeQuality>,
}

/// Quality of the fit of one mode.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ModeQuality {
    /// Number of rating points.
    pub rows: usize,
    /// Terms of the fit in the entering fluid temperature T, the flow m and the entering load temperature L.
    pub terms: Vec<&'static str>,
    /// Lowest and highest entering fluid temperature of the table (degC).
    pub entering_fluid_range: [f64; 2],
    /// Of the capacity; `None` if there are no more distinct rating points than terms: the curve then passes through
    /// each point, and residuals say nothing about the error in between.
    pub capacity: Option<Residual>,
    /// Of the power, likewise.
    pub power: Option<Residual>,
    /// Entering fluid temperature (degC), capacity and power (W) of each rating point.
    pub points: Vec<[f64; 3]>,
}

/// Relative differences fitted / given - 1 over the rating points.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Residual {
    /// Root of the mean square.
    pub rms: f64,
    /// The largest in magnitude.
    pub largest: f64,
    /// Its line in the file.
    pub line: u64,
}

impl PerformanceTable {
    /// Curves at a design point, without cycling losses, and the quality of the fit.
    ///
    /// Capacity and COP are fitted by least squares with the terms 1, T, T2, m, T m, L, T L of entering fluid
    /// temperature, flow and entering load temperature, in this order. A term that is a combination of earlier terms at
    /// the rating points (as T2 with two temperatures, or m with one flow) is dropped, so there are never more unknowns
    /// than points. At the design flow and entering load temperature a quadratic in T remains.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] if the table has one of the two columns but the design point has no value inside its
    /// range, or vice versa; if a mode has fewer than two entering fluid temperatures; and if the curves are not
    /// physical over the table's temperatures.
    pub fn fit(&self, design: &DesignPoint) -> Result<(HeatPump, FitQuality), Error> {
        let fit = |mode, is_low, entering_load| -> Result<(Option<Mode>, Option<ModeQuality>), Error> {
            let is_there = self.points.iter().any(|point| point.mode == mode && point.is_low);
            if is_low && !is_there {
                return Ok((None, None));
            }
            Ok(self.fit_mode(mode, is_low, design.flow, entering_load)?.unzip())
        };
        let (heating, heating_quality) =
            fit(ModeName::Heating, false, design.heating_entering_load_temperature)?;
        let (cooling, cooling_quality) =
            fit(ModeName::Cooling, false, design.cooling_entering_load_temperature)?;
        let (heating_low, heating_low_quality) =
            fit(ModeName::Heating, true, design.heating_entering_load_temperature)?;
        let (cooling_low, cooling_low_quality) =
            fit(ModeName::Cooling, true, design.cooling_entering_load_temperature)?;
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
        entering_load: Option<f64>,
    ) -> Result<Option<(Mode, ModeQuality)>, Error> {
        let (name, entering_load_field) = match mode {
            ModeName::Heating => ("heating", "heating_entering_load_temperature"),
            ModeName::Cooling => ("cooling", "cooling_entering_load_temperature"),
        };
        let points: Vec<&Point> =
            self.points.iter().filter(|point| point.mode == mode && point.is_low == is_low).collect();
        if points.is_empty() {
            return match entering_load {
                Some(value) => {
                    let allowed = format!("must be left out: the table has no {name}");
                    Err(Error::invalid("HeatPump", entering_load_field, value, "degC", allowed))
                }
                None => Ok(None),
            };
        }
        let axes = Axes {
            entering_fluid: Axis::over(points.iter().map(|point| point.entering_fluid)),
            flow: Axis::checked(points.iter().map(|point| point.flow), flow, "flow", "kg/s")?,
            entering_load: Axis::checked(
                points.iter().map(|point| point.entering_load),
                entering_load,
                entering_load_field,
                "degC",
            )?,
        };
        let entering_fluid_range = [axes.entering_fluid.low, axes.entering_fluid.high];
        if entering_fluid_range[0] >= entering_fluid_range[1] {
            let value = format!("only {} degC in {name}", entering_fluid_range[0]);
            let allowed = "must have at least two temperatures in each mode";
            return Err(Error::invalid("HeatPump", "entering_fluid", value, "", allowed));
        }

        let places: Vec<ScaledPoint> = points.iter().map(|point| axes.place(point)).collect();
        let terms = carried_terms(&places);
        let given: Vec<(f64, f64)> = points.iter().map(|point| (point.capacity, point.power)).collect();
        let capacity = least_squares(&terms, &places, |row| given[row].0);
        let cop = least_squares(&terms, &places, |row| given[row].0 / given[row].1);

        let fitted = |row: usize| (sum(&terms, &capacity, places[row]), sum(&terms, &cop, places[row]));
        let lines: Vec<u64> = points.iter().map(|point| point.line).collect();
        let is_known = different(&places) > terms.len();
        let quality = ModeQuality {
            rows: points.len(),
            terms: terms.iter().map(|term| term.name).collect(),
            entering_fluid_range,
            capacity: is_known.then(|| residual(&lines, |row| fitted(row).0 / given[row].0 - 1.0)),
            power: is_known
                .then(|| residual(&lines, |row| fitted(row).0 / fitted(row).1 / given[row].1 - 1.0)),
            points: points.iter().map(|point| [point.entering_fluid, point.capacity, point.power]).collect(),
        };
        let curve = |coefficients: &Col<f64>| axes.curve_at_design(&terms, coefficients, flow, entering_load);
        let curves = Mode {
            cop: curve(&cop),
            capacity: Some(curve(&capacity)),
            entering_fluid_range: Some(entering_fluid_range),
            entering_load: axes.entering_load.zip(entering_load).map(|(axis, reference)| {
                EnteringLoadCorrection {
                    reference,
                    range: [axis.low, axis.high],
                    cop: axes.change_by_side(&terms, &cop, &axis),
                    capacity: axes.change_by_side(&terms, &capacity, &axis),
                }
            }),
        };
        Ok(Some((curves, quality)))
    }
}

/// The number of distinct points.
fn different(places: &[ScaledPoint]) -> usize {
    (0..places.len()).filter(|&row| !places[..row].contains(&places[row])).count()
}

fn residual(lines: &[u64], relative: impl Fn(usize) -> f64) -> Residual {
    let values: Vec<f64> = (0..lines.len()).map(relative).collect();
    let mean_square = values.iter().map(|value| value * value).sum::<f64>() / values.len() as f64;
    let start = Residual { rms: mean_square.sqrt(), largest: 0.0, line: lines[0] };
    values.iter().zip(lines).fold(start, |worst, (&largest, &line)| {
        if largest.abs() > worst.largest.abs() { Residual { largest, line, ..worst } } else { worst }
    })
}

#[cfg(test)]
mod tests {
    use super::super::polynomial::value_and_slope;
    use super::*;
    use proptest::prelude::*;

    fn point(mode: ModeName, entering_fluid: f64, capacity: f64, cop: f64) -> Point {
        let power = capacity / cop;
        Point {
            line: 2,
            mode,
            entering_fluid,
            capacity,
            power,
            flow: None,
            entering_load: None,
            is_low: false,
        }
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

    /// Capacity and COP that the fit can reproduce exactly.
    fn smooth(t: f64, flow: f64, entering_load: f64) -> (f64, f64) {
        let capacity = 12e3 + 300.0 * t - 0.8 * t * t + 900.0 * flow + 20.0 * t * flow - 30.0 * entering_load;
        (
            capacity,
            6.0 + 0.1 * t - 0.0005 * t * t + 0.4 * flow - 0.05 * entering_load - 0.001 * t * entering_load,
        )
    }

    fn assert_close(found: &[f64], expected: &[f64]) {
        assert_eq!(found.len(), expected.len());
        for (a, b) in found.iter().zip(expected) {
            assert!((a - b).abs() <= 1e-9 * (1.0 + b.abs()), "{found:?} {expected:?}");
        }
    }

    #[test]
    fn a_quadratic_is_reproduced() {
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
        assert!(quality.capacity.unwrap().rms < 1e-12 && quality.power.unwrap().rms < 1e-12);
        assert!(heat_pump.cooling.is_none());
    }

    #[test]
    fn few_points_determine_few_terms() {
        let (heat_pump, quality) =
            heating(&[0.0, 10.0], |_| 12e3, |t| 3.0 + 0.1 * t).fit(&DesignPoint::default()).unwrap();
        let quality = quality.heating.unwrap();
        assert_eq!(quality.terms, ["1", "T"]);
        assert_eq!((quality.capacity, quality.power), (None, None));
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
        let capacity = quality.capacity.unwrap();
        assert_eq!(capacity.line, 5);
        assert!(-0.05 < capacity.largest && capacity.largest < -0.02);
    }

    #[test]
    fn repeated_points_give_no_fit_quality() {
        let fit = |temperatures: &[f64]| {
            heating(temperatures, |t| 12e3 + 20.0 * t, |_| 4.0).fit(&DesignPoint::default())
        };
        assert!(fit(&[0.0, 0.0, 10.0, 10.0, 20.0]).unwrap().1.heating.unwrap().capacity.is_none());
        assert!(fit(&[0.0, 5.0, 10.0, 20.0]).unwrap().1.heating.unwrap().capacity.is_some());
    }

    #[test]
    fn flow_and_entering_load_are_given_only_for_tables_that_have_them() {
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
        let cooling = DesignPoint {
            cooling_entering_load_temperature: Some(20.0),
            flow: Some(0.5),
            ..DesignPoint::default()
        };
        assert!(table.fit(&cooling).unwrap_err().to_string().contains("the table has no cooling"));
    }

    proptest! {
        #[test]
        fn a_smooth_table_is_reproduced_at_any_design_point(flow in 0.4..0.8_f64, entering_load in 30.0..45.0_f64) {
            let mut points = Vec::new();
            for t in [-5.0, 0.0, 5.0, 15.0] {
                for m in [0.4, 0.8] {
                    for l in [30.0, 35.0, 45.0] {
                        let (capacity, cop) = smooth(t, m, l);
                        points.push(Point { flow: Some(m), entering_load: Some(l), ..point(ModeName::Heating, t, capacity, cop) });
                    }
                }
            }
            let design = DesignPoint { flow: Some(flow), heating_entering_load_temperature: Some(entering_load), cooling_entering_load_temperature: None };
            let (heat_pump, quality) = PerformanceTable { points }.fit(&design).unwrap();
            prop_assert_eq!(quality.heating.unwrap().terms.len(), 7);
            let mode = heat_pump.heating.unwrap();
            let (capacity, cop) = smooth(7.0, flow, entering_load);
            let at_seven = [mode.capacity.clone().unwrap(), mode.cop.clone()].map(|curve| value_and_slope(&curve, 7.0).0);
            assert_close(&at_seven, &[capacity, cop]);
            let side = mode.entering_load.unwrap();
            let (warm_capacity, warm_cop) = smooth(7.0, flow, 42.0);
            let moved = |c: &[f64]| (42.0 - entering_load) * value_and_slope(c, 7.0).0;
            assert_close(
                &[at_seven[0] + moved(&side.capacity), at_seven[1] + moved(&side.cop)],
                &[warm_capacity, warm_cop],
            );
        }

        #[test]
        fn any_points_give_a_fit_or_an_error(
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
