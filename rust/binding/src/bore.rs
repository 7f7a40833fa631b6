//! Resistances of bores and pipes.

use loopdrift::bore::{
    self, Bore, Pipe, PipeResistance, Resistances, pipe_resistance as resistance_of, resistances,
};
use loopdrift::fluid::{Fluid, FluidState};
use loopdrift::ground::Ground;
use loopdrift::prepared::bore_field::single_bore;
use pyo3::prelude::*;

use crate::convert::{Numbers, Part, Valid};
use crate::error::to_python;

/// Local, internal and effective resistance and the flow, as a dictionary.
#[pyfunction]
#[pyo3(signature = (bore, ground, fluid, *, flow, temperature))]
pub fn bore_resistances(
    bore: Valid<Bore>,
    ground: Valid<Ground>,
    fluid: Valid<Fluid>,
    flow: f64,
    temperature: f64,
) -> PyResult<Part<Resistances>> {
    state_and_resistances(&bore.0, &ground.0, &fluid.0, flow, temperature).map(|(_, found)| Part(found))
}

/// Step responses of the mean fluid and of the wall of a single bore at each time.
#[pyfunction]
#[pyo3(signature = (bore, ground, fluid, *, flow, temperature, times))]
pub fn bore_response(
    py: Python<'_>,
    bore: Valid<Bore>,
    ground: Valid<Ground>,
    fluid: Valid<Fluid>,
    flow: f64,
    temperature: f64,
    times: Numbers,
) -> PyResult<(Numbers, Numbers)> {
    let found = py.detach(|| single_bore(&bore.0, &ground.0, &fluid.0, flow, temperature, &times.0));
    found.map(|[fluid, wall]| (Numbers(fluid), Numbers(wall))).map_err(to_python)
}

/// Resistance of one metre of a pipe and the flow inside, as a dictionary.
#[pyfunction]
pub fn pipe_resistance(
    pipe: Valid<Pipe>,
    fluid: Valid<Fluid>,
    flow: f64,
    temperature: f64,
) -> PyResult<Part<PipeResistance>> {
    resistance_of(&pipe.0, &fluid.0.at(temperature), flow).map(Part).map_err(to_python)
}

/// Factor that turns the Reynolds number of an annulus into that of a pipe with the same friction.
#[pyfunction]
pub fn annulus_shape(ratio: f64) -> f64 {
    bore::annulus_shape(ratio)
}

/// The fluid at a temperature, and the resistances of a bore through which it flows.
pub fn state_and_resistances(
    bore: &Bore,
    ground: &Ground,
    fluid: &Fluid,
    flow: f64,
    temperature: f64,
) -> PyResult<(FluidState, Resistances)> {
    let state = fluid.at(temperature);
    let found = resistances(bore, ground.conductivity, &state, flow).map_err(to_python)?;
    Ok((state, found))
}
