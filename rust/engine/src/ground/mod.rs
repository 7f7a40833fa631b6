//! Response of the ground to heat extraction. Bores are only positions and depths here; independent of the heat pump.

mod field_response;
mod g_function;
mod gauss;
mod inclined_response;
mod laplace;
mod line_source;
mod moving_response;
mod properties;
mod response_cache;
#[cfg(test)]
mod rise;
mod shape;
mod spacing;
mod strips;
mod surface_wave;
mod temperature;
mod trench_response;
mod warming;

pub use field_response::{
    Condition, HeatSpread, LineSource, Placed, check_cover, check_slender, field_response, heat_spread,
    wall_share,
};
pub use g_function::{check_instants, g_function, line_source_at, span};
pub use inclined_response::{Lean, check_leans, inclined_response};
pub use laplace::LaplaceCurve;
pub use line_source::line_source;
pub use moving_response::{moving_heat_spread, moving_response};
pub use properties::Ground;
pub use response_cache::ResponseCache;
pub use shape::Shape;
pub use spacing::{check_apart, closest};
pub use surface_wave::SurfaceWave;
pub use temperature::{Snapshot, within};
pub use trench_response::{
    Lines, Orientation, Rings, Sources, no_load_weights, response_in_time, trench_response,
};
pub use warming::Warming;
