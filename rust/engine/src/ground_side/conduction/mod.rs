//! Loops that meet the ground by conduction alone: what stepping needs of them, their memory and the check of a run.

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
