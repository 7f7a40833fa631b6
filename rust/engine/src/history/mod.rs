//! How past heat affects the current temperature: through exponentials while a run steps, exactly afterwards.
//!
//! A step response g(t) is the response to one watt that begins at t = 0. Time counts in hours: the heat of an hour is
//! constant and temperatures are those at the end of the hour, so only g(1 h), g(2 h), ... are needed.

mod ladder;
mod past_heat;
mod past_hours;
mod superposition;
mod tabulated;

pub use ladder::{Ladder, RECENT, RUNGS, Response};
pub use past_heat::PastHeat;
pub use past_hours::PastHours;
pub use superposition::Superposition;
pub use tabulated::TabulatedResponse;

/// Seconds in the time step of a run, one hour.
pub const HOUR: f64 = 3600.0;
