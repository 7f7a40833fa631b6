//! Studies: parts and which case has which in, yearly columns by case out; and sizing.

use std::collections::BTreeSet;
use std::path::PathBuf;

use loopdrift::design::Design;
use loopdrift::ground::KeptResponses;
use loopdrift::judgement::Criterion;
use loopdrift::study::{Case, Measure, Sized, first_that_holds, least, run_cases as run_designs};
use numpy::IntoPyArray;
use numpy::ndarray::Array2;
use pyo3::prelude::*;
use pyo3::types::PyDict;
use serde::de::DeserializeOwned;

use crate::convert::from_python;
use crate::error::{InvalidInput, to_python};
use crate::gate::watched;
use crate::judgement::judgement_to_python;
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
    let found = watched(py, progress, move |watch| {
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
    let broken = |(case, year): (usize, usize)| {
        let Case { yearly, judgement, .. } = &found[case];
        let judgement = judgement.as_ref().filter(|_| yearly.is_ok());
        judgement.map_or(f64::NAN, |judgement| judgement.broken_in(year) as f64)
    };
    yearly.set_item("limits_broken", Array2::from_shape_fn((found.len(), years), broken).into_pyarray(py))?;
    let beside: BTreeSet<&str> =
        found.iter().flat_map(|case| &case.yearly_beside).map(|(name, _)| *name).collect();
    for name in beside {
        let value = |(case, year): (usize, usize)| {
            let of_case = found[case].yearly_beside.iter().find(|(known, _)| *known == name);
            of_case.map_or(f64::NAN, |(_, values)| values[year])
        };
        yearly.set_item(name, Array2::from_shape_fn((found.len(), years), value).into_pyarray(py))?;
    }
    let deciding: Vec<_> =
        found.iter().map(|case| case.judgement.as_ref().and_then(|judgement| judgement.deciding())).collect();
    let number = |read: fn(&Criterion) -> f64| {
        let values = deciding.iter().map(|criterion| criterion.map_or(f64::NAN, read));
        values.collect::<Vec<f64>>().into_pyarray(py)
    };
    let by_case = PyDict::new(py);
    by_case.set_item("margin_K", number(Criterion::rank))?;
    by_case.set_item("deciding_year", number(|c| (c.when.year() + 1) as f64))?;
    by_case.set_item("deciding_hour", number(|c| c.when.hour().map_or(f64::NAN, |hour| hour as f64)))?;
    let limits: Vec<&str> =
        deciding.iter().map(|criterion| criterion.map_or("", |criterion| criterion.name)).collect();
    by_case.set_item("deciding_limit", limits)?;
    let failures = found.iter().map(|case| case.yearly.as_ref().err().map(ToString::to_string)).collect();
    Ok((yearly, by_case, failures))
}

/// Value, judgement, number of runs, and why the greatest value can't be run or `None`.
type PySized<'py, T> = (T, Bound<'py, PyDict>, usize, Option<String>);

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
) -> PyResult<PySized<'py, f64>> {
    let design: Design = from_python("Design", design)?;
    let loads = loads_from(loads)?;
    let measure = Measure::named(measure).map_err(to_python)?;
    let range = between.0..=between.1;
    let sized = watched(py, progress, move |watch| {
        least(&design, &loads, years, measure, &range, resolution, watch)
    })?;
    to_tuple(py, sized)
}

/// The first of several designs with which all limits hold.
#[pyfunction]
pub fn size_among<'py>(
    py: Python<'py>,
    designs: Vec<Bound<'py, PyDict>>,
    loads: &Bound<'py, PyDict>,
    years: usize,
    progress: Option<&Bound<'py, PyAny>>,
) -> PyResult<PySized<'py, usize>> {
    let designs = designs.iter().map(|design| from_python("Design", design)).collect::<PyResult<Vec<_>>>()?;
    let loads = loads_from(loads)?;
    let sized = watched(py, progress, move |watch| first_that_holds(&designs, &loads, years, watch))?;
    to_tuple(py, sized)
}

fn to_tuple<T>(py: Python<'_>, sized: Sized<T>) -> PyResult<PySized<'_, T>> {
    let judgement = judgement_to_python(py, &sized.judgement)?;
    Ok((sized.value, judgement, sized.runs, sized.refusal.map(|error| error.to_string())))
}
