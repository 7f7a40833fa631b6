//! Summary of the hours of a run: a yearly table, and the hours that come closest to a bound.

mod bounds;
mod columns;
mod extremes;
mod freezing;
mod loads;
mod tally;
mod year;

pub use columns::{HoursColumn, LIMITS_BROKEN, NumberColumn};
pub use extremes::{Extremes, Moment};
pub use freezing::Freezing;
pub use tally::{RunSummary, Tally};
pub use year::RunYear;
