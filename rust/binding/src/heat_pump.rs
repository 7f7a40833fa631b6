//! Performance tables of heat pumps.

use std::path::PathBuf;

use loopdrift::heat_pump::{DesignPoint, PerformanceTable};
use pyo3::prelude::*;
use pythonize::pythonize;

use crate::error::to_python;

#[pyfunction]
#[pyo3(signature = (path, *, flow, heating_entering_load_temperature, cooling_entering_load_temperature))]
pub fn fit_performance_table(
    py: Python<'_>,
    path: PathBuf,
    flow: Option<f64>,
    heating_entering_load_temperature: Option<f64>,
    cooling_entering_load_temperature: Option<f64>,
) -> PyResult<(Bound<'_, PyAny>, Bound<'_, PyAny>)> {
    let design = DesignPoint { flow, heating_entering_load_temperature, cooling_entering_load_temperature };
    let fitted = py.detach(|| PerformanceTable::read(&path)?.fit(&design));
    let (heat_pump, quality) = fitted.map_err(to_python)?;
    Ok((pythonize(py, &heat_pump)?, pythonize(py, &quality)?))
}
