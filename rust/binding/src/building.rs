//! A building's year.

use loopdrift::building::Building;
use loopdrift::quantity::Quantified;
use pyo3::prelude::*;

use crate::convert::{Dict, Numbers, Rows, by_name, from_python, list};
use crate::error::to_python;

/// Hourly series of a year by name; `irradiance` has one row for each of the windows (W/m2).
#[pyfunction]
pub fn building_year<'py>(
    py: Python<'py>,
    building: &Dict<'py>,
    outdoor: Numbers<'py>,
    irradiance: Rows<'py>,
    free_running: bool,
) -> PyResult<Dict<'py>> {
    let building: Building = from_python(Building::OWNER, building)?;
    let outdoor = list(&outdoor);
    let irradiance: Vec<Vec<f64>> =
        irradiance.as_array().rows().into_iter().map(|row| row.to_vec()).collect();
    let year = py.detach(|| building.year(&outdoor, &irradiance, free_running)).map_err(to_python)?;
    by_name(py, year.into_columns())
}

/// Heat that a building loses per kelvin between rooms and outdoors (W/K).
#[pyfunction]
pub fn building_loss(building: &Dict<'_>) -> PyResult<f64> {
    from_python::<Building>(Building::OWNER, building).map(|building| building.loss())
}
