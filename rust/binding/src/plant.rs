//! From room and hot water loads to heat pump loads.

use loopdrift::heat_pump::HeatPump;
use loopdrift::plant::Plant;
use numpy::IntoPyArray;
use pyo3::prelude::*;

use crate::convert::{Array, Dict, by_name, from_python};
use crate::error::to_python;
use crate::loads::{all_series, loads_from};

/// Loads of the heat pump, electricity of the distribution (W), and the tank's columns or `None`.
type PyMet<'py> = (Dict<'py>, Array<'py>, Option<Dict<'py>>);

#[pyfunction]
pub fn meet<'py>(
    py: Python<'py>,
    plant: &Dict<'py>,
    heat_pump: &Dict<'py>,
    loads: &Dict<'py>,
) -> PyResult<PyMet<'py>> {
    let plant: Plant = from_python("Design", plant)?;
    let heat_pump: HeatPump = from_python("HeatPump", heat_pump)?;
    let met = plant.meet(&loads_from(loads)?, &heat_pump).map_err(to_python)?;
    let tank = met.tank.map(|tank| by_name(py, tank.into_columns())).transpose()?;
    Ok((all_series(py, met.loads)?, met.distribution_power.into_pyarray(py), tank))
}
