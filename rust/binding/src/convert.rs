//! Plain Python dictionaries into the engine's types.

use pyo3::prelude::*;
use pythonize::depythonize;
use serde::de::DeserializeOwned;

use crate::error::InvalidInput;

/// Reads `value` as the engine type `T`; `owner` names it in the error.
pub fn from_python<T: DeserializeOwned>(owner: &str, value: &Bound<'_, PyAny>) -> PyResult<T> {
    depythonize(value).map_err(|error| {
        InvalidInput::new_err((owner.to_owned(), "fields", value.to_string(), "", error.to_string()))
    })
}
