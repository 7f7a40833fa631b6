//! loopdrift: the fluid that a buried loop hands to a heat pump, hour by hour, over decades.
//!
//! All values are SI; temperatures are in degC and differences in K. Time is model time: years of 8760 hours.

pub mod bore;
pub mod error;
pub mod fluid;
pub mod ground;
pub mod limits;
pub mod quantity;

pub use error::Error;
