//! Converts plain Python dictionaries and arrays into the engine's types, and back.

use loopdrift::Error;
use numpy::ndarray::Array2;
use numpy::{IntoPyArray, PyArray1, PyArray2, PyReadonlyArray1, PyReadonlyArray2};
use pyo3::prelude::*;
use pyo3::types::PyDict;
use pythonize::depythonize;
use serde::de::DeserializeOwned;

use crate::error::{InvalidInput, to_python};

/// A part of a design, or named columns.
pub type Dict<'py> = Bound<'py, PyDict>;
/// A returned array.
pub type Array<'py> = Bound<'py, PyArray1<f64>>;
/// A returned array of two dimensions.
pub type Grid<'py> = Bound<'py, PyArray2<f64>>;
/// An array argument.
pub type Numbers<'py> = PyReadonlyArray1<'py, f64>;
/// An array argument of two dimensions.
pub type Rows<'py> = PyReadonlyArray2<'py, f64>;

/// Reads `value` as the engine type `T`; `owner` names it in the error.
pub fn from_python<T: DeserializeOwned>(owner: &str, value: &Bound<'_, PyAny>) -> PyResult<T> {
    depythonize(value).map_err(|error| unfit(owner, value, &error))
}

/// Reads `value` as the engine type `T` and validates it.
pub fn valid<T: DeserializeOwned>(
    owner: &str,
    value: &Bound<'_, PyAny>,
    validate: fn(&T) -> Result<(), Error>,
) -> PyResult<T> {
    let part = from_python(owner, value)?;
    validate(&part).map_err(to_python)?;
    Ok(part)
}

/// The exception for a value that is not of the type `owner`.
pub fn unfit(owner: &str, value: &Bound<'_, PyAny>, error: &impl ToString) -> PyErr {
    InvalidInput::new_err((owner.to_owned(), "fields", value.to_string(), "", error.to_string()))
}

/// A list of numbers.
pub fn list(array: &PyReadonlyArray1<'_, f64>) -> Vec<f64> {
    array.as_array().to_vec()
}

/// The rows of a table of N columns.
pub fn rows<const N: usize>(field: &str, array: &PyReadonlyArray2<'_, f64>) -> PyResult<Vec<[f64; N]>> {
    let array = array.as_array();
    if array.ncols() != N {
        let allowed = format!("must have {N} columns");
        return Err(InvalidInput::new_err(("BoreField", field.to_owned(), array.ncols(), "", allowed)));
    }
    Ok(array.rows().into_iter().map(|row| std::array::from_fn(|column| row[column])).collect())
}

/// A dictionary of arrays by name.
pub fn by_name<'py>(
    py: Python<'py>,
    columns: impl IntoIterator<Item = (&'static str, Vec<f64>)>,
) -> PyResult<Dict<'py>> {
    let dict = PyDict::new(py);
    add(&dict, columns)?;
    Ok(dict)
}

/// Adds arrays to a dictionary.
pub fn add(dict: &Dict<'_>, columns: impl IntoIterator<Item = (&'static str, Vec<f64>)>) -> PyResult<()> {
    columns.into_iter().try_for_each(|(name, values)| dict.set_item(name, values.into_pyarray(dict.py())))
}

/// An array of two dimensions from its concatenated rows.
pub fn table(py: Python<'_>, shape: (usize, usize), values: Vec<f64>) -> PyResult<Bound<'_, PyArray2<f64>>> {
    let table = Array2::from_shape_vec(shape, values);
    table.map(|table| table.into_pyarray(py)).map_err(|error| {
        InvalidInput::new_err(("table", "shape", format!("{shape:?}"), "", error.to_string()))
    })
}
