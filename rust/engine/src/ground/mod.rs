//! How the ground answers heat taken from it; knows bores only as places and depths, and no heat pump.

mod laplace;
mod properties;

pub use laplace::LaplaceCurve;
pub use properties::Ground;
