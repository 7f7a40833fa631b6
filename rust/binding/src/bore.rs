//! Resistances of bores and pipes.

use loopdrift::bore::{self, Bore, Pipe, Resistances, pipe_resistance as resistance_of, resistances};
use loopdrift::fluid::{Fluid, FluidState};
use loopdrift::ground::Ground;
use loopdrift::prepared::bore_field::single_bore;
use numpy::IntoPyArray;
use pyo3::prelude::*;
use pythonize::pythonize;

use crate::convert::{Array, Numbers, list, valid};
use crate::error::to_python;

/// Local, internal and effective resistance and the flow, as a dictionary.
#[pyfunction]
#[pyo3(signature = (bore, ground, fluid, *, flow, temperature))]
pub fn bore_resistances<'py>(
    bore: &Bound<'py, PyAny>,
    ground: &Bound<'py, PyAny>,
    fluid: &Bound<'py, PyAny>,
    flow: f64,
    temperature: f64,
) -> PyResult<Bound<'py, PyAny>> {
    let (_, _, _, resistances) = read(bore, ground, fluid, flow, temperature)?;
    Ok(pythonize(bore.py(), &resistances)?)
}

/// Step responses of the mean fluid and of the wall of a single bore at each time.
#[pyfunction]
#[pyo3(signature = (bore, ground, fluid, *, flow, temperature, times))]
pub fn bore_response<'py>(
    bore: &Bound<'py, PyAny>,
    ground: &Bound<'py, PyAny>,
    fluid: &Bound<'py, PyAny>,
    flow: f64,
    temperature: f64,
    times: Numbers<'py>,
) -> PyResult<(Array<'py>, Array<'py>)> {
    let py = bore.py();
    let bore = valid("Bore", bore, Bore::validate)?;
    let ground = valid("Ground", ground, Ground::validate)?;
    let fluid = valid("Fluid", fluid, Fluid::validate)?;
    let times = list(&times);
    let found = py.detach(|| single_bore(&bore, &ground, &fluid, flow, temperature, &times));
    let [fluid, wall] = found.map_err(to_python)?;
    Ok((fluid.into_pyarray(py), wall.into_pyarray(py)))
}

/// Resistance of one metre of a pipe and the flow inside, as a dictionary.
#[pyfunction]
pub fn pipe_resistance<'py>(
    pipe: &Bound<'py, PyAny>,
    fluid: &Bound<'py, PyAny>,
    flow: f64,
    temperature: f64,
) -> PyResult<Bound<'py, PyAny>> {
    let pipe_read = valid("Pipe", pipe, Pipe::validate)?;
    let fluid = valid("Fluid", fluid, Fluid::validate)?;
    let found = resistance_of(&pipe_read, &fluid.at(temperature), flow).map_err(to_python)?;
    Ok(pythonize(pipe.py(), &found)?)
}

/// Factor that turns the Reynolds number of an annulus into that of a pipe with the same friction.
#[pyfunction]
pub fn annulus_shape(ratio: f64) -> f64 {
    bore::annulus_shape(ratio)
}

pub fn read(
    bore: &Bound<'_, PyAny>,
    ground: &Bound<'_, PyAny>,
    fluid: &Bound<'_, PyAny>,
    flow: f64,
    temperature: f64,
) -> PyResult<(Bore, Ground, FluidState, Resistances)> {
    let bore = valid("Bore", bore, Bore::validate)?;
    let ground = valid("Ground", ground, Ground::validate)?;
    let state = valid("Fluid", fluid, Fluid::validate)?.at(temperature);
    let resistances = resistances(&bore, ground.conductivity, &state, flow).map_err(to_python)?;
    Ok((bore, ground, state, resistances))
}
