//! Ponds and wells: what their formulas give by themselves.

use loopdrift::fluid::Fluid;
use loopdrift::ground_side::pond::outside_film as film_of;
use loopdrift::ground_side::well::{
    Aquifer, breakthrough as breakthrough_of, returned_share as share_of, well_function as function_of,
};
use numpy::{IntoPyArray, PyArray1, PyReadonlyArray1};
use pyo3::prelude::*;
use pyo3::types::PyDict;

use crate::convert::from_python;
use crate::error::to_python;

fn each<'py>(values: &PyReadonlyArray1<'py, f64>, of: impl Fn(f64) -> f64) -> Bound<'py, PyArray1<f64>> {
    let found: Vec<f64> = values.as_array().iter().map(|&value| of(value)).collect();
    found.into_pyarray(values.py())
}

/// The well function at each argument above 0.
#[pyfunction]
pub fn well_function(u: PyReadonlyArray1<'_, f64>) -> Bound<'_, PyArray1<f64>> {
    each(&u, function_of)
}

/// Fall of the level at a distance for each m3/s, at each time after pumping began.
#[pyfunction]
pub fn well_drawdown<'py>(
    aquifer: &Bound<'py, PyDict>,
    distance: f64,
    times: PyReadonlyArray1<'py, f64>,
) -> PyResult<Bound<'py, PyArray1<f64>>> {
    let aquifer: Aquifer = from_python("Aquifer", aquifer)?;
    Ok(each(&times, |time| aquifer.drawdown(distance, time)))
}

/// Time after which the first of the returned water's heat arrives.
#[pyfunction]
pub fn breakthrough(flow: f64, distance: f64, thickness: f64, heat_capacity: f64) -> f64 {
    breakthrough_of(flow, distance, thickness, heat_capacity)
}

/// Share of returned water at each time over that of breakthrough.
#[pyfunction]
pub fn returned_share(times: PyReadonlyArray1<'_, f64>) -> Bound<'_, PyArray1<f64>> {
    each(&times, share_of)
}

/// Film coefficient of water around a level pipe.
#[pyfunction]
pub fn outside_film(
    diameter: f64,
    water: &Bound<'_, PyDict>,
    water_temperature: f64,
    pipe_temperature: f64,
) -> PyResult<f64> {
    let water: Fluid = from_python("Fluid", water)?;
    water.validate().map_err(to_python)?;
    Ok(film_of(diameter, &water, water_temperature, pipe_temperature))
}
