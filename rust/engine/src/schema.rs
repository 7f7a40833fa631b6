//! The types of a design by their names in Python and the design file: their numbers and their validators.

use serde::{Deserialize, Deserializer};

use crate::bore::{Bore, Coaxial, DoubleUTube, Pipe, UTube};
use crate::building::{Building, Opaque, Window};
use crate::design::Design;
use crate::error::Error;
use crate::fluid::{Fluid, FluidState};
use crate::ground::{Ground, SurfaceWave, Warming};
use crate::ground_side::pond::Pond;
use crate::ground_side::trench_field::{Coil, TrenchField};
use crate::ground_side::well::{Aquifer, Well};
use crate::ground_side::{Description, GroundSideKind};
use crate::heat_pump::HeatPump;
use crate::limits::Limits;
use crate::loads::HeatLoss;
use crate::plant::{AirDistribution, Distribution, HotWater, WaterDistribution};
use crate::quantity::{Quantified, QuantityInfo};

/// The numbers of the type `owner`; empty if it has none or no such type exists.
#[must_use]
pub fn quantities(owner: &str) -> Vec<QuantityInfo> {
    match owner {
        AirDistribution::OWNER => AirDistribution::infos(),
        Aquifer::OWNER => Aquifer::infos(),
        Bore::OWNER => Bore::infos(),
        Building::OWNER => Building::infos(),
        Coil::OWNER => Coil::infos(),
        "ConstantFluid" => [Fluid::infos(), FluidState::infos()].concat(),
        Design::OWNER => Design::infos(),
        DoubleUTube::OWNER => DoubleUTube::infos(),
        Ground::OWNER => Ground::infos(),
        HeatLoss::OWNER => HeatLoss::infos(),
        HeatPump::OWNER => HeatPump::infos(),
        HotWater::OWNER => HotWater::infos(),
        Limits::OWNER => Limits::infos(),
        Opaque::OWNER => Opaque::infos(),
        Pipe::OWNER => Pipe::infos(),
        Pond::OWNER => Pond::infos(),
        SurfaceWave::OWNER => SurfaceWave::infos(),
        TrenchField::OWNER => TrenchField::infos(),
        UTube::OWNER => UTube::infos(),
        Warming::OWNER => Warming::infos(),
        WaterDistribution::OWNER => WaterDistribution::infos(),
        Well::OWNER => Well::infos(),
        Window::OWNER => Window::infos(),
        _ => Vec::new(),
    }
}

/// Reads `values` as the type `owner` and returns the result of its validator.
///
/// # Errors
/// Those of the deserializer, if `values` are not of that type.
pub fn validate<'de, D: Deserializer<'de>>(owner: &str, values: D) -> Result<Result<(), Error>, D::Error> {
    match owner {
        "Aquifer" => checked(values, Aquifer::check_quantities),
        "Bore" => checked(values, Bore::validate),
        "BoreField" | "TrenchField" | "Pond" | "Well" => checked(values, GroundSideKind::validate),
        "Building" => checked(values, Building::validate),
        "Coaxial" => checked(values, Coaxial::validate),
        "Coil" => checked(values, Coil::check_quantities),
        // The outdoor temperatures must match the loads, which are not available here.
        "AirDistribution" | "WaterDistribution" => checked(values, |each: &Distribution| each.validate(0)),
        "DoubleUTube" => checked(values, DoubleUTube::validate),
        "Fluid" => checked(values, Fluid::validate),
        "Ground" => checked(values, Ground::validate),
        "HeatPump" => checked(values, HeatPump::validate),
        "HotWater" => checked(values, HotWater::validate),
        "Limits" => checked(values, Limits::validate),
        "Opaque" => checked(values, Opaque::check_quantities),
        "Pipe" => checked(values, Pipe::validate),
        "SurfaceWave" => checked(values, SurfaceWave::validate),
        "UTube" => checked(values, UTube::validate),
        "Warming" => checked(values, Warming::validate),
        "Window" => checked(values, Window::check_quantities),
        _ => Ok(Err(Error::invalid("validate", "owner", owner, "", "must be a type of the engine's schema"))),
    }
}

fn checked<'de, T: Deserialize<'de>, D: Deserializer<'de>>(
    values: D,
    check: impl Fn(&T) -> Result<(), Error>,
) -> Result<Result<(), Error>, D::Error> {
    T::deserialize(values).map(|part| check(&part))
}
