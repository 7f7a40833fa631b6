//! Hourly loads, as dictionaries of arrays by the series' names.

use std::mem::take;

use loopdrift::loads::{HeatLoss, Loads, Series};
use loopdrift::quantity::Quantified;
use pyo3::prelude::*;

use crate::convert::{Dict, Numbers, by_name, from_python, list};
use crate::error::{InvalidInput, to_python};

#[pyfunction]
pub fn check_loads<'py>(py: Python<'py>, loads: &Dict<'py>) -> PyResult<Dict<'py>> {
    to_series(py, loads_from(loads)?)
}

/// Loads from copies of the arrays of a dictionary.
pub fn loads_from(loads: &Dict<'_>) -> PyResult<Loads> {
    let mut series = Series::default();
    for (name, values) in loads {
        let name: String = name.extract()?;
        let Some((_, place)) = series.named().into_iter().find(|(known, _)| *known == name) else {
            return Err(InvalidInput::new_err(("Loads", "series", name, "", "must be a series of loads")));
        };
        *place = list(&values.extract()?);
    }
    Loads::new(series).map_err(to_python)
}

#[pyfunction]
pub fn heat_loss_loads<'py>(
    py: Python<'py>,
    heat_loss: &Bound<'py, PyAny>,
    outdoor: Numbers<'py>,
) -> PyResult<Dict<'py>> {
    let heat_loss: HeatLoss = from_python(HeatLoss::OWNER, heat_loss)?;
    to_series(py, heat_loss.loads(&list(&outdoor)).map_err(to_python)?)
}

/// All series that are not empty.
pub fn all_series(py: Python<'_>, loads: Loads) -> PyResult<Dict<'_>> {
    let mut series = loads.into_series();
    let given = series.named().into_iter().filter(|(_, values)| !values.is_empty());
    by_name(py, given.map(|(name, values)| (name, take(values))))
}

/// The series that users supply.
fn to_series(py: Python<'_>, loads: Loads) -> PyResult<Dict<'_>> {
    let Series { heating, cooling, hot_water, recharge, .. } = loads.into_series();
    let series =
        [("heating", heating), ("cooling", cooling), ("hot_water", hot_water), ("recharge", recharge)];
    by_name(py, series)
}
