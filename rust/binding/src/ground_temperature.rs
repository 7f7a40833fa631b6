//! The ground around a field after a run.

use std::sync::Arc;

use loopdrift::Error;
use loopdrift::cancel_token::CancelToken;
use loopdrift::fluid::Fluid;
use loopdrift::ground::Ground;
use loopdrift::ground_side::GroundSideKind;
use loopdrift::prepared::bore_field::{GroundHistory, HeatSources};
use pyo3::prelude::*;

use crate::convert::{Columns, Numbers, Part, Rows, Table};
use crate::error::InvalidInput;
use crate::gate::cancellable;

/// The heat that a field extracted from the ground in a run.
#[pyclass(frozen, name = "GroundHistory")]
pub struct PyGroundHistory(Arc<GroundHistory>);

impl PyGroundHistory {
    fn find<T: Send + 'static>(
        &self,
        py: Python<'_>,
        find: impl FnOnce(&GroundHistory, &CancelToken) -> Result<T, Error> + Send + 'static,
    ) -> PyResult<T> {
        let history = Arc::clone(&self.0);
        cancellable(py, None, move |token| find(&history, token))
    }
}

#[pymethods]
impl PyGroundHistory {
    #[new]
    fn new(
        py: Python<'_>,
        ground_side: Part<GroundSideKind>,
        ground: Part<Ground>,
        fluid: Part<Fluid>,
        flow: f64,
        heat_extracted: Numbers,
    ) -> PyResult<Self> {
        let GroundSideKind::BoreField(field) = ground_side.0 else {
            let allowed = "must be a bore field for temperatures of the ground around it";
            return Err(InvalidInput::new_err(("Run", "ground_side", "another loop", "", allowed)));
        };
        cancellable(py, None, move |token| {
            GroundHistory::new(&field, &ground.0, &fluid.0, flow, heat_extracted.0, token)
        })
        .map(|history| Self(Arc::new(history)))
    }

    /// Temperatures at points, one row for each hour; hours count from 1.
    fn points(&self, py: Python<'_>, points: Rows<3>, hours: Vec<usize>) -> PyResult<Table> {
        self.find(py, move |history, token| {
            let at = |&hour: &usize| history.at(hour)?.points(&points.0, token);
            let rows = hours.iter().map(at).collect::<Result<Vec<_>, _>>()?;
            Ok(Table(points.0.len(), rows.concat()))
        })
    }

    /// Temperatures below places at the end of an hour: depths x places.
    fn section(&self, py: Python<'_>, places: Rows<2>, depths: Numbers, hour: usize) -> PyResult<Table> {
        self.find(py, move |history, token| {
            let values = history.at(hour)?.section(&places.0, &depths.0, token)?;
            Ok(Table(places.0.len(), values))
        })
    }

    /// Temperatures at one depth at the end of an hour: y x x.
    fn plan(&self, py: Python<'_>, x: Numbers, y: Numbers, depth: f64, hour: usize) -> PyResult<Table> {
        self.find(py, move |history, token| {
            let values = history.at(hour)?.plan(&x.0, &y.0, depth, token)?;
            Ok(Table(x.0.len(), values))
        })
    }

    /// The sources of the heat up to the end of each hour.
    fn heat_sources(&self, py: Python<'_>, hours: Vec<usize>) -> PyResult<Columns> {
        let sources = self.find(py, move |history, token| history.heat_sources(&hours, token))?;
        Ok(Columns(HeatSources::columns(&sources).into()))
    }
}
