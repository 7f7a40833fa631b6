//! What the heat pump does at an entering fluid temperature; knows no ground.

mod curves;
mod polynomial;

pub use curves::{HeatPump, Mode};
