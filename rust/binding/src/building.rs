//! A building's year.

use loopdrift::building::Building;
use numpy::PyReadonlyArray2;
use pyo3::prelude::*;

use crate::convert::{Columns, Numbers, Part};
use crate::error::to_python;

/// Hourly series of a year by name; `irradiance` has one row for each of the windows (W/m2).
#[pyfunction]
pub fn building_year(
    py: Python<'_>,
    building: Part<Building>,
    outdoor: Numbers,
    irradiance: PyReadonlyArray2<'_, f64>,
    free_running: bool,
) -> PyResult<Columns> {
    let windows: Vec<Vec<f64>> = irradiance.as_array().rows().into_iter().map(|row| row.to_vec()).collect();
    let year = py.detach(|| building.0.year(&outdoor.0, &windows, free_running)).map_err(to_python)?;
    Ok(Columns(year.into_columns().into()))
}

/// Heat that a building loses per kelvin between rooms and outdoors (W/K).
#[pyfunction]
pub fn building_loss(building: Part<Building>) -> f64 {
    building.0.loss()
}
