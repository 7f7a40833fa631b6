//! From what rooms and taps need to what the heat pump must do.

use loopdrift::heat_pump::HeatPump;
use loopdrift::plant::{Plant, Tank};
use numpy::IntoPyArray;
use pyo3::prelude::*;
use pyo3::types::PyDict;

use crate::convert::from_python;
use crate::error::to_python;
use crate::loads::{all_series, loads_from};

/// Loads of the heat pump, electricity of the distribution [W], and the tank's columns or `None`.
type PyMet<'py> = (Bound<'py, PyDict>, Bound<'py, PyAny>, Option<Bound<'py, PyDict>>);

#[pyfunction]
pub fn meet<'py>(
    py: Python<'py>,
    plant: &Bound<'py, PyDict>,
    heat_pump: &Bound<'py, PyDict>,
    loads: &Bound<'py, PyDict>,
) -> PyResult<PyMet<'py>> {
    let plant: Plant = from_python("Design", plant)?;
    let heat_pump: HeatPump = from_python("HeatPump", heat_pump)?;
    let met = plant.meet(&loads_from(loads)?, &heat_pump).map_err(to_python)?;
    let power = met.distribution_power.into_pyarray(py).into_any();
    let tank = met.tank.map(|tank| columns(py, tank)).transpose()?;
    Ok((all_series(py, met.loads)?, power, tank))
}

fn columns(py: Python<'_>, tank: Tank) -> PyResult<Bound<'_, PyDict>> {
    let by_name = PyDict::new(py);
    for (name, values) in [
        ("drawn_W", tank.drawn),
        ("lost_W", tank.lost),
        ("superheat_in_heating_W", tank.superheat_in_heating),
        ("superheat_in_cooling_W", tank.superheat_in_cooling),
        ("heat_pump_W", tank.heat_pump),
        ("element_W", tank.element),
        ("temperature_degC", tank.temperature),
    ] {
        by_name.set_item(name, values.into_pyarray(py))?;
    }
    Ok(by_name)
}
