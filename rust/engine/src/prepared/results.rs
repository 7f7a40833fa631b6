//! Results of stepping and of running a prepared ground side.

use super::run_error::RunError;
use crate::column::Column;
use crate::design::Design;
use crate::error::Error;
use crate::judgement::{Criterion, Judgement};
use crate::yearly::RunSummary;

/// Results of a run for its ground side.
#[derive(Debug, Clone, PartialEq)]
pub struct GroundSideResults {
    /// Temperature in each hour of the ground or water at the loop (degC).
    pub wall: Vec<f64>,
    /// Errors of the run's temperatures.
    pub error: RunError,
    /// Hourly series specific to this kind of ground side.
    pub hourly: Vec<Column>,
    /// Columns of the yearly table specific to this kind of ground side.
    pub yearly: Vec<Column>,
    /// Criteria besides those of fluid and heat pump.
    pub criteria: Vec<Criterion>,
}

/// Results of stepping a design.
#[derive(Debug, Clone, PartialEq)]
pub struct Stepped {
    pub(super) summary: RunSummary,
    /// Columns of the yearly table that are specific to this kind of ground side, as far as stepping provides them.
    pub columns: Vec<Column>,
    /// Additional criteria of the ground side.
    pub criteria: Vec<Criterion>,
    /// Mean heat extracted in each interval of the run (W); empty unless it was collected.
    pub mean_heat: Vec<f64>,
}

impl Stepped {
    /// The results of each of several designs.
    pub(super) fn each(
        summaries: Vec<RunSummary>,
        columns: Vec<Vec<Column>>,
        criteria: Vec<Vec<Criterion>>,
    ) -> Vec<Self> {
        let each =
            |((summary, columns), criteria)| Self { summary, columns, criteria, mean_heat: Vec::new() };
        summaries.into_iter().zip(columns).zip(criteria).map(each).collect()
    }

    /// Summary of the hours, as if a fluid that froze had stayed liquid.
    #[must_use]
    pub fn summary(&self) -> &RunSummary {
        &self.summary
    }

    /// Judgement of the design.
    #[must_use]
    pub fn judged(&mut self, design: &Design) -> Judgement {
        Judgement::of(design, &self.summary, std::mem::take(&mut self.criteria))
    }

    /// Summary of the hours, as if a fluid that froze had stayed liquid.
    #[must_use]
    pub fn into_summary(self) -> RunSummary {
        self.summary
    }

    /// Summary of the hours.
    ///
    /// # Errors
    /// [`Error::FluidFreezes`] if the fluid froze.
    pub fn liquid(self) -> Result<RunSummary, Error> {
        self.summary.freezing.map_or(Ok(self.summary), |freezing| Err(freezing.into()))
    }
}
