//! Named columns of numbers, from which the tables of runs and studies are built.

/// Values under a name that ends with their unit.
pub type Column = (&'static str, Vec<f64>);
