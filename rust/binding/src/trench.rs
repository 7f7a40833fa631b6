//! Trench fields: the surface's temperature wave, and responses.

use loopdrift::ground::{Ground, SurfaceWave};
use loopdrift::ground_side::GroundSideKind;
use loopdrift::ground_side::trench_field::TrenchField;
use pyo3::prelude::*;

use crate::convert::{Numbers, Valid};
use crate::error::InvalidInput;
use crate::gate::cancellable;

/// Undisturbed temperature at a depth at each time from the beginning of the calendar year.
#[pyfunction]
pub fn surface_wave(wave: Valid<SurfaceWave>, ground: Valid<Ground>, depth: f64, times: Numbers) -> Numbers {
    let (mean, phasor) = (ground.0.undisturbed(depth), wave.0.phasor(depth, &ground.0));
    Numbers(times.0.iter().map(|&time| mean + SurfaceWave::departure(phasor, time)).collect())
}

/// Step response of the mean wall temperature of the pipes at each time.
#[pyfunction]
pub fn trench_response(
    py: Python<'_>,
    field: Valid<GroundSideKind>,
    ground: Valid<Ground>,
    resistance: f64,
    times: Numbers,
) -> PyResult<Numbers> {
    let field = trenches(field)?;
    cancellable(py, None, move |_| field.response_at(&ground.0, resistance, &times.0).map(Numbers))
}

/// The trench field in a description of any kind.
pub fn trenches(field: Valid<GroundSideKind>) -> PyResult<TrenchField> {
    let GroundSideKind::TrenchField(field) = field.0 else {
        let allowed = "must be a trench field";
        return Err(InvalidInput::new_err(("TrenchField", "kind", "another", "", allowed)));
    };
    Ok(field)
}
