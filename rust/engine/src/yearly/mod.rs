//! What the hours of a run come to: a table by year, and the hours that come closest to what they must not reach.

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
