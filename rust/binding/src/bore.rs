//! Resistances of a bore and its answer in the first hours.

use loopdrift::bore::{Bore, HeatCapacityInside, Resistances, resistances};
use loopdrift::fluid::{Fluid, FluidState};
use loopdrift::ground::Ground;
use numpy::{IntoPyArray, PyArray1, PyReadonlyArray1};
use pyo3::prelude::*;
use pythonize::pythonize;

use crate::convert::from_python;
use crate::error::{InvalidInput, to_python};

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

type Responses<'py> = (Bound<'py, PyArray1<f64>>, Bound<'py, PyArray1<f64>>);

/// p x Laplace{g} of fluid and wall at each p, from that of the ground under line sources.
#[pyfunction]
#[pyo3(signature = (bore, ground, fluid, *, flow, temperature, p, ground_response))]
pub fn bore_first_hours<'py>(
    bore: &Bound<'py, PyAny>,
    ground: &Bound<'py, PyAny>,
    fluid: &Bound<'py, PyAny>,
    flow: f64,
    temperature: f64,
    p: PyReadonlyArray1<'py, f64>,
    ground_response: PyReadonlyArray1<'py, f64>,
) -> PyResult<Responses<'py>> {
    let py = bore.py();
    let (bore, ground, state, resistances) = read(bore, ground, fluid, flow, temperature)?;
    let Some(inside) = HeatCapacityInside::new(&bore, &ground, &state, &resistances) else {
        let allowed = "must be true, in a bore of pipes and grout";
        return Err(InvalidInput::new_err(("Bore", "heat_capacity_inside", "False", "", allowed)));
    };
    let pairs = p.as_array().into_iter().zip(ground_response.as_array());
    let (fluid, wall): (Vec<f64>, Vec<f64>) =
        pairs.map(|(&p, &ground)| <(f64, f64)>::from(inside.fluid_and_wall(p, ground))).unzip();
    Ok((fluid.into_pyarray(py), wall.into_pyarray(py)))
}

fn read(
    bore: &Bound<'_, PyAny>,
    ground: &Bound<'_, PyAny>,
    fluid: &Bound<'_, PyAny>,
    flow: f64,
    temperature: f64,
) -> PyResult<(Bore, Ground, FluidState, Resistances)> {
    let bore: Bore = from_python("Bore", bore)?;
    let ground: Ground = from_python("Ground", ground)?;
    let fluid: Fluid = from_python("Fluid", fluid)?;
    bore.validate().and_then(|()| ground.validate()).and_then(|()| fluid.validate()).map_err(to_python)?;
    let state = fluid.at(temperature);
    let resistances = resistances(&bore, ground.conductivity, &state, flow).map_err(to_python)?;
    Ok((bore, ground, state, resistances))
}
