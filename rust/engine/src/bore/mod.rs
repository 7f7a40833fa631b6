//! From the fluid to the wall of one bore; knows no field and no heat pump.

mod construction;

pub use construction::{Bore, Inside, Pipe, Pipes};
