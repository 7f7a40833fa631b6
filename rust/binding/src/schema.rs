//! The engine's schema and validators, by the names that Python uses.

use loopdrift::bore::{Bore, Coaxial, DoubleUTube, Pipe, UTube};
use loopdrift::building::{Building, Opaque, Window};
use loopdrift::design::Design;
use loopdrift::fluid::{Fluid, FluidState};
use loopdrift::ground::{Ground, SurfaceWave};
use loopdrift::ground_side::GroundSideKind;
use loopdrift::ground_side::pond::Pond;
use loopdrift::ground_side::trench_field::{Coil, TrenchField};
use loopdrift::ground_side::well::{Aquifer, Well};
use loopdrift::heat_pump::HeatPump;
use loopdrift::limits::Limits;
use loopdrift::loads::HeatLoss;
use loopdrift::plant::{Distribution, HotWater};
use loopdrift::quantity::Quantified;
use pyo3::prelude::*;
use pyo3::types::PyDict;

use crate::convert::from_python;
use crate::error::{InvalidInput, to_python};

/// Name, unit, least and greatest value of each number of the type `owner`.
#[pyfunction]
pub fn quantities(owner: &str) -> Vec<(&'static str, &'static str, f64, f64)> {
    let infos = match owner {
        Aquifer::OWNER => Aquifer::infos(),
        Bore::OWNER => Bore::infos(),
        Building::OWNER => Building::infos(),
        Coil::OWNER => Coil::infos(),
        "ConstantFluid" => [Fluid::infos(), FluidState::infos()].concat(),
        Design::OWNER => Design::infos(),
        Distribution::OWNER => Distribution::infos(),
        DoubleUTube::OWNER => DoubleUTube::infos(),
        Ground::OWNER => Ground::infos(),
        HeatLoss::OWNER => HeatLoss::infos(),
        Limits::OWNER => Limits::infos(),
        HotWater::OWNER => HotWater::infos(),
        HeatPump::OWNER => HeatPump::infos(),
        Opaque::OWNER => Opaque::infos(),
        Pipe::OWNER => Pipe::infos(),
        Pond::OWNER => Pond::infos(),
        SurfaceWave::OWNER => SurfaceWave::infos(),
        TrenchField::OWNER => TrenchField::infos(),
        UTube::OWNER => UTube::infos(),
        Well::OWNER => Well::infos(),
        Window::OWNER => Window::infos(),
        _ => Vec::new(),
    };
    infos.iter().map(|info| (info.name, info.unit, info.least, info.most)).collect()
}

/// Raises `InvalidInput` unless the engine accepts `values` as the type `owner`.
#[pyfunction]
pub fn validate(owner: &str, values: &Bound<'_, PyDict>) -> PyResult<()> {
    match owner {
        "Aquifer" => from_python::<Aquifer>(owner, values)?.check_quantities(),
        "Bore" => from_python::<Bore>(owner, values)?.validate(),
        "BoreField" => from_python::<GroundSideKind>(owner, values)?.validate(),
        "Building" => from_python::<Building>(owner, values)?.validate(),
        "Coil" => from_python::<Coil>(owner, values)?.check_quantities(),
        "Coaxial" => from_python::<Coaxial>(owner, values)?.validate(),
        "DoubleUTube" => from_python::<DoubleUTube>(owner, values)?.validate(),
        "Fluid" => from_python::<Fluid>(owner, values)?.validate(),
        // The weather goes with loads, which are not here.
        "Distribution" => from_python::<Distribution>(owner, values)?.validate(0),
        "HotWater" => from_python::<HotWater>(owner, values)?.validate(),
        "Ground" => from_python::<Ground>(owner, values)?.validate(),
        "Limits" => from_python::<Limits>(owner, values)?.validate(),
        "Opaque" => from_python::<Opaque>(owner, values)?.check_quantities(),
        "Pipe" => from_python::<Pipe>(owner, values)?.validate(),
        "SurfaceWave" => from_python::<SurfaceWave>(owner, values)?.validate(),
        "Pond" | "Well" => from_python::<GroundSideKind>(owner, values)?.validate(),
        "TrenchField" => from_python::<GroundSideKind>(owner, values)?.validate(),
        "UTube" => from_python::<UTube>(owner, values)?.validate(),
        "Window" => from_python::<Window>(owner, values)?.check_quantities(),
        "HeatPump" => from_python::<HeatPump>(owner, values)?.validate(),
        _ => {
            let known = "must be a type of the engine's schema";
            return Err(InvalidInput::new_err(("validate", "owner", owner.to_owned(), "", known)));
        }
    }
    .map_err(to_python)
}
