//! Dimensions of a ground side that sizing can vary.

use crate::error::Error;

/// The dimension that is sized.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Measure {
    /// Active depth of every bore (m).
    Depth,
    /// Length of every trench, or of every coil in a pond (m).
    Length,
    /// Smallest distance between two bores with the shape of the layout unchanged, or between trenches (m).
    Spacing,
}

impl Measure {
    /// The measure of a name.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] for an unknown name.
    pub fn named(name: &str) -> Result<Self, Error> {
        let known = [Self::Depth, Self::Length, Self::Spacing];
        known.into_iter().find(|measure| measure.name() == name).ok_or_else(|| {
            Error::invalid("Sizing", "measure", name, "", "must be one of depth, length, spacing")
        })
    }

    fn name(self) -> &'static str {
        match self {
            Self::Depth => "depth",
            Self::Length => "length",
            Self::Spacing => "spacing",
        }
    }

    /// The error for a ground side without this measure.
    pub(super) fn missing(self) -> Error {
        Error::invalid(
            "Sizing",
            "measure",
            self.name(),
            "",
            "must be a dimension of the design's ground side",
        )
    }
}
