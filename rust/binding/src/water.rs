//! Formulas for wells.

use loopdrift::ground_side::well::{Aquifer, breakthrough as breakthrough_of, returned_share as share_of};
use pyo3::prelude::*;

use crate::convert::{Numbers, Part};

/// Drawdown at a distance per m3/s, at each time after pumping began.
#[pyfunction]
pub fn well_drawdown(aquifer: Part<Aquifer>, distance: f64, times: Numbers) -> Numbers {
    Numbers(times.0.iter().map(|&time| aquifer.0.drawdown(distance, time)).collect())
}

/// Time after which heat from the return well first arrives.
#[pyfunction]
pub fn breakthrough(flow: f64, distance: f64, thickness: f64, heat_capacity: f64) -> f64 {
    breakthrough_of(flow, distance, thickness, heat_capacity)
}

/// Share of returned water at each time, relative to the time of breakthrough.
#[pyfunction]
pub fn returned_share(times: Numbers) -> Numbers {
    Numbers(times.0.iter().map(|&time| share_of(time)).collect())
}
