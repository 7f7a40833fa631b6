//! The ground around a field after a run.

use std::sync::Arc;

use loopdrift::fluid::Fluid;
use loopdrift::ground::Ground;
use loopdrift::ground_side::GroundSideKind;
use loopdrift::ground_side::bore_field::{GroundHistory, HeatSources};
use numpy::ndarray::Array2;
use numpy::{IntoPyArray, PyArray2, PyReadonlyArray1, PyReadonlyArray2};
use pyo3::prelude::*;
use pyo3::types::PyDict;

use crate::convert::from_python;
use crate::error::InvalidInput;
use crate::gate::watched;
use crate::ground::rows;

/// A column of numbers.
type Column = (&'static str, fn(&HeatSources) -> f64);
const COLUMNS: &[Column] = &[
    ("heat_extracted_kWh", |sources| sources.extracted_kwh),
    ("from_ground_kWh", |sources| sources.ground_kwh),
    ("from_surface_kWh", |sources| sources.surface_kwh),
    ("from_bores_kWh", |sources| sources.bores_kwh),
];

/// The heat that a field drew from the ground in a run.
#[pyclass(frozen, name = "GroundHistory")]
pub struct PyGroundHistory(Arc<GroundHistory>);

#[pymethods]
impl PyGroundHistory {
    #[new]
    fn new(
        py: Python<'_>,
        ground_side: &Bound<'_, PyDict>,
        ground: &Bound<'_, PyDict>,
        fluid: &Bound<'_, PyDict>,
        flow: f64,
        heat_extracted: PyReadonlyArray1<'_, f64>,
    ) -> PyResult<Self> {
        let GroundSideKind::BoreField(field) = from_python("ground_side", ground_side)? else {
            let allowed = "must be a bore field for temperatures of the ground around it";
            return Err(InvalidInput::new_err(("Run", "ground_side", "another loop", "", allowed)));
        };
        let ground: Ground = from_python("Ground", ground)?;
        let fluid: Fluid = from_python("Fluid", fluid)?;
        let heat = list(&heat_extracted);
        watched(py, None, move |watch| GroundHistory::new(&field, &ground, &fluid, flow, heat, watch))
            .map(|history| Self(Arc::new(history)))
    }

    /// Temperatures at points, one row for each of the hours, which are counted from 1.
    fn points<'py>(
        &self,
        py: Python<'py>,
        points: PyReadonlyArray2<'py, f64>,
        hours: Vec<usize>,
    ) -> PyResult<Bound<'py, PyArray2<f64>>> {
        let points = rows::<3>("points", &points)?;
        let history = Arc::clone(&self.0);
        let (rows, columns) = (hours.len(), points.len());
        let values = watched(py, None, move |watch| {
            let rows: Result<Vec<Vec<f64>>, _> =
                hours.iter().map(|&hour| history.at(hour)?.points(&points, watch)).collect();
            Ok(rows?.concat())
        })?;
        table(py, rows, columns, values)
    }

    /// Temperatures below places at the end of an hour: depths x places.
    fn section<'py>(
        &self,
        py: Python<'py>,
        places: PyReadonlyArray2<'py, f64>,
        depths: PyReadonlyArray1<'py, f64>,
        hour: usize,
    ) -> PyResult<Bound<'py, PyArray2<f64>>> {
        let (places, depths) = (rows::<2>("places", &places)?, list(&depths));
        let history = Arc::clone(&self.0);
        let (rows, columns) = (depths.len(), places.len());
        let values = watched(py, None, move |watch| history.at(hour)?.section(&places, &depths, watch))?;
        table(py, rows, columns, values)
    }

    /// Temperatures at one depth at the end of an hour: y x x.
    fn plan<'py>(
        &self,
        py: Python<'py>,
        x: PyReadonlyArray1<'py, f64>,
        y: PyReadonlyArray1<'py, f64>,
        depth: f64,
        hour: usize,
    ) -> PyResult<Bound<'py, PyArray2<f64>>> {
        let (x, y) = (list(&x), list(&y));
        let history = Arc::clone(&self.0);
        let (rows, columns) = (y.len(), x.len());
        let values = watched(py, None, move |watch| history.at(hour)?.plan(&x, &y, depth, watch))?;
        table(py, rows, columns, values)
    }

    /// Where the heat came from up to the end of each of the hours.
    fn heat_sources<'py>(&self, py: Python<'py>, hours: Vec<usize>) -> PyResult<Bound<'py, PyDict>> {
        let history = Arc::clone(&self.0);
        let sources = watched(py, None, move |watch| history.heat_sources(&hours, watch))?;
        let columns = PyDict::new(py);
        for (name, read) in COLUMNS {
            columns.set_item(name, sources.iter().map(read).collect::<Vec<f64>>().into_pyarray(py))?;
        }
        Ok(columns)
    }
}

fn list(array: &PyReadonlyArray1<'_, f64>) -> Vec<f64> {
    array.as_array().iter().copied().collect()
}

fn table(
    py: Python<'_>,
    rows: usize,
    columns: usize,
    values: Vec<f64>,
) -> PyResult<Bound<'_, PyArray2<f64>>> {
    let table = Array2::from_shape_vec((rows, columns), values).map_err(|error| {
        InvalidInput::new_err(("ground temperature", "shape", rows, "", error.to_string()))
    })?;
    Ok(table.into_pyarray(py))
}
