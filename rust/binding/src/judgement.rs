//! What a run is judged by, as plain dictionaries.

use loopdrift::judgement::{Criterion, Judgement};
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyTuple};

/// `holds`, the place of the criterion that decides or `None`, and `criteria`.
pub fn judgement_to_python<'py>(py: Python<'py>, judgement: &Judgement) -> PyResult<Bound<'py, PyDict>> {
    let deciding = judgement.deciding();
    let place = judgement.criteria.iter().position(|each| deciding.is_some_and(|it| std::ptr::eq(it, each)));
    let criteria: Vec<_> =
        judgement.criteria.iter().map(|each| criterion_to_python(py, each)).collect::<PyResult<_>>()?;
    let dict = PyDict::new(py);
    dict.set_item("holds", judgement.holds())?;
    dict.set_item("deciding", place)?;
    dict.set_item("criteria", criteria)?;
    Ok(dict)
}

fn criterion_to_python<'py>(py: Python<'py>, criterion: &Criterion) -> PyResult<Bound<'py, PyDict>> {
    let dict = PyDict::new(py);
    dict.set_item("name", criterion.name)?;
    dict.set_item("decides", criterion.decides)?;
    dict.set_item("unit", criterion.quality.unit())?;
    dict.set_item("required", criterion.required())?;
    dict.set_item("actual", criterion.actual)?;
    dict.set_item("margin", criterion.margin())?;
    dict.set_item("rank", criterion.rank())?;
    dict.set_item("year", criterion.when.year() + 1)?;
    dict.set_item("hour", criterion.when.hour())?;
    dict.set_item("hours_broken", PyTuple::new(py, &criterion.hours_broken)?)?;
    Ok(dict)
}
