//! Engine types and arrays as arguments and results of functions.

use std::any::type_name;
use std::convert::Infallible;

use loopdrift::Error;
use loopdrift::bore::{Bore, Pipe};
use loopdrift::column::Column;
use loopdrift::fluid::Fluid;
use loopdrift::ground::{Ground, SurfaceWave, Warming};
use loopdrift::ground_side::{Description, GroundSideKind};
use numpy::ndarray::Array2;
use numpy::{IntoPyArray, PyArray1, PyArray2, PyReadonlyArray1, PyReadonlyArray2};
use pyo3::exceptions::PyValueError;
use pyo3::prelude::*;
use pyo3::types::PyDict;
use pythonize::{depythonize, pythonize};
use serde::Serialize;
use serde::de::DeserializeOwned;

use crate::error::{InvalidInput, to_python};

/// Named values.
pub type Dict<'py> = Bound<'py, PyDict>;

/// An engine type as plain dictionaries, lists and numbers.
pub struct Part<T>(pub T);

impl<'py, T: DeserializeOwned> FromPyObject<'_, 'py> for Part<T> {
    type Error = PyErr;

    fn extract(value: Borrowed<'_, 'py, PyAny>) -> PyResult<Self> {
        let owner = type_name::<T>().rsplit("::").next().unwrap_or_default();
        depythonize(&value).map(Self).map_err(|error| unfit(owner, &value, &error))
    }
}

impl<'py, T: Serialize> IntoPyObject<'py> for Part<T> {
    type Target = PyAny;
    type Output = Bound<'py, PyAny>;
    type Error = PyErr;

    fn into_pyobject(self, py: Python<'py>) -> PyResult<Self::Output> {
        Ok(pythonize(py, &self.0)?)
    }
}

/// The exception for a value that is not of the type `owner`.
pub fn unfit(owner: &str, value: &Bound<'_, PyAny>, error: &impl ToString) -> PyErr {
    InvalidInput::new_err((owner.to_owned(), "fields", value.to_string(), "", error.to_string()))
}

/// A valid engine type.
pub struct Valid<T>(pub T);

impl<'py, T: DeserializeOwned + Validate> FromPyObject<'_, 'py> for Valid<T> {
    type Error = PyErr;

    fn extract(value: Borrowed<'_, 'py, PyAny>) -> PyResult<Self> {
        let Part(part) = Part::<T>::extract(value)?;
        part.check().map(|()| Self(part)).map_err(to_python)
    }
}

/// A type of the engine with a validator.
pub trait Validate {
    fn check(&self) -> Result<(), Error>;
}

macro_rules! validate {
    ($($part:ty),*) => { $(impl Validate for $part {
        fn check(&self) -> Result<(), Error> {
            self.validate()
        }
    })* };
}
validate!(Bore, Fluid, Ground, GroundSideKind, Pipe, SurfaceWave, Warming);

/// An array.
pub struct Numbers(pub Vec<f64>);

impl<'py> FromPyObject<'_, 'py> for Numbers {
    type Error = PyErr;

    fn extract(value: Borrowed<'_, 'py, PyAny>) -> PyResult<Self> {
        let array: PyReadonlyArray1<f64> = value.extract()?;
        Ok(Self(array.as_array().to_vec()))
    }
}

impl<'py> IntoPyObject<'py> for Numbers {
    type Target = PyArray1<f64>;
    type Output = Bound<'py, Self::Target>;
    type Error = Infallible;

    fn into_pyobject(self, py: Python<'py>) -> Result<Self::Output, Infallible> {
        Ok(self.0.into_pyarray(py))
    }
}

/// The rows of an array of N columns.
pub struct Rows<const N: usize>(pub Vec<[f64; N]>);

impl<'py, const N: usize> FromPyObject<'_, 'py> for Rows<N> {
    type Error = PyErr;

    fn extract(value: Borrowed<'_, 'py, PyAny>) -> PyResult<Self> {
        let array: PyReadonlyArray2<f64> = value.extract()?;
        let (array, count) = (array.as_array(), array.as_array().ncols());
        if count != N {
            let allowed = format!("must be {N}");
            return Err(InvalidInput::new_err(("an array", "columns", count, "", allowed)));
        }
        Ok(Self(array.rows().into_iter().map(|row| std::array::from_fn(|column| row[column])).collect()))
    }
}

/// Concatenated rows of a number of columns.
pub struct Table(pub usize, pub Vec<f64>);

impl<'py> IntoPyObject<'py> for Table {
    type Target = PyArray2<f64>;
    type Output = Bound<'py, Self::Target>;
    type Error = PyErr;

    fn into_pyobject(self, py: Python<'py>) -> PyResult<Self::Output> {
        let shape = (self.1.len() / self.0.max(1), self.0);
        let table = Array2::from_shape_vec(shape, self.1);
        table.map(|table| table.into_pyarray(py)).map_err(|error| PyValueError::new_err(error.to_string()))
    }
}

/// Arrays by name.
pub struct Columns(pub Vec<Column>);

impl Columns {
    /// Adds the arrays to a dictionary.
    pub fn add_to(self, dict: &Dict<'_>) -> PyResult<()> {
        self.0.into_iter().try_for_each(|(name, values)| dict.set_item(name, Numbers(values)))
    }
}

impl<'py> IntoPyObject<'py> for Columns {
    type Target = PyDict;
    type Output = Dict<'py>;
    type Error = PyErr;

    fn into_pyobject(self, py: Python<'py>) -> PyResult<Self::Output> {
        let dict = PyDict::new(py);
        self.add_to(&dict).map(|()| dict)
    }
}
