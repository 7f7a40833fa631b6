//! Responses of the ground.

use loopdrift::ground::{self, Condition, Ground, Lean, LineSource, Warming};
use loopdrift::ground_side::{Description, GroundSideKind};
use pyo3::prelude::*;

use crate::convert::{Numbers, Part, Rows, Valid};
use crate::error::to_python;
use crate::gate::cancellable;

/// The g-function at each time. Rows of depth, buried depth and radius, and of inclination and direction, are one for
/// all positions or one for each.
#[pyfunction]
pub fn g_function(
    py: Python<'_>,
    ground: Part<Ground>,
    sources: Rows<3>,
    positions: Rows<2>,
    leans: Rows<2>,
    times: Numbers,
    uniform_heat_flux: bool,
) -> PyResult<Numbers> {
    let source = |[depth, buried_depth, radius]: [f64; 3]| LineSource { depth, buried_depth, radius };
    let lean = |[inclination, direction]: [f64; 2]| Lean { inclination, direction };
    let sources: Vec<LineSource> = sources.0.into_iter().map(source).collect();
    let leans: Vec<Lean> = leans.0.into_iter().map(lean).collect();
    let condition =
        if uniform_heat_flux { Condition::UniformHeatFlux } else { Condition::UniformWallTemperature };
    cancellable(py, None, move |token| {
        ground::g_function(&ground.0, &sources, &positions.0, &leans, &times.0, condition, token).map(Numbers)
    })
}

/// Mean temperature of the ground around a loop before any heat is extracted (degC).
#[pyfunction]
pub fn undisturbed(ground_side: Valid<GroundSideKind>, ground: Valid<Ground>) -> f64 {
    ground_side.0.undisturbed(&ground.0)
}

/// Velocity at which groundwater carries heat along, to the east and to the north (m/s).
#[pyfunction]
pub fn thermal_velocity(ground: Valid<Ground>) -> [f64; 2] {
    ground.0.thermal_velocity()
}

/// Change of the undisturbed temperature at each time since the start of a run (h), in K.
#[pyfunction]
pub fn warming_at(warming: Valid<Warming>, times: Numbers) -> Numbers {
    Numbers(times.0.iter().map(|&time| warming.0.at(time)).collect())
}

/// Mean response of one finite line source along another of the same depth and buried depth, at each time.
#[pyfunction]
pub fn line_source(
    py: Python<'_>,
    ground: Part<Ground>,
    times: Numbers,
    distance: f64,
    depth: f64,
    buried_depth: f64,
) -> PyResult<Numbers> {
    let values = py.detach(|| ground::line_source_at(&ground.0, &times.0, distance, depth, buried_depth));
    values.map(Numbers).map_err(to_python)
}

/// Distance between the closest two positions (m); infinite for one.
#[pyfunction]
pub fn closest(positions: Rows<2>) -> f64 {
    ground::closest(&positions.0)
}
