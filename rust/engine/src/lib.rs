#![doc = include_str!("../README.md")]

pub mod bore;
pub mod building;
pub mod cancel_token;
mod chebyshev;
pub mod column;
mod csv_file;
pub mod design;
pub mod error;
pub mod fluid;
pub mod ground;
pub mod ground_side;
pub mod heat_pump;
pub mod history;
pub mod hourly;
pub mod judgement;
pub mod lane_layout;
pub mod lanes;
pub mod limits;
pub mod loads;
mod memo;
pub mod plant;
pub mod pool;
pub mod prepared;
pub mod quantity;
pub mod run;
pub mod schema;
pub mod simulation;
pub mod stepper;
pub mod study;
pub mod yearly;

pub use error::Error;
