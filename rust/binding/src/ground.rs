//! Responses of the ground.

use loopdrift::ground::{self, Condition, Ground, Lean, LineSource};
use loopdrift::ground_side::{Description, GroundSideKind};
use numpy::IntoPyArray;
use pyo3::prelude::*;

use crate::convert::{Array, Dict, Numbers, Rows, from_python, list, rows, valid};
use crate::error::to_python;
use crate::gate::cancellable;

/// The g-function at each time. Rows of depth, buried depth and radius, and of inclination and direction, are one for
/// all positions or one for each.
#[pyfunction]
pub fn g_function<'py>(
    py: Python<'py>,
    ground: &Dict<'py>,
    sources: Rows<'py>,
    positions: Rows<'py>,
    leans: Rows<'py>,
    times: Numbers<'py>,
    uniform_heat_flux: bool,
) -> PyResult<Array<'py>> {
    let ground: Ground = from_python("Ground", ground)?;
    let sources: Vec<LineSource> = rows::<3>("bores", &sources)?
        .into_iter()
        .map(|[depth, buried_depth, radius]| LineSource { depth, buried_depth, radius })
        .collect();
    let positions = rows::<2>("positions", &positions)?;
    let leans: Vec<Lean> = rows::<2>("leans", &leans)?
        .into_iter()
        .map(|[inclination, direction]| Lean { inclination, direction })
        .collect();
    let times = list(&times);
    let condition =
        if uniform_heat_flux { Condition::UniformHeatFlux } else { Condition::UniformWallTemperature };
    cancellable(py, None, move |token| {
        ground::g_function(&ground, &sources, &positions, &leans, &times, condition, token)
    })
    .map(|values| values.into_pyarray(py))
}

/// Mean temperature of the ground around a loop before any heat is extracted (degC).
#[pyfunction]
pub fn undisturbed(ground_side: &Dict<'_>, ground: &Dict<'_>) -> PyResult<f64> {
    let ground_side = valid("ground_side", ground_side, GroundSideKind::validate)?;
    let ground = valid("Ground", ground, Ground::validate)?;
    Ok(ground_side.undisturbed(&ground))
}

/// Mean response of one finite line source along another of the same depth and buried depth, at each time.
#[pyfunction]
pub fn line_source<'py>(
    py: Python<'py>,
    ground: &Dict<'py>,
    times: Numbers<'py>,
    distance: f64,
    depth: f64,
    buried_depth: f64,
) -> PyResult<Array<'py>> {
    let ground: Ground = from_python("Ground", ground)?;
    let times = list(&times);
    let values = py.detach(|| ground::line_source_at(&ground, &times, distance, depth, buried_depth));
    values.map(|values| values.into_pyarray(py)).map_err(to_python)
}

/// Distance between the closest two positions (m); infinite for one.
#[pyfunction]
pub fn closest(positions: Rows<'_>) -> PyResult<f64> {
    Ok(ground::closest(&rows::<2>("positions", &positions)?))
}
