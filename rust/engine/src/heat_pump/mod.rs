//! The heat pump at an entering fluid temperature; independent of the ground.

mod cubic;
mod curves;
mod demand;
mod demands;
mod fit;
mod operating_mode;
mod operation;
mod polynomial;
mod stage;
mod table;
mod tangent;

pub use curves::{EnteringLoadCorrection, HeatPump, Mode};
pub use demand::{Demand, Load, ModeLoads};
pub use demands::{Demands, Scales};
pub use fit::{DesignPoint, FitQuality, ModeQuality, Residual};
pub use operation::{Operation, PreparedHeatPump};
pub use table::PerformanceTable;
pub use tangent::{Number, Tangent};
