//! Studies: parts and the parts used by each case in, yearly columns by case out; and sizing.

use std::path::PathBuf;

use loopdrift::Error;
use loopdrift::design::Design;
use loopdrift::ground::ResponseCache;
use loopdrift::ground_side::Measure;
use loopdrift::heat_pump::{Demands, Scales};
use loopdrift::judgement::Judgement;
use loopdrift::loads::HOURS_PER_YEAR;
use loopdrift::study::{
    Case, CaseTable, Sized, first_that_holds, least, run_cases as run_designs,
    run_neighbours as run_neighbouring,
};
use pyo3::exceptions::PyBaseException;
use pyo3::prelude::*;
use pyo3::types::PyDict;
use serde::de::DeserializeOwned;

use crate::convert::{Columns, Dict, Part, Table};
use crate::error::{InvalidInput, exception, to_python};
use crate::gate::cancellable;
use crate::loads::PyLoads;

/// Yearly columns of shape (cases, years), NaN in years that a case doesn't reach; columns with one entry per case; and
/// the error of each failed case.
type Tables<'py> = (Dict<'py>, Dict<'py>, Vec<Option<Py<PyBaseException>>>);

/// Runs `base` once per case with the varied parts that `cases` refers to; step responses are stored in the folder
/// `kept`. A demand is an index in `loads` and factors by the names of series; `demand_of_case` refers to it.
#[pyfunction]
#[allow(clippy::too_many_arguments)]
pub fn run_cases<'py>(
    py: Python<'py>,
    base: Part<Design>,
    parts: &Dict<'py>,
    cases: &Dict<'py>,
    loads: Vec<PyLoads>,
    demands: Vec<(usize, Part<Scales>)>,
    demand_of_case: Vec<usize>,
    years: usize,
    kept: Option<PathBuf>,
    progress: Option<&Bound<'py, PyAny>>,
) -> PyResult<Tables<'py>> {
    let cases = Cases::new(base.0, parts, cases, loads, demands, demand_of_case)?;
    let table = cancellable(py, progress, move |token| {
        let kept = kept.map(ResponseCache::new).transpose()?;
        let run = |designs: &[Design], demands: &[Demands]| {
            run_designs(designs, demands, years, kept.as_ref(), token)
        };
        cases.run(run).map(|cases| CaseTable::of(cases, years))
    })?;
    tables(py, table, years)
}

/// The same for neighbours, with their mean heat in each interval of `heat_interval` hours (W): one row per case, NaN for
/// those that can't be run.
#[pyfunction]
#[allow(clippy::too_many_arguments)]
pub fn run_neighbours<'py>(
    py: Python<'py>,
    base: Part<Design>,
    parts: &Dict<'py>,
    cases: &Dict<'py>,
    loads: Vec<PyLoads>,
    demands: Vec<(usize, Part<Scales>)>,
    demand_of_case: Vec<usize>,
    years: usize,
    heat_interval: usize,
    progress: Option<&Bound<'py, PyAny>>,
) -> PyResult<(Tables<'py>, Table)> {
    let cases = Cases::new(base.0, parts, cases, loads, demands, demand_of_case)?;
    let (table, heat) = cancellable(py, progress, move |token| {
        let run = |designs: &[Design], demands: &[Demands]| {
            run_neighbouring(designs, demands, years, heat_interval, None, token)
        };
        let cases = cases.run(run)?;
        let intervals = years * HOURS_PER_YEAR / heat_interval;
        let row = |case: &Case| {
            let mut heat = case.mean_heat.clone();
            heat.resize(intervals, f64::NAN);
            heat
        };
        let heat = Table(intervals, cases.iter().flat_map(row).collect());
        Ok((CaseTable::of(cases, years), heat))
    })?;
    Ok((tables(py, table, years)?, heat))
}

fn tables(py: Python<'_>, table: CaseTable, years: usize) -> PyResult<Tables<'_>> {
    let yearly = PyDict::new(py);
    table.yearly.into_iter().try_for_each(|(name, values)| yearly.set_item(name, Table(years, values)))?;
    let by_case = Columns(table.deciding.into()).into_pyobject(py)?;
    by_case.set_item("deciding_limit", table.deciding_names)?;
    let exceptions = table.failures.into_iter().map(|error| error.map(|error| exception(py, error)));
    Ok((yearly, by_case, exceptions.collect()))
}

/// The designs of cases and their demands: each case has the index of a demand, and each demand that of loads.
struct Cases {
    designs: Vec<Design>,
    loads: Vec<PyLoads>,
    demands: Vec<(usize, Part<Scales>)>,
    demand_of_case: Vec<usize>,
}

impl Cases {
    /// `base` with the varied parts to which `cases` refers.
    fn new(
        base: Design,
        parts: &Dict<'_>,
        cases: &Dict<'_>,
        loads: Vec<PyLoads>,
        demands: Vec<(usize, Part<Scales>)>,
        demand_of_case: Vec<usize>,
    ) -> PyResult<Self> {
        let mut designs = vec![base; demand_of_case.len()];
        for (name, values) in parts {
            let name: String = name.extract()?;
            let which: Vec<usize> = cases.as_any().get_item(&name)?.extract()?;
            let owner = name.as_str();
            macro_rules! place_fields {
                ($($field:ident)*) => { match owner {
                    $(stringify!($field) => place(owner, &values, &which, &mut designs, |d, part| d.$field = part),)*
                    _ => Err(invalid("parts", owner, "must be a field of Design")),
                } };
            }
            place_fields!(ground ground_side fluid flow pump_power pump_stops heat_pump limits start_month)?;
        }
        let exists = |(place, _): &(usize, Part<Scales>)| *place < loads.len();
        if !demands.iter().all(exists) || demand_of_case.iter().any(|&demand| demand >= demands.len()) {
            let allowed = "must be one of loads for each demand, and of a demand for each case";
            return Err(invalid("demands", "an index", allowed));
        }
        Ok(Self { designs, loads, demands, demand_of_case })
    }

    fn run(
        self,
        run: impl FnOnce(&[Design], &[Demands]) -> Result<Vec<Case>, Error>,
    ) -> Result<Vec<Case>, Error> {
        let demands = scaled(&self.loads, self.demands)?;
        let of_cases: Vec<Demands> = self.demand_of_case.iter().map(|&demand| demands[demand]).collect();
        run(&self.designs, &of_cases)
    }
}

fn invalid(field: &'static str, value: &str, allowed: &'static str) -> PyErr {
    InvalidInput::new_err(("run_cases", field, value.to_owned(), "", allowed))
}

/// Loads times factors; equal loads become the same, so that their cases step together as fast as can be.
fn scaled(loads: &[PyLoads], demands: Vec<(usize, Part<Scales>)>) -> Result<Vec<Demands<'_>>, Error> {
    let first_equal = |one: &PyLoads| loads.iter().find(|other| other.0 == one.0);
    let same: Vec<_> = loads.iter().filter_map(first_equal).collect();
    demands.into_iter().map(|(place, scales)| Demands::scaled(&same[place].0, scales.0)).collect()
}

/// Puts into each design the parts that its case refers to.
fn place<T: DeserializeOwned + Clone>(
    field: &str,
    values: &Bound<'_, PyAny>,
    which: &[usize],
    designs: &mut [Design],
    put: impl Fn(&mut Design, T),
) -> PyResult<()> {
    let parts: Vec<Part<T>> = values.extract()?;
    if which.len() != designs.len() || which.iter().any(|&part| part >= parts.len()) {
        return Err(invalid("cases", field, "must have the index of a part for each case"));
    }
    for (design, &part) in designs.iter_mut().zip(which) {
        put(design, parts[part].0.clone());
    }
    Ok(())
}

/// Value, judgement, number of runs, and the error of the greatest value if it can't be run.
type PySized<T> = (T, Part<Judgement>, usize, Option<Py<PyBaseException>>);

/// The smallest depth, length or spacing for which all limits hold.
#[pyfunction]
#[allow(clippy::too_many_arguments)]
pub fn size_measure<'py>(
    py: Python<'py>,
    design: Part<Design>,
    measure: &str,
    between: (f64, f64),
    resolution: f64,
    loads: PyLoads,
    years: usize,
    progress: Option<&Bound<'py, PyAny>>,
) -> PyResult<PySized<f64>> {
    let measure = Measure::named(measure).map_err(to_python)?;
    let range = between.0..=between.1;
    let sized = cancellable(py, progress, move |token| {
        least(&design.0, &loads.0, years, measure, &range, resolution, token)
    })?;
    Ok(to_tuple(py, sized))
}

/// The first of several designs for which all limits hold.
#[pyfunction]
pub fn size_among<'py>(
    py: Python<'py>,
    designs: Vec<Part<Design>>,
    loads: PyLoads,
    years: usize,
    progress: Option<&Bound<'py, PyAny>>,
) -> PyResult<PySized<usize>> {
    let designs: Vec<Design> = designs.into_iter().map(|design| design.0).collect();
    let sized = cancellable(py, progress, move |token| first_that_holds(&designs, &loads.0, years, token))?;
    Ok(to_tuple(py, sized))
}

fn to_tuple<T>(py: Python<'_>, sized: Sized<T>) -> PySized<T> {
    let Sized { value, judgement, runs, refusal } = sized;
    (value, Part(judgement), runs, refusal.map(|error| exception(py, error)))
}
