//! Performance tables of heat pumps.

use std::path::PathBuf;

use loopdrift::heat_pump::{DesignPoint, FitQuality, HeatPump, PerformanceTable};
use pyo3::prelude::*;

use crate::convert::Part;
use crate::error::to_python;

#[pyfunction]
pub fn fit_performance_table(
    py: Python<'_>,
    path: PathBuf,
    design: Part<DesignPoint>,
) -> PyResult<(Part<HeatPump>, Part<FitQuality>)> {
    let fitted = py.detach(|| PerformanceTable::read(&path)?.fit(&design.0));
    fitted.map(|(heat_pump, quality)| (Part(heat_pump), Part(quality))).map_err(to_python)
}
