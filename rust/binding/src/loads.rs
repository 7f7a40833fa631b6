//! Hourly loads, as dictionaries of arrays by the series' names.

use std::path::PathBuf;

use loopdrift::loads::{HeatLoss, Loads, Series};
use loopdrift::quantity::Quantified;
use numpy::{IntoPyArray, PyReadonlyArray1};
use pyo3::prelude::*;
use pyo3::types::PyDict;

use crate::convert::from_python;
use crate::error::{InvalidInput, to_python};

#[pyfunction]
pub fn check_loads<'py>(py: Python<'py>, loads: &Bound<'py, PyDict>) -> PyResult<Bound<'py, PyDict>> {
    to_series(py, loads_from(loads)?)
}

/// Loads from copies of the arrays of a dictionary.
pub fn loads_from(loads: &Bound<'_, PyDict>) -> PyResult<Loads> {
    let mut series = Series::default();
    for (name, values) in loads {
        let name: String = name.extract()?;
        let place = match name.as_str() {
            "heating" => &mut series.heating,
            "cooling" => &mut series.cooling,
            "hot_water" => &mut series.hot_water,
            "recharge" => &mut series.recharge,
            "recovered" => &mut series.recovered,
            "element" => &mut series.element,
            "distribution_power" => &mut series.distribution_power,
            "heating_side" => &mut series.heating_side,
            "cooling_side" => &mut series.cooling_side,
            _ => {
                return Err(InvalidInput::new_err((
                    "Loads",
                    "series",
                    name,
                    "",
                    "must be a series of loads",
                )));
            }
        };
        let values: PyReadonlyArray1<'_, f64> = values.extract()?;
        *place = values.as_array().to_vec();
    }
    Loads::new(series).map_err(to_python)
}

#[pyfunction]
pub fn read_loads(py: Python<'_>, path: PathBuf, years: Option<usize>) -> PyResult<Bound<'_, PyDict>> {
    let loads = py.detach(|| Loads::read(&path, years));
    to_series(py, loads.map_err(to_python)?)
}

#[pyfunction]
pub fn heat_loss_loads<'py>(
    py: Python<'py>,
    heat_loss: &Bound<'py, PyAny>,
    outdoor: PyReadonlyArray1<'py, f64>,
) -> PyResult<Bound<'py, PyDict>> {
    let heat_loss: HeatLoss = from_python(HeatLoss::OWNER, heat_loss)?;
    to_series(py, heat_loss.loads(&outdoor.as_array().to_vec()).map_err(to_python)?)
}

/// All series that are not empty.
pub fn all_series(py: Python<'_>, loads: Loads) -> PyResult<Bound<'_, PyDict>> {
    let Series {
        heating,
        cooling,
        hot_water,
        recharge,
        recovered,
        element,
        distribution_power,
        heating_side,
        cooling_side,
    } = loads.into_series();
    let by_name = PyDict::new(py);
    for (name, values) in [
        ("heating", heating),
        ("cooling", cooling),
        ("hot_water", hot_water),
        ("recharge", recharge),
        ("recovered", recovered),
        ("element", element),
        ("distribution_power", distribution_power),
        ("heating_side", heating_side),
        ("cooling_side", cooling_side),
    ] {
        if !values.is_empty() {
            by_name.set_item(name, values.into_pyarray(py))?;
        }
    }
    Ok(by_name)
}

/// The series that users give.
fn to_series(py: Python<'_>, loads: Loads) -> PyResult<Bound<'_, PyDict>> {
    let Series { heating, cooling, hot_water, recharge, .. } = loads.into_series();
    let by_name = PyDict::new(py);
    for (name, values) in
        [("heating", heating), ("cooling", cooling), ("hot_water", hot_water), ("recharge", recharge)]
    {
        by_name.set_item(name, values.into_pyarray(py))?;
    }
    Ok(by_name)
}
