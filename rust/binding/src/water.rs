//! Formulas for wells.

use loopdrift::ground_side::well::{Aquifer, breakthrough as breakthrough_of, returned_share as share_of};
use numpy::IntoPyArray;
use pyo3::prelude::*;

use crate::convert::{Array, Dict, Numbers, from_python};

/// Values of a function, one for each argument.
pub fn each<'py>(values: &Numbers<'py>, of: impl Fn(f64) -> f64) -> Array<'py> {
    let found: Vec<f64> = values.as_array().iter().map(|&value| of(value)).collect();
    found.into_pyarray(values.py())
}

/// Drawdown at a distance per m3/s, at each time after pumping began.
#[pyfunction]
pub fn well_drawdown<'py>(aquifer: &Dict<'py>, distance: f64, times: Numbers<'py>) -> PyResult<Array<'py>> {
    let aquifer: Aquifer = from_python("Aquifer", aquifer)?;
    Ok(each(&times, |time| aquifer.drawdown(distance, time)))
}

/// Time after which heat from the return well first arrives.
#[pyfunction]
pub fn breakthrough(flow: f64, distance: f64, thickness: f64, heat_capacity: f64) -> f64 {
    breakthrough_of(flow, distance, thickness, heat_capacity)
}

/// Share of returned water at each time, relative to the time of breakthrough.
#[pyfunction]
pub fn returned_share(times: Numbers<'_>) -> Array<'_> {
    each(&times, share_of)
}
