//! Hourly loads, as dictionaries of arrays by the series' names.

use std::mem::take;

use loopdrift::loads::{HeatLoss, Loads, Series};
use pyo3::prelude::*;
use pyo3::types::PyDict;

use crate::convert::{Columns, Numbers, Part};
use crate::error::{InvalidInput, to_python};

/// Loads from copies of the arrays of a dictionary.
pub struct PyLoads(pub Loads);

impl<'py> FromPyObject<'_, 'py> for PyLoads {
    type Error = PyErr;

    fn extract(value: Borrowed<'_, 'py, PyAny>) -> PyResult<Self> {
        let mut series = Series::default();
        for (name, values) in value.cast::<PyDict>()?.iter() {
            let name: String = name.extract()?;
            let Some((_, place)) = series.named().into_iter().find(|(known, _)| *known == name) else {
                return Err(InvalidInput::new_err((
                    "Loads",
                    "series",
                    name,
                    "",
                    "must be a series of loads",
                )));
            };
            *place = values.extract::<Numbers>()?.0;
        }
        Loads::new(series).map(Self).map_err(to_python)
    }
}

#[pyfunction]
pub fn check_loads(loads: PyLoads) -> Columns {
    given_by_users(loads.0)
}

#[pyfunction]
pub fn heat_loss_loads(heat_loss: Part<HeatLoss>, outdoor: Numbers) -> PyResult<Columns> {
    heat_loss.0.loads(&outdoor.0).map(given_by_users).map_err(to_python)
}

/// All series that are not empty.
pub fn all_series(loads: Loads) -> Columns {
    let mut series = loads.into_series();
    let given = series.named().into_iter().filter(|(_, values)| !values.is_empty());
    Columns(given.map(|(name, values)| (name, take(values))).collect())
}

fn given_by_users(loads: Loads) -> Columns {
    let Series { heating, cooling, hot_water, recharge, .. } = loads.into_series();
    let series =
        [("heating", heating), ("cooling", cooling), ("hot_water", hot_water), ("recharge", recharge)];
    Columns(series.into())
}
