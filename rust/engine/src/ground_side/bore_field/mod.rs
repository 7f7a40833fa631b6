//! Parallel bores that share one wall temperature.

use serde::{Deserialize, Serialize};

use crate::bore::Bore;
use crate::cancel_token::CancelToken;
use crate::error::Error;
use crate::ground::{Ground, Lean, LineSource, Shape, check_apart, check_leans, check_slender, closest};
use crate::ground_side::{Description, Measure};
use crate::history::HOUR;

/// Bores and their positions.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BoreField {
    /// One bore for all positions, or one for each; they may differ in depth and buried depth only.
    pub bores: Vec<Bore>,
    /// Positions of the bores on the surface (m).
    pub positions: Vec<[f64; 2]>,
    /// Inclinations of the bores, one for all positions or one for each; empty if all are vertical.
    #[serde(default)]
    pub leans: Vec<Lean>,
}

impl Description for BoreField {
    fn validate(&self) -> Result<(), Error> {
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
        self.line_sources().iter().try_for_each(check_slender)?;
        let first = &self.bores[0];
        let unlike = self.bores.iter().find(|b| (b.diameter, b.inside) != (first.diameter, first.inside));
        if unlike.is_some() {
            return invalid("bore", format!("{bores} bores"), "may differ in depth and buried_depth only");
        }
        check_apart(&self.positions, &vec![first.radius(); positions], &CancelToken::default())?;
        check_leans(&self.line_sources(), &self.positions, &self.leans)
    }

    fn undisturbed(&self, ground: &Ground) -> f64 {
        let vertical = Lean::default();
        let leans = self.leans.iter().cycle().chain(std::iter::repeat(&vertical));
        let of_bore = |(bore, lean): (&Bore, &Lean)| {
            bore.depth * ground.undisturbed((bore.buried_depth + bore.depth / 2.0) * lean.reach())
        };
        self.each_bore().zip(leans).map(of_bore).sum::<f64>() / self.total_depth()
    }

    fn needs_still_ground(&self) -> Option<&'static str> {
        self.is_leaning().then_some("inclined bores")
    }

    /// Of unequal bores, the depth of the first.
    fn measure(&self, measure: Measure) -> f64 {
        match measure {
            Measure::Depth => self.bores[0].depth,
            Measure::Spacing => closest(&self.positions),
            Measure::Length => f64::NAN,
        }
    }

    fn set_measure(&mut self, measure: Measure, value: f64) -> Result<(), Error> {
        match measure {
            Measure::Depth => self.bores.iter_mut().for_each(|bore| bore.depth = value),
            Measure::Spacing => self.positions = self.spaced(value)?,
            Measure::Length => return Err(measure.missing()),
        }
        Ok(())
    }
}

impl BoreField {
    /// Number of bores.
    #[must_use]
    pub fn count(&self) -> usize {
        self.positions.len()
    }

    /// Total active depth (m).
    #[must_use]
    pub fn total_depth(&self) -> f64 {
        self.each_bore().map(|bore| bore.depth).sum()
    }

    /// The field's shape for runs of `hours` hours, and the factor by which its time is slower than the shape's.
    #[must_use]
    pub fn shape(&self, ground: &Ground, hours: usize) -> (Shape, f64) {
        let times = HOUR..=hours as f64 * HOUR;
        Shape::of(ground, &self.line_sources(), &self.positions, &self.leans, &times)
    }

    /// Whether any bore is inclined.
    #[must_use]
    pub fn is_leaning(&self) -> bool {
        !self.leans.iter().all(Lean::is_vertical)
    }

    fn each_bore(&self) -> impl Iterator<Item = &Bore> {
        self.bores.iter().cycle().take(self.count())
    }

    pub(crate) fn line_sources(&self) -> Vec<LineSource> {
        self.bores
            .iter()
            .map(|bore| LineSource {
                depth: bore.depth,
                buried_depth: bore.buried_depth,
                radius: bore.radius(),
            })
            .collect()
    }

    /// Positions of the same layout with `spacing` (m) between the closest two bores.
    fn spaced(&self, spacing: f64) -> Result<Vec<[f64; 2]>, Error> {
        let closest = closest(&self.positions);
        if !(closest > 0.0 && closest.is_finite()) {
            let allowed = "must be left out: a single bore has no spacing";
            return Err(Error::invalid("BoreField", "spacing", spacing, "m", allowed));
        }
        Ok(self.positions.iter().map(|place| place.map(|value| value / closest * spacing)).collect())
    }
}
