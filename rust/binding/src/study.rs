//! Studies: parts and the parts used by each case in, yearly columns by case out; and sizing.

use std::path::PathBuf;

use loopdrift::Error;
use loopdrift::column::Column;
use loopdrift::design::Design;
use loopdrift::ground::ResponseCache;
use loopdrift::ground_side::Measure;
use loopdrift::heat_pump::{Demands, Scales};
use loopdrift::loads::Loads;
use loopdrift::study::{
    Case, Sized, deciding_columns, first_that_holds, least, run_cases as run_designs, yearly_columns,
};
use pyo3::exceptions::PyBaseException;
use pyo3::prelude::*;
use pyo3::types::PyDict;
use serde::de::DeserializeOwned;

use crate::convert::{Dict, by_name, from_python, table};
use crate::error::{InvalidInput, exception, to_python};
use crate::gate::cancellable;
use crate::judgement::judgement_to_python;
use crate::loads::loads_from;

/// Yearly columns of shape (cases, years), NaN in years that a case doesn't reach; columns with one entry per case; and
/// the error of each failed case.
type Tables<'py> = (Dict<'py>, Dict<'py>, Vec<Option<Py<PyBaseException>>>);

/// Runs `base` once per case with the varied parts that `cases` refers to; step responses are stored in the folder
/// `kept`. A demand is an index in `loads` and factors by the names of series; `demand_of_case` refers to it.
#[pyfunction]
#[allow(clippy::too_many_arguments)]
pub fn run_cases<'py>(
    py: Python<'py>,
    base: &Dict<'py>,
    parts: &Dict<'py>,
    cases: &Dict<'py>,
    loads: Vec<Dict<'py>>,
    demands: &Bound<'py, PyAny>,
    demand_of_case: Vec<usize>,
    years: usize,
    kept: Option<PathBuf>,
    progress: Option<&Bound<'py, PyAny>>,
) -> PyResult<Tables<'py>> {
    let base: Design = from_python("Design", base)?;
    let mut designs = vec![base; demand_of_case.len()];
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
    let loads = loads.iter().map(loads_from).collect::<PyResult<Vec<_>>>()?;
    let demands: Vec<(usize, Scales)> = from_python("demands", demands)?;
    let exists = |&(place, _): &(usize, Scales)| place < loads.len();
    if !demands.iter().all(exists) || demand_of_case.iter().any(|&demand| demand >= demands.len()) {
        let allowed = "must have the index of loads for each demand, and of a demand for each case";
        return Err(InvalidInput::new_err(("run_cases", "demands", "an index", "", allowed)));
    }
    let found = cancellable(py, progress, move |token| {
        let kept = kept.map(ResponseCache::new).transpose()?;
        let demands = scaled(&loads, &demands)?;
        let of_cases: Vec<Demands> = demand_of_case.iter().map(|&demand| demands[demand]).collect();
        run_designs(&designs, &of_cases, years, kept.as_ref(), token).map(|cases| Found::of(cases, years))
    })?;
    found.into_tables(py, years)
}

/// Results of cases in columns, made without the interpreter lock.
struct Found {
    yearly: Vec<Column>,
    by_case: [Column; 3],
    deciding_limits: Vec<&'static str>,
    failures: Vec<Option<Error>>,
}

impl Found {
    fn of(cases: Vec<Case>, years: usize) -> Self {
        let deciding = cases.iter().map(|case| case.judgement.as_ref()?.deciding());
        Self {
            yearly: yearly_columns(&cases, years),
            by_case: deciding_columns(&cases),
            deciding_limits: deciding.map(|it| it.map_or("", |criterion| criterion.name)).collect(),
            failures: cases.into_iter().map(|case| case.failure).collect(),
        }
    }

    fn into_tables(self, py: Python<'_>, years: usize) -> PyResult<Tables<'_>> {
        let yearly = PyDict::new(py);
        for (name, values) in self.yearly {
            yearly.set_item(name, table(py, (self.failures.len(), years), values)?)?;
        }
        let by_case = by_name(py, self.by_case)?;
        by_case.set_item("deciding_limit", self.deciding_limits)?;
        let exceptions = self.failures.into_iter().map(|error| error.map(|error| exception(py, error)));
        Ok((yearly, by_case, exceptions.collect()))
    }
}

/// Loads times factors; equal loads become the same, so that their cases step together as fast as can be.
fn scaled<'a>(loads: &'a [Loads], demands: &[(usize, Scales)]) -> Result<Vec<Demands<'a>>, Error> {
    let first_equal = |place: usize| loads.iter().find(|&other| *other == loads[place]);
    let same: Vec<&Loads> = (0..loads.len()).filter_map(first_equal).collect();
    demands.iter().map(|&(place, scales)| Demands::scaled(same[place], scales)).collect()
}

/// Puts into each design the parts that its case refers to.
fn place<T: DeserializeOwned + Clone>(
    owner: &str,
    values: &Bound<'_, PyAny>,
    which: &[usize],
    designs: &mut [Design],
    put: impl Fn(&mut Design, T),
) -> PyResult<()> {
    let parts: Vec<T> = from_python(owner, values)?;
    if which.len() != designs.len() || which.iter().any(|&part| part >= parts.len()) {
        let allowed = "must have the index of a part for each case";
        return Err(InvalidInput::new_err(("run_cases", "cases", owner.to_owned(), "", allowed)));
    }
    for (design, &part) in designs.iter_mut().zip(which) {
        put(design, parts[part].clone());
    }
    Ok(())
}

/// Value, judgement, number of runs, and the error of the greatest value if it can't be run.
type PySized<'py, T> = (T, Dict<'py>, usize, Option<Py<PyBaseException>>);

/// The smallest depth, length or spacing for which all limits hold.
#[pyfunction]
#[allow(clippy::too_many_arguments)]
pub fn size_measure<'py>(
    py: Python<'py>,
    design: &Dict<'py>,
    measure: &str,
    between: (f64, f64),
    resolution: f64,
    loads: &Dict<'py>,
    years: usize,
    progress: Option<&Bound<'py, PyAny>>,
) -> PyResult<PySized<'py, f64>> {
    let design: Design = from_python("Design", design)?;
    let loads = loads_from(loads)?;
    let measure = Measure::named(measure).map_err(to_python)?;
    let range = between.0..=between.1;
    let sized = cancellable(py, progress, move |token| {
        least(&design, &loads, years, measure, &range, resolution, token)
    })?;
    to_tuple(py, sized)
}

/// The first of several designs for which all limits hold.
#[pyfunction]
pub fn size_among<'py>(
    py: Python<'py>,
    designs: Vec<Dict<'py>>,
    loads: &Dict<'py>,
    years: usize,
    progress: Option<&Bound<'py, PyAny>>,
) -> PyResult<PySized<'py, usize>> {
    let designs = designs.iter().map(|design| from_python("Design", design)).collect::<PyResult<Vec<_>>>()?;
    let loads = loads_from(loads)?;
    let sized = cancellable(py, progress, move |token| first_that_holds(&designs, &loads, years, token))?;
    to_tuple(py, sized)
}

fn to_tuple<T>(py: Python<'_>, sized: Sized<T>) -> PyResult<PySized<'_, T>> {
    let judgement = judgement_to_python(py, &sized.judgement)?;
    Ok((sized.value, judgement, sized.runs, sized.refusal.map(|error| exception(py, error))))
}
