//! Loops that exchange heat with the ground by conduction alone: prepared data, state while stepping, and the error
//! check.

mod error_check;
mod memory;
mod resistance_table;
mod responses;
mod soil;
mod stepping;
mod table_lanes;

pub use error_check::{ErrorCheck, RunError};
pub use memory::ConductionMemory;
pub use resistance_table::{Bend, ResistanceTable};
pub use responses::{Responses, drop_per_watt};
pub use stepping::{step_alone, step_together};
pub use table_lanes::TableLanes;
