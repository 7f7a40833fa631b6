//! Trench fields: the surface's wave, responses and resistances.

use loopdrift::bore::{Pipe, pipe_resistance as resistance_of};
use loopdrift::fluid::Fluid;
use loopdrift::ground::{Ground, SurfaceWave};
use loopdrift::ground_side::GroundSideKind;
use loopdrift::ground_side::trench_field::TrenchField;
use numpy::{IntoPyArray, PyArray1, PyReadonlyArray1};
use pyo3::prelude::*;
use pyo3::types::PyDict;
use pythonize::pythonize;

use crate::convert::from_python;
use crate::error::{InvalidInput, to_python};
use crate::gate::watched;
use crate::ground::checked;

/// Undisturbed temperature at a depth at each time from the beginning of the calendar year.
#[pyfunction]
pub fn surface_wave<'py>(
    wave: &Bound<'py, PyDict>,
    ground: &Bound<'py, PyDict>,
    depth: f64,
    times: PyReadonlyArray1<'py, f64>,
) -> PyResult<Bound<'py, PyArray1<f64>>> {
    let py = wave.py();
    let wave: SurfaceWave = from_python("SurfaceWave", wave)?;
    let ground: Ground = from_python("Ground", ground)?;
    wave.validate().and_then(|()| ground.validate()).map_err(to_python)?;
    let (mean, phasor) = (ground.undisturbed(depth), wave.phasor(depth, &ground));
    let at = |&time: &f64| mean + SurfaceWave::departure(phasor, time);
    Ok(times.as_array().iter().map(at).collect::<Vec<f64>>().into_pyarray(py))
}

/// The step response of the pipes' mean wall temperature at each time.
#[pyfunction]
pub fn trench_response<'py>(
    field: &Bound<'py, PyDict>,
    ground: &Bound<'py, PyDict>,
    resistance: f64,
    times: PyReadonlyArray1<'py, f64>,
) -> PyResult<Bound<'py, PyArray1<f64>>> {
    let py = field.py();
    let (field, ground) = read(field, ground)?;
    let times = checked("trench_response", times.as_array().iter().copied().collect())?;
    if !(0.0..=100.0).contains(&resistance) {
        let allowed = "must be from 0 to 100 m K/W";
        return Err(InvalidInput::new_err(("trench_response", "resistance", resistance, "m K/W", allowed)));
    }
    let (first, last) =
        times.iter().fold((f64::INFINITY, 0.0_f64), |(first, last), &time| (first.min(time), last.max(time)));
    let values = watched(py, None, move |_| {
        if times.is_empty() {
            return Ok(Vec::new());
        }
        let curve = field.response(&ground, resistance, &(first..=last))?;
        Ok(times.iter().map(|&time| curve.step_response(time)).collect())
    });
    values.map(|values: Vec<f64>| values.into_pyarray(py))
}

/// What one pipe of a trench answers to the heat of one, exact in time.
#[pyfunction]
pub fn trench_source<'py>(
    field: &Bound<'py, PyDict>,
    ground: &Bound<'py, PyDict>,
    times: PyReadonlyArray1<'py, f64>,
) -> PyResult<Bound<'py, PyArray1<f64>>> {
    let py = field.py();
    let (field, ground) = read(field, ground)?;
    let times = checked("trench_source", times.as_array().iter().copied().collect())?;
    let values: Vec<f64> =
        py.detach(|| times.iter().map(|&time| field.source(&ground, time, [0, 0])).collect());
    Ok(values.into_pyarray(py))
}

/// Resistance of one metre of a pipe and the flow inside, as a dictionary.
#[pyfunction]
pub fn pipe_resistance<'py>(
    pipe: &Bound<'py, PyDict>,
    fluid: &Bound<'py, PyDict>,
    flow: f64,
    temperature: f64,
) -> PyResult<Bound<'py, PyAny>> {
    let py = pipe.py();
    let pipe: Pipe = from_python("Pipe", pipe)?;
    let fluid: Fluid = from_python("Fluid", fluid)?;
    pipe.validate().and_then(|()| fluid.validate()).map_err(to_python)?;
    let found = resistance_of(&pipe, &fluid.at(temperature), flow).map_err(to_python)?;
    Ok(pythonize(py, &found)?)
}

fn read(field: &Bound<'_, PyDict>, ground: &Bound<'_, PyDict>) -> PyResult<(TrenchField, Ground)> {
    let ground_side: GroundSideKind = from_python("TrenchField", field)?;
    let ground: Ground = from_python("Ground", ground)?;
    ground_side.validate().and_then(|()| ground.validate()).map_err(to_python)?;
    let GroundSideKind::TrenchField(field) = ground_side else {
        let allowed = "must be a trench field";
        return Err(InvalidInput::new_err(("TrenchField", "kind", "another", "", allowed)));
    };
    Ok((field, ground))
}
