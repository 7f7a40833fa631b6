//! Runs: plain arrays in, named columns out.

use loopdrift::design::Design;
use loopdrift::run::{Run, run as run_design};
use loopdrift::yearly::Year;
use numpy::IntoPyArray;
use pyo3::prelude::*;
use pyo3::types::PyDict;

use crate::convert::from_python;
use crate::error::to_python;
use crate::gate::watched;
use crate::judgement::judgement_to_python;
use crate::loads::loads_from;

/// A column of numbers.
pub type YearColumn = (&'static str, fn(&Year) -> f64);
/// The columns of the yearly table.
pub const YEAR_COLUMNS: &[YearColumn] = &[
    ("entering_fluid_min_degC", |y| y.entering_fluid_min),
    ("entering_fluid_mean_degC", |y| y.entering_fluid_mean),
    ("entering_fluid_max_degC", |y| y.entering_fluid_max),
    ("leaving_fluid_min_degC", |y| y.leaving_fluid_min),
    ("heat_extracted_kWh", |y| y.heat_extracted_kwh),
    ("heat_rejected_kWh", |y| y.heat_rejected_kwh),
    ("heating_kWh", |y| y.heating_kwh),
    ("cooling_kWh", |y| y.cooling_kwh),
    ("electricity_kWh", |y| y.electricity_kwh),
    ("backup_kWh", |y| y.backup_kwh),
    ("unmet_cooling_kWh", |y| y.unmet_cooling_kwh),
    ("seasonal_cop", Year::seasonal_cop),
];

/// A column that counts hours.
pub type CountColumn = (&'static str, fn(&Year) -> u32);
/// The columns of the yearly table that count hours.
pub const COUNT_COLUMNS: &[CountColumn] = &[
    ("hours_running", |y| y.hours_running),
    ("hours_outside_limits", Year::hours_outside_limits),
    ("hours_outside_table", |y| y.hours_outside_table),
    ("hours_near_freezing", |y| y.hours_near_freezing),
    ("hours_fluid_too_warm", |y| y.hours_fluid_too_warm),
    ("hours_short_of_capacity", |y| y.hours_short_of_capacity),
];

/// Hourly columns, yearly columns, errors and judgement of a run, each a dictionary.
type RunTables<'py> = (Bound<'py, PyDict>, Bound<'py, PyDict>, Bound<'py, PyDict>, Bound<'py, PyDict>);

/// Runs `design` and returns `(hourly columns, yearly columns, errors, judgement)`.
#[pyfunction]
pub fn run<'py>(
    py: Python<'py>,
    design: &Bound<'py, PyDict>,
    loads: &Bound<'py, PyDict>,
    years: usize,
    progress: Option<&Bound<'py, PyAny>>,
) -> PyResult<RunTables<'py>> {
    let design: Design = from_python("Design", design)?;
    let loads = loads_from(loads)?;
    let run = watched(py, progress, move |watch| run_design(&design, &loads, years, watch))?;
    tables(py, run)
}

/// Raises `InvalidInput` unless a run of `design` could begin.
#[pyfunction]
pub fn check<'py>(design: &Bound<'py, PyDict>, loads: &Bound<'py, PyDict>) -> PyResult<()> {
    let design: Design = from_python("Design", design)?;
    let loads = loads_from(loads)?;
    design.validate().and_then(|()| design.demands(&loads).map(drop)).map_err(to_python)
}

fn tables(py: Python<'_>, run: Run) -> PyResult<RunTables<'_>> {
    let hourly = PyDict::new(py);
    let series = run.hourly;
    for (name, values) in [
        ("entering_fluid_degC", series.entering_fluid),
        ("leaving_fluid_degC", series.leaving_fluid),
        ("wall_degC", series.wall),
        ("heat_extracted_W", series.heat_extracted),
        ("electricity_W", series.electricity),
        ("backup_W", series.heating_shortfall),
        ("unmet_cooling_W", series.cooling_shortfall),
    ] {
        hourly.set_item(name, values.into_pyarray(py))?;
    }
    for (name, values) in run.beside {
        hourly.set_item(name, values.into_pyarray(py))?;
    }
    let yearly = PyDict::new(py);
    for (name, read) in YEAR_COLUMNS {
        yearly.set_item(name, run.yearly.iter().map(read).collect::<Vec<f64>>().into_pyarray(py))?;
    }
    for (name, read) in COUNT_COLUMNS {
        yearly.set_item(name, run.yearly.iter().map(read).collect::<Vec<u32>>().into_pyarray(py))?;
    }
    let broken: Vec<usize> = (0..run.yearly.len()).map(|year| run.judgement.broken_in(year)).collect();
    yearly.set_item("limits_broken", broken.into_pyarray(py))?;
    for (name, values) in run.yearly_beside {
        yearly.set_item(name, values.into_pyarray(py))?;
    }
    let error = PyDict::new(py);
    error.set_item("exponentials", run.error.exponentials)?;
    error.set_item("resistance", run.error.resistance)?;
    error.set_item("inside", run.error.inside)?;
    error.set_item("tabulation", run.error.tabulation)?;
    error.set_item("segments", run.error.segments)?;
    error.set_item("steps", run.error.steps)?;
    error.set_item("film", run.error.film)?;
    Ok((hourly, yearly, error, judgement_to_python(py, &run.judgement)?))
}
