//! Equations that are called on their own only by tests against outside references.

use loopdrift::bore::HeatCapacityInside;
use loopdrift::fluid::Fluid;
use loopdrift::ground::check_instants;
use loopdrift::ground_side::well::well_function as function_of;
use loopdrift::prepared::pond::outside_film as film_of;
use numpy::IntoPyArray;
use pyo3::prelude::*;

use crate::bore;
use crate::convert::{Array, Dict, Numbers, list, valid};
use crate::error::{InvalidInput, to_python};
use crate::trench;
use crate::water::each;

type Responses<'py> = (Array<'py>, Array<'py>);

/// p x Laplace{g} of fluid and wall at each p, from that of the ground below line sources.
#[pyfunction]
#[pyo3(signature = (bore, ground, fluid, *, flow, temperature, p, ground_response))]
pub fn bore_first_hours<'py>(
    bore: &Bound<'py, PyAny>,
    ground: &Bound<'py, PyAny>,
    fluid: &Bound<'py, PyAny>,
    flow: f64,
    temperature: f64,
    p: Numbers<'py>,
    ground_response: Numbers<'py>,
) -> PyResult<Responses<'py>> {
    let py = bore.py();
    let (bore, ground, state, resistances) = bore::read(bore, ground, fluid, flow, temperature)?;
    let Some(inside) = HeatCapacityInside::new(&bore, &ground, &state, &resistances) else {
        let allowed = "must be true, in a bore of pipes and grout";
        return Err(InvalidInput::new_err(("Bore", "heat_capacity_inside", "False", "", allowed)));
    };
    let pairs = p.as_array().into_iter().zip(ground_response.as_array());
    let (fluid, wall): (Vec<f64>, Vec<f64>) =
        pairs.map(|(&p, &ground)| <(f64, f64)>::from(inside.fluid_and_wall(p, ground))).unzip();
    Ok((fluid.into_pyarray(py), wall.into_pyarray(py)))
}

/// Response of one pipe of a trench to the heat of another, exact in time.
#[pyfunction]
pub fn trench_source<'py>(
    field: &Dict<'py>,
    ground: &Dict<'py>,
    times: Numbers<'py>,
) -> PyResult<Array<'py>> {
    let py = field.py();
    let (field, ground) = trench::read(field, ground)?;
    let times = list(&times);
    check_instants("trench_source", &times).map_err(to_python)?;
    let values: Vec<f64> =
        py.detach(|| times.iter().map(|&time| field.source(&ground, time, [0, 0])).collect());
    Ok(values.into_pyarray(py))
}

/// The well function at each argument above 0.
#[pyfunction]
pub fn well_function(u: Numbers<'_>) -> Array<'_> {
    each(&u, function_of)
}

/// Film coefficient of water around a horizontal pipe.
#[pyfunction]
pub fn outside_film(
    diameter: f64,
    water: &Dict<'_>,
    water_temperature: f64,
    pipe_temperature: f64,
) -> PyResult<f64> {
    let water = valid("Fluid", water, Fluid::validate)?;
    Ok(film_of(diameter, &water, water_temperature, pipe_temperature))
}
