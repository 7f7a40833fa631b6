//! loopdrift: the fluid that a buried loop hands to a heat pump, hour by hour, over decades.
//!
//! All values are SI; temperatures are in degC and differences in K. Time is model time: years of 8760 hours.

pub mod bore;
mod csv_file;
pub mod error;
pub mod fluid;
pub mod ground;
pub mod heat_pump;
pub mod loads;
pub mod quantity;

pub use error::Error;
