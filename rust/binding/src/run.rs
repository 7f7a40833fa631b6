//! Runs: plain arrays in, named columns out.

use loopdrift::design::Design;
use loopdrift::heat_pump::Demands;
use loopdrift::judgement::Judgement;
use loopdrift::prepared::RunError;
use loopdrift::run::{Epoch, Run, run as run_design, run_epochs as run_designs};
use loopdrift::yearly::{LIMITS_BROKEN, RunYear};
use numpy::IntoPyArray;
use pyo3::prelude::*;
use pyo3::types::PyDict;

use crate::convert::{Columns, Dict, Part};
use crate::error::{InvalidInput, to_python};
use crate::gate::cancellable;
use crate::loads::PyLoads;

/// Hourly columns, yearly columns, errors and judgement of a run, each a dictionary.
type RunTables<'py> = (Columns, Dict<'py>, Part<RunError>, Part<Judgement>);

/// Runs `design` and returns `(hourly columns, yearly columns, errors, judgement)`.
#[pyfunction]
pub fn run<'py>(
    py: Python<'py>,
    design: Part<Design>,
    loads: PyLoads,
    years: usize,
    progress: Option<&Bound<'py, PyAny>>,
) -> PyResult<RunTables<'py>> {
    tables(py, cancellable(py, progress, move |token| run_design(&design.0, &loads.0, years, token))?)
}

/// Runs a plant that changes. Each epoch has the year in which it begins, from 0; its design; the index of its loads; and
/// how many years of these loads have passed by then.
#[pyfunction]
pub fn run_epochs<'py>(
    py: Python<'py>,
    epochs: Vec<(usize, Part<Design>, usize, usize)>,
    loads: Vec<PyLoads>,
    years: usize,
    progress: Option<&Bound<'py, PyAny>>,
) -> PyResult<RunTables<'py>> {
    if let Some((_, _, place, _)) = epochs.iter().find(|(_, _, place, _)| *place >= loads.len()) {
        let allowed = "must be the index of loads";
        return Err(InvalidInput::new_err(("run_epochs", "epochs", *place, "", allowed)));
    }
    let run = cancellable(py, progress, move |token| {
        let epochs = epochs.iter().map(|(first_year, design, place, passed)| Epoch {
            design: &design.0,
            demands: Demands::of(&loads[*place].0).after(*passed),
            first_year: *first_year,
        });
        run_designs(&epochs.collect::<Vec<_>>(), years, token)
    })?;
    tables(py, run)
}

/// Raises `InvalidInput` unless `design` can be run.
#[pyfunction]
pub fn check(design: Part<Design>, loads: PyLoads) -> PyResult<()> {
    let design = design.0;
    design.validate().and_then(|()| design.demands(&loads.0).map(drop)).map_err(to_python)
}

fn tables(py: Python<'_>, run: Run) -> PyResult<RunTables<'_>> {
    let hourly = run.hourly.into_columns().into_iter().chain(run.kind_hourly).collect();
    let yearly = PyDict::new(py);
    for (name, read) in RunYear::NUMBERS {
        yearly.set_item(name, run.yearly.iter().map(read).collect::<Vec<f64>>().into_pyarray(py))?;
    }
    for (name, read) in RunYear::HOURS {
        yearly.set_item(name, run.yearly.iter().map(read).collect::<Vec<u32>>().into_pyarray(py))?;
    }
    let broken: Vec<usize> = (0..run.yearly.len()).map(|year| run.judgement.broken_in(year)).collect();
    yearly.set_item(LIMITS_BROKEN, broken.into_pyarray(py))?;
    Columns(run.kind_yearly).add_to(&yearly)?;
    Ok((Columns(hourly), yearly, Part(run.error), Part(run.judgement)))
}
