//! Vertical bores side by side, all with one wall temperature.

mod ground_history;
mod inside_history;
mod responses;

use serde::{Deserialize, Serialize};

pub use ground_history::{GroundHistory, GroundState, HeatSources};

use crate::bore::Bore;
use crate::error::Error;
use crate::ground::{Ground, LineSource, Shape, check_apart};
use crate::history::HOUR;

/// Bores and where they stand.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BoreField {
    /// One bore for all positions, or one for each; they may differ in depth and top only.
    pub bores: Vec<Bore>,
    /// Where the bores stand on the surface [m].
    pub positions: Vec<[f64; 2]>,
}

impl BoreField {
    /// Checks each bore, and that they match their positions, are built alike and stand apart.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] names what is wrong.
    pub fn validate(&self) -> Result<(), Error> {
        let invalid = |field: &str, value: String, allowed: &str| {
            Err(Error::invalid("BoreField", field, value, "", allowed))
        };
        if self.positions.is_empty() {
            return invalid("positions", "none".to_owned(), "must have at least one position");
        }
        let (bores, positions) = (self.bores.len(), self.positions.len());
        if bores != 1 && bores != positions {
            let allowed = format!("must be one bore, or {positions}: one for each position");
            return invalid("bore", format!("{bores} bores"), &allowed);
        }
        self.bores.iter().try_for_each(Bore::validate)?;
        let first = &self.bores[0];
        let unlike = self.bores.iter().find(|b| (b.diameter, b.inside) != (first.diameter, first.inside));
        if unlike.is_some() {
            return invalid("bore", format!("{bores} bores"), "may differ in depth and top only");
        }
        check_apart(&self.positions, &vec![first.radius(); positions])
    }

    /// Number of bores.
    #[must_use]
    pub fn count(&self) -> usize {
        self.positions.len()
    }

    /// Active depth of all bores together [m].
    #[must_use]
    pub fn total_depth(&self) -> f64 {
        self.each_bore().map(|bore| bore.depth).sum()
    }

    /// Mean undisturbed temperature along the active depth [degC].
    #[must_use]
    pub fn undisturbed(&self, ground: &Ground) -> f64 {
        let sum: f64 =
            self.each_bore().map(|bore| bore.depth * ground.undisturbed(bore.top + bore.depth / 2.0)).sum();
        sum / self.total_depth()
    }

    /// The field's shape for runs of `hours` hours, and by how much its time is slower than the shape's.
    #[must_use]
    pub fn shape(&self, ground: &Ground, hours: usize) -> (Shape, f64) {
        let times = HOUR..=hours as f64 * HOUR;
        Shape::of(ground, &self.line_sources(), &self.positions, &times)
    }

    fn each_bore(&self) -> impl Iterator<Item = &Bore> {
        self.bores.iter().cycle().take(self.count())
    }

    fn line_sources(&self) -> Vec<LineSource> {
        self.bores
            .iter()
            .map(|bore| LineSource { depth: bore.depth, top: bore.top, radius: bore.radius() })
            .collect()
    }
}
