//! From the fluid to the wall of one bore; independent of field and heat pump.

mod capacity;
mod construction;
mod film;
mod multipole;
mod resistance;

pub use capacity::HeatCapacityInside;
pub use construction::{Bore, Coaxial, DoubleUTube, Inside, Pipe, Pipes, UTube};
pub use film::{END_OF_LAMINAR, Film, REGIME_LIMITS, Regime, START_OF_TURBULENT, annulus_shape, in_pipe};
pub use resistance::{
    PipeResistance, Resistances, exchanged_along, exchanged_slope, films, pipe_resistance, resistances,
    resistances_over,
};
