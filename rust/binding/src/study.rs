//! Studies: parts and which case has which in, yearly columns by case out; and sizing.

use std::collections::BTreeSet;
use std::path::PathBuf;

use loopdrift::design::Design;
use loopdrift::ground::KeptResponses;
use loopdrift::loads::HOURS_PER_YEAR;
use loopdrift::study::{Case, Judgement, Measure, Sized, first_that_holds, least, run_cases as run_designs};
use numpy::IntoPyArray;
use numpy::ndarray::Array2;
use pyo3::prelude::*;
use pyo3::types::PyDict;
use serde::de::DeserializeOwned;

use crate::convert::from_python;
use crate::error::{InvalidInput, to_python};
use crate::gate::watched;
use crate::loads::loads_from;
use crate::run::{COUNT_COLUMNS, YEAR_COLUMNS};

/// Yearly columns of shape (cases, years), NaN where a case failed; columns with one entry a case; and why each case failed.
type Tables<'py> = (Bound<'py, PyDict>, Bound<'py, PyDict>, Vec<Option<String>>);

/// Runs `base` with, for each case, the varied parts that `cases` points to; step responses are kept in the folder `kept`.
#[pyfunction]
#[pyo3(signature = (base, parts, cases, count, loads, years, kept, progress))]
#[allow(clippy::too_many_arguments)]
pub fn run_cases<'py>(
    py: Python<'py>,
    base: &Bound<'py, PyDict>,
    parts: &Bound<'py, PyDict>,
    cases: &Bound<'py, PyDict>,
    count: usize,
    loads: &Bound<'py, PyDict>,
    years: usize,
    kept: Option<PathBuf>,
    progress: Option<&Bound<'py, PyAny>>,
) -> PyResult<Tables<'py>> {
    let base: Design = from_python("Design", base)?;
    let mut designs = vec![base; count];
    for (name, values) in parts {
        let name: String = name.extract()?;
        let which: Vec<usize> = cases.as_any().get_item(&name)?.extract()?;
        match name.as_str() {
            "ground" => place("Ground", &values, &which, &mut designs, |d, part| d.ground = part),
            "ground_side" => {
                place("ground_side", &values, &which, &mut designs, |d, part| d.ground_side = part)
            }
            "fluid" => place("Fluid", &values, &which, &mut designs, |d, part| d.fluid = part),
            "flow" => place("Design", &values, &which, &mut designs, |d, part| d.flow = part),
            "pump_power" => place("Design", &values, &which, &mut designs, |d, part| d.pump_power = part),
            "pump_stops" => place("Design", &values, &which, &mut designs, |d, part| d.pump_stops = part),
            "heat_pump" => place("HeatPump", &values, &which, &mut designs, |d, part| d.heat_pump = part),
            "limits" => place("Limits", &values, &which, &mut designs, |d, part| d.limits = part),
            "start_month" => place("Design", &values, &which, &mut designs, |d, part| d.start_month = part),
            _ => Err(InvalidInput::new_err(("run_cases", "parts", name, "", "must be a field of Design"))),
        }?;
    }
    let loads = loads_from(loads)?;
    let found = watched(py, progress, |watch| {
        let kept = kept.map(KeptResponses::new).transpose()?;
        run_designs(&designs, &loads, years, kept.as_ref(), watch)
    })?;
    tables(py, &found, years)
}

/// Puts into each design the part that its case points to.
fn place<T: DeserializeOwned + Clone>(
    owner: &str,
    values: &Bound<'_, PyAny>,
    which: &[usize],
    designs: &mut [Design],
    put: impl Fn(&mut Design, T),
) -> PyResult<()> {
    let parts: Vec<T> = from_python(owner, values)?;
    if which.len() != designs.len() || which.iter().any(|&part| part >= parts.len()) {
        let allowed = "must point to a part for each case";
        return Err(InvalidInput::new_err(("run_cases", "cases", owner.to_owned(), "", allowed)));
    }
    for (design, &part) in designs.iter_mut().zip(which) {
        put(design, parts[part].clone());
    }
    Ok(())
}

fn tables<'py>(py: Python<'py>, found: &[Case], years: usize) -> PyResult<Tables<'py>> {
    let yearly = PyDict::new(py);
    let column = |name: &str, read: &dyn Fn(&loopdrift::yearly::Year) -> f64| {
        let value = |(case, year): (usize, usize)| {
            found[case].yearly.as_ref().map_or(f64::NAN, |years| read(&years[year]))
        };
        yearly.set_item(name, Array2::from_shape_fn((found.len(), years), value).into_pyarray(py))
    };
    for (name, read) in YEAR_COLUMNS {
        column(name, read)?;
    }
    for (name, read) in COUNT_COLUMNS {
        column(name, &|year| f64::from(read(year)))?;
    }
    let beside: BTreeSet<&str> =
        found.iter().flat_map(|case| &case.yearly_beside).map(|(name, _)| *name).collect();
    for name in beside {
        let value = |(case, year): (usize, usize)| {
            let of_case = found[case].yearly_beside.iter().find(|(known, _)| *known == name);
            of_case.map_or(f64::NAN, |(_, values)| values[year])
        };
        yearly.set_item(name, Array2::from_shape_fn((found.len(), years), value).into_pyarray(py))?;
    }
    let judgements: Vec<_> = found.iter().map(|case| case.judgement).collect();
    let number = |read: fn(&Judgement) -> f64| {
        let values = judgements.iter().map(|judgement| judgement.as_ref().map_or(f64::NAN, read));
        values.collect::<Vec<f64>>().into_pyarray(py)
    };
    let by_case = PyDict::new(py);
    by_case.set_item("margin_K", number(|j| j.margin))?;
    by_case.set_item("deciding_year", number(|j| (j.hour / HOURS_PER_YEAR + 1) as f64))?;
    by_case.set_item("deciding_hour", number(|j| (j.hour % HOURS_PER_YEAR) as f64))?;
    let limits: Vec<&str> =
        judgements.iter().map(|judgement| judgement.map_or("", |judgement| judgement.limit.name())).collect();
    by_case.set_item("deciding_limit", limits)?;
    let failures = found.iter().map(|case| case.yearly.as_ref().err().map(ToString::to_string)).collect();
    Ok((yearly, by_case, failures))
}

/// Value, `(margin, limit, year, hour)` or `None`, number of runs, and why the greatest value can't be run or `None`.
type PySized<T> = (T, Option<(f64, &'static str, usize, usize)>, usize, Option<String>);

/// The least depth, length or spacing with which all limits hold.
#[pyfunction]
#[pyo3(signature = (design, measure, between, resolution, loads, years, progress))]
#[allow(clippy::too_many_arguments)]
pub fn size_measure<'py>(
    py: Python<'py>,
    design: &Bound<'py, PyDict>,
    measure: &str,
    between: (f64, f64),
    resolution: f64,
    loads: &Bound<'py, PyDict>,
    years: usize,
    progress: Option<&Bound<'py, PyAny>>,
) -> PyResult<PySized<f64>> {
    let design: Design = from_python("Design", design)?;
    let loads = loads_from(loads)?;
    let measure = Measure::named(measure).map_err(to_python)?;
    let range = between.0..=between.1;
    watched(py, progress, |watch| least(&design, &loads, years, measure, &range, resolution, watch))
        .map(to_tuple)
}

/// The first of several designs with which all limits hold.
#[pyfunction]
pub fn size_among<'py>(
    py: Python<'py>,
    designs: Vec<Bound<'py, PyDict>>,
    loads: &Bound<'py, PyDict>,
    years: usize,
    progress: Option<&Bound<'py, PyAny>>,
) -> PyResult<PySized<usize>> {
    let designs = designs.iter().map(|design| from_python("Design", design)).collect::<PyResult<Vec<_>>>()?;
    let loads = loads_from(loads)?;
    watched(py, progress, |watch| first_that_holds(&designs, &loads, years, watch)).map(to_tuple)
}

fn to_tuple<T>(sized: Sized<T>) -> PySized<T> {
    let at = |j: Judgement| (j.margin, j.limit.name(), j.hour / HOURS_PER_YEAR + 1, j.hour % HOURS_PER_YEAR);
    (sized.value, sized.judgement.map(at), sized.runs, sized.refusal.map(|error| error.to_string()))
}
