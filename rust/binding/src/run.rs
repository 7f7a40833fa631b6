//! Runs: plain arrays in, named columns out.

use loopdrift::design::Design;
use loopdrift::heat_pump::Demands;
use loopdrift::run::{Epoch, Run, run as run_design, run_epochs as run_designs};
use loopdrift::yearly::{LIMITS_BROKEN, RunYear};
use numpy::IntoPyArray;
use pyo3::prelude::*;
use pyo3::types::PyDict;
use pythonize::pythonize;

use crate::convert::{Dict, add, by_name, from_python};
use crate::error::{InvalidInput, to_python};
use crate::gate::cancellable;
use crate::judgement::judgement_to_python;
use crate::loads::loads_from;

/// Hourly columns, yearly columns, errors and judgement of a run, each a dictionary.
type RunTables<'py> = (Dict<'py>, Dict<'py>, Bound<'py, PyAny>, Dict<'py>);

/// Runs `design` and returns `(hourly columns, yearly columns, errors, judgement)`.
#[pyfunction]
pub fn run<'py>(
    py: Python<'py>,
    design: &Dict<'py>,
    loads: &Dict<'py>,
    years: usize,
    progress: Option<&Bound<'py, PyAny>>,
) -> PyResult<RunTables<'py>> {
    let design: Design = from_python("Design", design)?;
    let loads = loads_from(loads)?;
    let run = cancellable(py, progress, move |token| run_design(&design, &loads, years, token))?;
    tables(py, run)
}

/// Runs a plant that changes. Each epoch has the year in which it begins, from 0; its design; the index of its loads; and
/// how many years of these loads have passed by then.
#[pyfunction]
pub fn run_epochs<'py>(
    py: Python<'py>,
    epochs: Vec<(usize, Dict<'py>, usize, usize)>,
    loads: Vec<Dict<'py>>,
    years: usize,
    progress: Option<&Bound<'py, PyAny>>,
) -> PyResult<RunTables<'py>> {
    let loads = loads.iter().map(loads_from).collect::<PyResult<Vec<_>>>()?;
    let mut designs = Vec::with_capacity(epochs.len());
    for (first_year, design, place, passed) in &epochs {
        if *place >= loads.len() {
            let allowed = "must be the index of loads";
            return Err(InvalidInput::new_err(("run_epochs", "epochs", *place, "", allowed)));
        }
        designs.push((*first_year, from_python::<Design>("Design", design)?, *place, *passed));
    }
    let run = cancellable(py, progress, move |token| {
        let epochs: Vec<Epoch> = designs
            .iter()
            .map(|(first_year, design, place, passed)| Epoch {
                design,
                demands: Demands::of(&loads[*place]).after(*passed),
                first_year: *first_year,
            })
            .collect();
        run_designs(&epochs, years, token)
    })?;
    tables(py, run)
}

/// Raises `InvalidInput` unless `design` can be run.
#[pyfunction]
pub fn check<'py>(design: &Dict<'py>, loads: &Dict<'py>) -> PyResult<()> {
    let design: Design = from_python("Design", design)?;
    let loads = loads_from(loads)?;
    design.validate().and_then(|()| design.demands(&loads).map(drop)).map_err(to_python)
}

fn tables(py: Python<'_>, run: Run) -> PyResult<RunTables<'_>> {
    let hourly = by_name(py, run.hourly.into_columns().into_iter().chain(run.kind_hourly))?;
    let yearly = PyDict::new(py);
    for (name, read) in RunYear::NUMBERS {
        yearly.set_item(name, run.yearly.iter().map(read).collect::<Vec<f64>>().into_pyarray(py))?;
    }
    for (name, read) in RunYear::HOURS {
        yearly.set_item(name, run.yearly.iter().map(read).collect::<Vec<u32>>().into_pyarray(py))?;
    }
    let broken: Vec<usize> = (0..run.yearly.len()).map(|year| run.judgement.broken_in(year)).collect();
    yearly.set_item(LIMITS_BROKEN, broken.into_pyarray(py))?;
    add(&yearly, run.kind_yearly)?;
    Ok((hourly, yearly, pythonize(py, &run.error)?, judgement_to_python(py, &run.judgement)?))
}
