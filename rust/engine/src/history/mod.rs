//! How past heat acts on the present temperature: by exponentials while a run steps, exactly afterwards.
//!
//! A step response g(t) answers one watt that begins at t = 0. Time is counted in hours: the heat of an hour is
//! constant and the temperature is that of the hour's end, so that only g(1 h), g(2 h), ... are ever needed.

mod ladder;
mod past_heat;
mod superposition;
mod tabulated;

pub use ladder::{BLOCK, Ladder, RECENT, RUNGS, Response};
pub use past_heat::PastHeat;
pub use superposition::Superposition;
pub use tabulated::TabulatedResponse;

/// Seconds in the hour that a run steps by.
pub const HOUR: f64 = 3600.0;
