//! A rating point on scaled axes.

/// A rating point with each axis scaled to -1 to 1 over the table.
#[derive(Clone, Copy, PartialEq)]
pub struct ScaledPoint {
    pub entering_fluid: f64,
    pub flow: f64,
    pub entering_load: f64,
}
