//! Trench fields: the surface's temperature wave, and responses.

use loopdrift::ground::{Ground, SurfaceWave};
use loopdrift::ground_side::trench_field::TrenchField;
use loopdrift::ground_side::{Description, GroundSideKind};
use numpy::IntoPyArray;
use pyo3::prelude::*;

use crate::convert::{Array, Dict, Numbers, list, valid};
use crate::error::InvalidInput;
use crate::gate::cancellable;

/// Undisturbed temperature at a depth at each time from the beginning of the calendar year.
#[pyfunction]
pub fn surface_wave<'py>(
    wave: &Dict<'py>,
    ground: &Dict<'py>,
    depth: f64,
    times: Numbers<'py>,
) -> PyResult<Array<'py>> {
    let py = wave.py();
    let wave = valid("SurfaceWave", wave, SurfaceWave::validate)?;
    let ground = valid("Ground", ground, Ground::validate)?;
    let (mean, phasor) = (ground.undisturbed(depth), wave.phasor(depth, &ground));
    let at = |&time: &f64| mean + SurfaceWave::departure(phasor, time);
    Ok(times.as_array().iter().map(at).collect::<Vec<f64>>().into_pyarray(py))
}

/// Step response of the mean wall temperature of the pipes at each time.
#[pyfunction]
pub fn trench_response<'py>(
    field: &Dict<'py>,
    ground: &Dict<'py>,
    resistance: f64,
    times: Numbers<'py>,
) -> PyResult<Array<'py>> {
    let py = field.py();
    let (field, ground) = read(field, ground)?;
    let times = list(&times);
    cancellable(py, None, move |_| field.response_at(&ground, resistance, &times))
        .map(|values| values.into_pyarray(py))
}

pub fn read(field: &Dict<'_>, ground: &Dict<'_>) -> PyResult<(TrenchField, Ground)> {
    let ground_side = valid("TrenchField", field, GroundSideKind::validate)?;
    let GroundSideKind::TrenchField(field) = ground_side else {
        let allowed = "must be a trench field";
        return Err(InvalidInput::new_err(("TrenchField", "kind", "another", "", allowed)));
    };
    Ok((field, valid("Ground", ground, Ground::validate)?))
}
