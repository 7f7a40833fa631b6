//! Responses of the ground.

use std::ops::RangeInclusive;

use loopdrift::ground::{self, Condition, Ground, Lean, LineSource, Shape};
use loopdrift::ground_side::GroundSideKind;
use numpy::{IntoPyArray, PyArray1, PyReadonlyArray1, PyReadonlyArray2};
use pyo3::prelude::*;
use pyo3::types::PyDict;

use crate::convert::from_python;
use crate::error::{InvalidInput, to_python};
use crate::gate::watched;

/// Shortest and longest time that a response is given for [s]: a second and 10,000 years.
const TIMES: RangeInclusive<f64> = 1.0..=10_000.0 * 8760.0 * 3600.0;

/// The g-function at each time; rows of depth, top and radius, and of inclination and direction, are one for all positions or one each.
#[pyfunction]
pub fn g_function<'py>(
    py: Python<'py>,
    ground: &Bound<'py, PyDict>,
    sources: PyReadonlyArray2<'py, f64>,
    positions: PyReadonlyArray2<'py, f64>,
    leans: PyReadonlyArray2<'py, f64>,
    times: PyReadonlyArray1<'py, f64>,
    uniform_heat_flux: bool,
) -> PyResult<Bound<'py, PyArray1<f64>>> {
    let ground: Ground = from_python("Ground", ground)?;
    let sources: Vec<LineSource> = rows::<3>("bores", &sources)?
        .into_iter()
        .map(|[depth, top, radius]| LineSource { depth, top, radius })
        .collect();
    let positions = rows::<2>("positions", &positions)?;
    let leans: Vec<Lean> = rows::<2>("leans", &leans)?
        .into_iter()
        .map(|[inclination, direction]| Lean { inclination, direction })
        .collect();
    let times = checked("g_function", times.as_array().iter().copied().collect())?;
    let condition =
        if uniform_heat_flux { Condition::UniformHeatFlux } else { Condition::UniformWallTemperature };
    let (first, last) =
        times.iter().fold((f64::INFINITY, 0.0_f64), |(first, last), &time| (first.min(time), last.max(time)));
    let values = watched(py, None, move |watch| {
        if times.is_empty() {
            return Ok(Vec::new());
        }
        let curve = match condition {
            // As a run has it.
            Condition::UniformWallTemperature => {
                let (shape, slower) = Shape::of(&ground, &sources, &positions, &leans, &(first..=last));
                shape.response(watch)?.slowed(slower)
            }
            Condition::UniformHeatFlux => ground::inclined_response(
                &ground,
                &sources,
                &positions,
                &leans,
                &(first..=last),
                condition,
                watch,
            )?,
        };
        Ok(times.iter().map(|&time| curve.step_response(time)).collect())
    });
    values.map(|values: Vec<f64>| values.into_pyarray(py))
}

/// Mean temperature of the ground around a loop before any heat is taken [degC].
#[pyfunction]
pub fn undisturbed(ground_side: &Bound<'_, PyDict>, ground: &Bound<'_, PyDict>) -> PyResult<f64> {
    let ground_side: GroundSideKind = from_python("ground_side", ground_side)?;
    let ground: Ground = from_python("Ground", ground)?;
    ground_side.validate().and_then(|()| ground.validate()).map_err(to_python)?;
    Ok(ground_side.undisturbed(&ground))
}

/// Mean response of one finite line source along another of the same depth and top, at each time.
#[pyfunction]
pub fn line_source<'py>(
    py: Python<'py>,
    ground: &Bound<'py, PyDict>,
    times: PyReadonlyArray1<'py, f64>,
    distance: f64,
    depth: f64,
    top: f64,
) -> PyResult<Bound<'py, PyArray1<f64>>> {
    let ground: Ground = from_python("Ground", ground)?;
    ground.validate().map_err(to_python)?;
    let times = checked("line_source", times.as_array().iter().copied().collect())?;
    for (field, value, range) in
        [("distance", distance, 1e-3..=1e5), ("depth", depth, 1e-2..=1e4), ("top", top, 0.0..=1e4)]
    {
        if !range.contains(&value) {
            let allowed = format!("must be from {} to {} m", range.start(), range.end());
            return Err(InvalidInput::new_err(("line_source", field, value, "m", allowed)));
        }
    }
    let segment = [top, top + depth];
    let response = |&time: &f64| ground::line_source(&ground, time, distance, segment, segment);
    let values: Vec<f64> = py.detach(|| times.iter().map(response).collect());
    Ok(values.into_pyarray(py))
}

/// Distance of the closest two positions [m]; infinite for one.
#[pyfunction]
pub fn closest(positions: PyReadonlyArray2<'_, f64>) -> PyResult<f64> {
    Ok(ground::closest(&rows::<2>("positions", &positions)?))
}

pub fn checked(owner: &'static str, times: Vec<f64>) -> PyResult<Vec<f64>> {
    match times.iter().find(|time| !TIMES.contains(*time)) {
        None => Ok(times),
        Some(&time) => {
            let allowed = format!("must be from {} to {:e} s (10,000 years)", TIMES.start(), TIMES.end());
            Err(InvalidInput::new_err((owner, "times", time, "s", allowed)))
        }
    }
}

/// The rows of a table of N columns.
pub fn rows<const N: usize>(field: &str, array: &PyReadonlyArray2<'_, f64>) -> PyResult<Vec<[f64; N]>> {
    let array = array.as_array();
    if array.ncols() != N {
        let allowed = format!("must have {N} columns");
        return Err(InvalidInput::new_err(("BoreField", field.to_owned(), array.ncols(), "", allowed)));
    }
    Ok(array.rows().into_iter().map(|row| std::array::from_fn(|column| row[column])).collect())
}
