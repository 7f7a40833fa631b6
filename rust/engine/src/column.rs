//! Named columns of numbers, which the tables of runs and studies are made of.

/// Values by a name that ends with their unit.
pub type Column = (&'static str, Vec<f64>);
