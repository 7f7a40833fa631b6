//! The ground around a field after a run.

use std::sync::Arc;

use loopdrift::fluid::Fluid;
use loopdrift::ground::Ground;
use loopdrift::ground_side::GroundSideKind;
use loopdrift::prepared::bore_field::{GroundHistory, HeatSources};
use pyo3::prelude::*;

use crate::convert::{Dict, Grid, Numbers, Rows, by_name, from_python, list, rows, table};
use crate::error::InvalidInput;
use crate::gate::cancellable;

/// The heat that a field extracted from the ground in a run.
#[pyclass(frozen, name = "GroundHistory")]
pub struct PyGroundHistory(Arc<GroundHistory>);

#[pymethods]
impl PyGroundHistory {
    #[new]
    fn new(
        py: Python<'_>,
        ground_side: &Dict<'_>,
        ground: &Dict<'_>,
        fluid: &Dict<'_>,
        flow: f64,
        heat_extracted: Numbers<'_>,
    ) -> PyResult<Self> {
        let GroundSideKind::BoreField(field) = from_python("ground_side", ground_side)? else {
            let allowed = "must be a bore field for temperatures of the ground around it";
            return Err(InvalidInput::new_err(("Run", "ground_side", "another loop", "", allowed)));
        };
        let ground: Ground = from_python("Ground", ground)?;
        let fluid: Fluid = from_python("Fluid", fluid)?;
        let heat = list(&heat_extracted);
        cancellable(py, None, move |token| GroundHistory::new(&field, &ground, &fluid, flow, heat, token))
            .map(|history| Self(Arc::new(history)))
    }

    /// Temperatures at points, one row for each hour; hours count from 1.
    fn points<'py>(&self, py: Python<'py>, points: Rows<'py>, hours: Vec<usize>) -> PyResult<Grid<'py>> {
        let points = rows::<3>("points", &points)?;
        let history = Arc::clone(&self.0);
        let shape = (hours.len(), points.len());
        let values = cancellable(py, None, move |token| {
            let rows: Result<Vec<Vec<f64>>, _> =
                hours.iter().map(|&hour| history.at(hour)?.points(&points, token)).collect();
            Ok(rows?.concat())
        })?;
        table(py, shape, values)
    }

    /// Temperatures below places at the end of an hour: depths x places.
    fn section<'py>(
        &self,
        py: Python<'py>,
        places: Rows<'py>,
        depths: Numbers<'py>,
        hour: usize,
    ) -> PyResult<Grid<'py>> {
        let (places, depths) = (rows::<2>("places", &places)?, list(&depths));
        let history = Arc::clone(&self.0);
        let shape = (depths.len(), places.len());
        let values = cancellable(py, None, move |token| history.at(hour)?.section(&places, &depths, token))?;
        table(py, shape, values)
    }

    /// Temperatures at one depth at the end of an hour: y x x.
    fn plan<'py>(
        &self,
        py: Python<'py>,
        x: Numbers<'py>,
        y: Numbers<'py>,
        depth: f64,
        hour: usize,
    ) -> PyResult<Grid<'py>> {
        let (x, y) = (list(&x), list(&y));
        let history = Arc::clone(&self.0);
        let shape = (y.len(), x.len());
        let values = cancellable(py, None, move |token| history.at(hour)?.plan(&x, &y, depth, token))?;
        table(py, shape, values)
    }

    /// The sources of the heat up to the end of each hour.
    fn heat_sources<'py>(&self, py: Python<'py>, hours: Vec<usize>) -> PyResult<Dict<'py>> {
        let history = Arc::clone(&self.0);
        let sources = cancellable(py, None, move |token| history.heat_sources(&hours, token))?;
        by_name(py, HeatSources::columns(&sources))
    }
}
