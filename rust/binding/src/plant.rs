//! From room and hot water loads to heat pump loads.

use loopdrift::heat_pump::HeatPump;
use loopdrift::plant::Plant;
use pyo3::prelude::*;

use crate::convert::{Columns, Numbers, Part};
use crate::error::to_python;
use crate::loads::{PyLoads, all_series};

/// Loads of the heat pump, electricity of the distribution (W), and the tank's columns or `None`.
#[pyfunction]
pub fn meet(
    plant: Part<Plant>,
    heat_pump: Part<HeatPump>,
    loads: PyLoads,
) -> PyResult<(Columns, Numbers, Option<Columns>)> {
    let met = plant.0.meet(&loads.0, &heat_pump.0).map_err(to_python)?;
    let tank = met.tank.map(|tank| Columns(tank.into_columns().into()));
    Ok((all_series(met.loads), Numbers(met.distribution_power), tank))
}
