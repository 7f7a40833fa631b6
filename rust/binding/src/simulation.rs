//! Designs stepped hour by hour: plain numbers in and out.

use std::sync::{Mutex, MutexGuard, PoisonError};

use loopdrift::design::Design;
use loopdrift::simulation::{HourDemand, HourResult, Simulation};
use pyo3::prelude::*;
use pyo3::types::PyDict;

use crate::convert::{Dict, Part};
use crate::error::to_python;
use crate::gate::cancellable;
use crate::loads::PyLoads;

/// A design between two hours.
#[pyclass(frozen, name = "Simulation")]
pub struct PySimulation(Mutex<Simulation>);

/// Heating, cooling, hot water, recharge, heat recovered, other electricity; entering load temperatures in heating and in
/// cooling.
type PyDemand = (f64, f64, f64, f64, f64, f64, Option<f64>, Option<f64>);

/// Entering and leaving fluid; heat extracted; electricity; heating and cooling delivered; back-up heat; unmet cooling.
type PyHour = (f64, f64, f64, f64, f64, f64, f64, f64);

impl PySimulation {
    fn now(&self) -> MutexGuard<'_, Simulation> {
        // A step that panics has changed nothing.
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

#[pymethods]
impl PySimulation {
    #[new]
    fn new(py: Python<'_>, design: Part<Design>, loads: PyLoads, years: usize) -> PyResult<Self> {
        cancellable(py, None, move |token| Simulation::new(design.0, loads.0, years, token))
            .map(|simulation| Self(Mutex::new(simulation)))
    }

    /// Takes an hour.
    fn step(&self, demand: PyDemand) -> PyResult<PyHour> {
        self.now().step(&to_engine(demand)).map(to_tuple).map_err(to_python)
    }

    /// What an hour would give.
    fn outlook(&self, demand: PyDemand) -> PyResult<PyHour> {
        self.now().outlook(&to_engine(demand)).map(to_tuple).map_err(to_python)
    }

    /// A copy that goes its own way.
    fn branch(&self) -> Self {
        Self(Mutex::new(self.now().clone()))
    }

    /// Number of hours that have passed.
    #[getter]
    fn hour(&self) -> usize {
        self.now().hour()
    }

    /// Number of hours of all years.
    #[getter]
    fn hours(&self) -> usize {
        self.now().hours()
    }

    /// The numbers of the state, by name.
    fn state<'py>(&self, py: Python<'py>) -> PyResult<Dict<'py>> {
        let state = PyDict::new(py);
        for (name, values) in self.now().numbers() {
            state.set_item(name, values)?;
        }
        Ok(state)
    }

    /// Goes to the beginning of an hour with the numbers of its state.
    fn restore(&self, hour: usize, state: &Dict<'_>) -> PyResult<()> {
        let state = state.extract()?;
        self.now().restore(hour, &state).map_err(to_python)
    }
}

fn to_engine(demand: PyDemand) -> HourDemand {
    let (
        heating,
        cooling,
        hot_water,
        recharge,
        recovered,
        other_electricity,
        heating_entering_load_temperature,
        cooling_entering_load_temperature,
    ) = demand;
    HourDemand {
        heating,
        cooling,
        hot_water,
        recharge,
        recovered,
        other_electricity,
        heating_entering_load_temperature,
        cooling_entering_load_temperature,
    }
}

fn to_tuple(hour: HourResult) -> PyHour {
    let HourResult {
        entering_fluid,
        leaving_fluid,
        heat_extracted,
        electricity,
        heating,
        cooling,
        backup,
        unmet_cooling,
    } = hour;
    (entering_fluid, leaving_fluid, heat_extracted, electricity, heating, cooling, backup, unmet_cooling)
}
