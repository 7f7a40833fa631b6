//! The engine's schema and validators, by the names that Python uses.

use loopdrift::bore::{Bore, Coaxial, DoubleUTube, Pipe, UTube};
use loopdrift::design::Design;
use loopdrift::fluid::{Fluid, FluidState};
use loopdrift::ground::{Ground, SurfaceWave};
use loopdrift::ground_side::GroundSideKind;
use loopdrift::ground_side::pond::Pond;
use loopdrift::ground_side::trench_field::{Coil, TrenchField};
use loopdrift::ground_side::well::{Aquifer, Well};
use loopdrift::heat_pump::HeatPump;
use loopdrift::limits::Limits;
use loopdrift::loads::BalancePoint;
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
        BalancePoint::OWNER => BalancePoint::infos(),
        Bore::OWNER => Bore::infos(),
        Coil::OWNER => Coil::infos(),
        "ConstantFluid" => [Fluid::infos(), FluidState::infos()].concat(),
        Design::OWNER => Design::infos(),
        DoubleUTube::OWNER => DoubleUTube::infos(),
        Ground::OWNER => Ground::infos(),
        Limits::OWNER => Limits::infos(),
        HeatPump::OWNER => HeatPump::infos(),
        Pipe::OWNER => Pipe::infos(),
        Pond::OWNER => Pond::infos(),
        SurfaceWave::OWNER => SurfaceWave::infos(),
        TrenchField::OWNER => TrenchField::infos(),
        UTube::OWNER => UTube::infos(),
        Well::OWNER => Well::infos(),
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
        "Coil" => from_python::<Coil>(owner, values)?.check_quantities(),
        "Coaxial" => from_python::<Coaxial>(owner, values)?.validate(),
        "DoubleUTube" => from_python::<DoubleUTube>(owner, values)?.validate(),
        "Fluid" => from_python::<Fluid>(owner, values)?.validate(),
        "Ground" => from_python::<Ground>(owner, values)?.validate(),
        "Limits" => from_python::<Limits>(owner, values)?.validate(),
        "Pipe" => from_python::<Pipe>(owner, values)?.validate(),
        "SurfaceWave" => from_python::<SurfaceWave>(owner, values)?.validate(),
        "Pond" | "Well" => from_python::<GroundSideKind>(owner, values)?.validate(),
        "TrenchField" => from_python::<GroundSideKind>(owner, values)?.validate(),
        "UTube" => from_python::<UTube>(owner, values)?.validate(),
        "HeatPump" => from_python::<HeatPump>(owner, values)?.validate(),
        _ => {
            let known = "must be a type of the engine's schema";
            return Err(InvalidInput::new_err(("validate", "owner", owner.to_owned(), "", known)));
        }
    }
    .map_err(to_python)
}
