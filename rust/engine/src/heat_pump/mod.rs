//! What the heat pump does at an entering fluid temperature; knows no ground.

mod cubic;
mod curves;
mod fit;
mod operation;
mod polynomial;
mod table;

pub use curves::{HeatPump, Mode};
pub use fit::{DesignPoint, FitQuality, ModeQuality, Residual};
pub use operation::{Demand, Hour, Operation, ReadyHeatPump, Sloped};
pub use table::PerformanceTable;
