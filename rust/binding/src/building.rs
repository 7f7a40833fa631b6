//! A building's year.

use loopdrift::building::Building;
use loopdrift::quantity::Quantified;
use numpy::{IntoPyArray, PyReadonlyArray1, PyReadonlyArray2};
use pyo3::prelude::*;
use pyo3::types::PyDict;

use crate::convert::from_python;
use crate::error::to_python;

/// Hourly series of a year by name; `irradiance` has one row for each of the windows [W/m2].
#[pyfunction]
pub fn building_year<'py>(
    py: Python<'py>,
    building: &Bound<'py, PyDict>,
    outdoor: PyReadonlyArray1<'py, f64>,
    irradiance: PyReadonlyArray2<'py, f64>,
    free_running: bool,
) -> PyResult<Bound<'py, PyDict>> {
    let building: Building = from_python(Building::OWNER, building)?;
    let outdoor = outdoor.as_array().to_vec();
    let irradiance: Vec<Vec<f64>> =
        irradiance.as_array().rows().into_iter().map(|row| row.to_vec()).collect();
    let year = py.detach(|| building.year(&outdoor, &irradiance, free_running)).map_err(to_python)?;
    let series = [
        ("heating_W", year.heating),
        ("cooling_W", year.cooling),
        ("internal_gains_W", year.internal),
        ("solar_gains_W", year.solar),
        ("air_degC", year.air),
        ("surface_degC", year.surface),
        ("mass_degC", year.mass),
        ("operative_degC", year.operative),
    ];
    let by_name = PyDict::new(py);
    for (name, values) in series {
        by_name.set_item(name, values.into_pyarray(py))?;
    }
    Ok(by_name)
}

/// Heat that a building loses per kelvin between rooms and outdoors [W/K].
#[pyfunction]
pub fn building_loss(building: &Bound<'_, PyDict>) -> PyResult<f64> {
    from_python::<Building>(Building::OWNER, building).map(|building| building.loss())
}
