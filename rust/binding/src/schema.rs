//! The engine's schema and validators, by the names that Python uses.

use loopdrift::schema;
use pyo3::prelude::*;
use pythonize::Depythonizer;

use crate::convert::{Dict, unfit};
use crate::error::to_python;

/// Name, unit, smallest and largest value of each number of the type `owner`.
#[pyfunction]
pub fn quantities(owner: &str) -> Vec<(&'static str, &'static str, f64, f64)> {
    schema::quantities(owner).iter().map(|info| (info.name, info.unit, info.least, info.most)).collect()
}

/// Raises `InvalidInput` unless the engine accepts `values` as the type `owner`.
#[pyfunction]
pub fn validate(owner: &str, values: &Dict<'_>) -> PyResult<()> {
    match schema::validate(owner, &mut Depythonizer::from_object(values)) {
        Ok(answer) => answer.map_err(to_python),
        Err(error) => Err(unfit(owner, values, &error)),
    }
}
