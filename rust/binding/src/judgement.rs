//! The judgement of a run as plain dictionaries.

use loopdrift::judgement::Judgement;
use pyo3::prelude::*;
use pyo3::types::PyDict;
use pythonize::pythonize;

use crate::convert::Dict;

/// `holds`, the position of the deciding criterion or `None`, and `criteria`.
pub fn judgement_to_python<'py>(py: Python<'py>, judgement: &Judgement) -> PyResult<Dict<'py>> {
    let dict = PyDict::new(py);
    dict.set_item("holds", judgement.holds())?;
    dict.set_item("deciding", judgement.place_of_deciding())?;
    dict.set_item("criteria", pythonize(py, &judgement.criteria)?)?;
    Ok(dict)
}
