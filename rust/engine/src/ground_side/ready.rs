//! Prepared ground sides: everything that can be computed before the first hour.

use super::GroundSideKind;
use super::conduction::{ErrorCheck, Responses, RunError, step_alone};
use super::hour_by_hour::step_hour_by_hour;
use super::pond::ReadyPond;
use super::well::ReadyWell;
use super::years::Column;
use crate::cancel_token::CancelToken;
use crate::design::Design;
use crate::error::Error;
use crate::ground::{LaplaceCurve, Shape};
use crate::hourly::Hourly;
use crate::judgement::{Criterion, Judgement};
use crate::stepper::Course;
use crate::yearly::RunSummary;

/// A ground side prepared for runs of one horizon.
// A run has only one.
#[allow(clippy::large_enum_variant)]
#[derive(Debug, Clone)]
pub enum ReadyGroundSide {
    /// A loop that meets the ground by conduction alone.
    Conduction(Responses),
    /// A pond.
    Pond(ReadyPond),
    /// A well.
    Well(ReadyWell),
}

/// Results of a run for its ground side.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// Temperature in each hour of the ground or water at the loop [degC].
    pub wall: Vec<f64>,
    /// Errors of the run's temperatures.
    pub error: RunError,
    /// Hourly series specific to this kind of ground side.
    pub beside: Vec<Column>,
    /// Columns of the yearly table specific to this kind of ground side.
    pub yearly: Vec<Column>,
    /// Criteria besides those of fluid and heat pump.
    pub criteria: Vec<Criterion>,
}

impl ReadyGroundSide {
    /// Prepares the ground side of a valid design for runs of `hours` hours; `response` returns the step response of a
    /// shape of field.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] for an unsuitable flow or ground side, and those of `response`.
    pub fn new(
        design: &Design,
        hours: usize,
        response: impl Fn(&Shape) -> Result<LaplaceCurve, Error>,
    ) -> Result<Self, Error> {
        let Design { ground, fluid, flow, .. } = design;
        let responses = match &design.ground_side {
            GroundSideKind::BoreField(field) => {
                let (shape, slower) = field.shape(ground, hours);
                let curve = response(&shape)?.slowed(slower);
                Responses::of_curve(&curve, field, ground, fluid, *flow, hours)
            }
            GroundSideKind::TrenchField(field) => {
                Responses::of_trenches(field, ground, fluid, *flow, design.start_hour(), hours)
            }
            GroundSideKind::Pond(pond) => {
                let ready = ReadyPond::new(pond, ground, fluid, *flow, design.start_hour())?;
                return Ok(Self::Pond(ready));
            }
            GroundSideKind::Well(well) => {
                return ReadyWell::new(well, ground, fluid, *flow, hours).map(Self::Well);
            }
        };
        responses.map(Self::Conduction)
    }

    /// Steps `hours` hours of a design from its initial state: only what the years and the design's limits need,
    /// without cautions of the ground side.
    ///
    /// # Errors
    /// [`Error::Stopped`] if the token was cancelled.
    pub fn step(&self, course: &Course, hours: usize, token: &CancelToken) -> Result<Stepped, Error> {
        match self {
            Self::Conduction(responses) if course.designs[0].limits.wall_min.is_none() => {
                step_alone(responses, course, hours, None, token)
            }
            Self::Pond(pond) => {
                let mut memory = pond.at_rest(hours);
                let stepped = step_hour_by_hour(&mut memory, course, hours, None, token)?;
                Ok(Stepped { criteria: memory.criteria(), ..stepped })
            }
            Self::Conduction(_) | Self::Well(_) => {
                let (stepped, found) = self.run(course, &mut Hourly::zeros(hours), token)?;
                Ok(Stepped { criteria: found.criteria, ..stepped })
            }
        }
    }

    /// Runs all hours of `hourly` from the initial state and returns the results for the years and the ground side.
    ///
    /// # Errors
    /// [`Error::Stopped`] if the token was cancelled.
    pub fn run(
        &self,
        course: &Course,
        hourly: &mut Hourly,
        token: &CancelToken,
    ) -> Result<(Stepped, Found), Error> {
        let hours = hourly.len();
        // Stepping uses one processor; another prepares meanwhile the evaluation of the heat.
        match self {
            Self::Conduction(responses) => {
                let (stepped, check) = rayon::join(
                    || step_alone(responses, course, hours, Some(hourly), token),
                    || ErrorCheck::new(responses, hours),
                );
                let mut stepped = stepped?;
                let (wall, error) = check.wall_and_error(hourly);
                let yearly = std::mem::take(&mut stepped.columns);
                let criteria = Criterion::of_wall(&course.designs[0].limits, &wall).into_iter().collect();
                Ok((stepped, Found { wall, error, beside: Vec::new(), yearly, criteria }))
            }
            Self::Pond(pond) => {
                let mut memory = pond.at_rest(hours);
                let stepped = step_hour_by_hour(&mut memory, course, hours, Some(hourly), token)?;
                Ok((stepped, memory.found(&hourly.heat_extracted)))
            }
            Self::Well(well) => {
                let mut memory = well.at_rest(hours);
                let (stepped, level) = rayon::join(
                    || step_hour_by_hour(&mut memory, course, hours, Some(hourly), token),
                    || well.level(hours),
                );
                let mut stepped = stepped?;
                let found = memory.found(level, hourly, &mut stepped.summary.years);
                Ok((stepped, found))
            }
        }
    }

    /// Steps as [`step`](Self::step), with all columns of the yearly table that are specific to this kind of ground
    /// side.
    ///
    /// # Errors
    /// As for [`step`](Self::step).
    pub fn step_for_years(
        &self,
        course: &Course,
        hours: usize,
        token: &CancelToken,
    ) -> Result<Stepped, Error> {
        if let Self::Conduction(_) = self
            && course.designs[0].limits.wall_min.is_none()
        {
            return self.step(course, hours, token);
        }
        let (stepped, found) = self.run(course, &mut Hourly::zeros(hours), token)?;
        Ok(Stepped { columns: found.yearly, criteria: found.criteria, ..stepped })
    }
}

/// Results of stepping a design.
#[derive(Debug, Clone, PartialEq)]
pub struct Stepped {
    summary: RunSummary,
    /// Columns of the yearly table that are specific to this kind of ground side, as far as stepping provides them.
    pub columns: Vec<Column>,
    /// Additional criteria of the ground side.
    pub criteria: Vec<Criterion>,
}

impl Stepped {
    /// The results of each of several designs.
    pub(super) fn each(summaries: Vec<RunSummary>, columns: Vec<Vec<Column>>) -> Vec<Self> {
        let each = |(summary, columns)| Self { summary, columns, criteria: Vec::new() };
        summaries.into_iter().zip(columns).map(each).collect()
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

    /// Summary of the hours.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] if the fluid froze.
    pub fn liquid(self) -> Result<RunSummary, Error> {
        self.summary.freezing.map_or(Ok(self.summary), |freezing| Err(freezing.into()))
    }
}
