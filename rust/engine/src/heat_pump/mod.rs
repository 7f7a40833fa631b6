//! What the heat pump does at an entering fluid temperature; knows no ground.

mod cubic;
mod curves;
mod fit;
mod operation;
mod polynomial;
mod stage;
mod table;
mod taylor;

pub use curves::{HeatPump, LoadSide, Mode};
pub use fit::{DesignPoint, FitQuality, ModeQuality, Residual};
pub use operation::{Demand, Operation, ReadyHeatPump};
pub use table::PerformanceTable;
pub use taylor::{Number, Taylor};
