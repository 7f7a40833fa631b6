//! Hourly loads.

use std::path::PathBuf;

use loopdrift::Error;
use loopdrift::loads::{HeatLoss, Loads};
use loopdrift::quantity::Quantified;
use numpy::{IntoPyArray, PyArray1, PyReadonlyArray1};
use pyo3::prelude::*;

use crate::convert::from_python;
use crate::error::to_python;

type Series<'py> = Bound<'py, PyArray1<f64>>;
type ThreeSeries<'py> = (Series<'py>, Series<'py>, Series<'py>);

#[pyfunction]
pub fn check_loads<'py>(
    py: Python<'py>,
    heating: PyReadonlyArray1<'py, f64>,
    cooling: PyReadonlyArray1<'py, f64>,
    hot_water: PyReadonlyArray1<'py, f64>,
) -> PyResult<ThreeSeries<'py>> {
    to_series(py, loads_from(&heating, &cooling, &hot_water))
}

/// Loads from copies of three arrays [W].
pub fn loads_from(
    heating: &PyReadonlyArray1<'_, f64>,
    cooling: &PyReadonlyArray1<'_, f64>,
    hot_water: &PyReadonlyArray1<'_, f64>,
) -> Result<Loads, Error> {
    let copy = |values: &PyReadonlyArray1<'_, f64>| values.as_array().to_vec();
    Loads::new(copy(heating), copy(cooling), copy(hot_water))
}

#[pyfunction]
pub fn read_loads(py: Python<'_>, path: PathBuf) -> PyResult<ThreeSeries<'_>> {
    let loads = py.detach(|| Loads::read(&path));
    to_series(py, loads)
}

#[pyfunction]
pub fn heat_loss_loads<'py>(
    py: Python<'py>,
    heat_loss: &Bound<'py, PyAny>,
    outdoor: PyReadonlyArray1<'py, f64>,
) -> PyResult<ThreeSeries<'py>> {
    let heat_loss: HeatLoss = from_python(HeatLoss::OWNER, heat_loss)?;
    to_series(py, heat_loss.loads(&outdoor.as_array().to_vec()))
}

fn to_series(py: Python<'_>, loads: Result<Loads, Error>) -> PyResult<ThreeSeries<'_>> {
    let loads = loads.map_err(to_python)?;
    let array = |values: &[f64]| values.to_vec().into_pyarray(py);
    Ok((array(loads.heating()), array(loads.cooling()), array(loads.hot_water())))
}
