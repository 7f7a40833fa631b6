//! Ground sides with all that can be known before the first hour.

use super::GroundSideKind;
use super::bore_field::{ErrorCheck, Responses, RunError};
use crate::design::Design;
use crate::error::Error;
use crate::ground::{LaplaceCurve, Shape};
use crate::heat_pump::ReadyHeatPump;
use crate::hourly::Hourly;
use crate::stepper::{Course, Freezing, Record, step};
use crate::watch::Watch;

/// A ground side made ready for runs of one horizon.
#[derive(Debug, Clone)]
pub enum ReadyGroundSide {
    /// Vertical bores.
    BoreField(Responses),
}

impl ReadyGroundSide {
    /// Makes the ground side of a valid design ready for runs of `hours` hours; `response` finds the step response of a shape of field.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] for what the flow or the ground side can't do, and those of `response`.
    pub fn new(
        design: &Design,
        hours: usize,
        response: impl Fn(&Shape) -> Result<LaplaceCurve, Error>,
    ) -> Result<Self, Error> {
        let Design { ground, fluid, flow, .. } = design;
        match &design.ground_side {
            GroundSideKind::BoreField(field) => {
                let (shape, slower) = field.shape(ground, hours);
                let curve = response(&shape)?.slowed(slower);
                Responses::of_curve(&curve, field, ground, fluid, *flow, hours).map(Self::BoreField)
            }
        }
    }

    /// Steps `hours` hours from rest; tells the first in which the fluid froze.
    ///
    /// # Errors
    /// [`Error::Stopped`] when the watch says so.
    pub fn step<R: Record<1>>(
        &self,
        heat_pump: &ReadyHeatPump<1>,
        course: &Course<1>,
        hours: usize,
        record: &mut R,
        watch: &Watch,
    ) -> Result<Option<Freezing>, Error> {
        let [frozen] = match self {
            Self::BoreField(responses) => {
                step(&mut responses.at_rest(), heat_pump, course, hours, record, watch)
            }
        }?;
        Ok(frozen)
    }

    /// Makes the check of a run of `hours` hours ready.
    #[must_use]
    pub fn check(&self, hours: usize) -> ReadyCheck<'_> {
        match self {
            Self::BoreField(responses) => ReadyCheck::BoreField(ErrorCheck::new(responses, hours)),
        }
    }
}

/// The check of a run, with all that can be done before the heat is known.
pub enum ReadyCheck<'a> {
    /// By exact superposition of the heat that was found.
    BoreField(ErrorCheck<'a>),
}

impl ReadyCheck<'_> {
    /// The temperature [degC] of the ground at the loop in each hour, and what the run's temperatures lost.
    #[must_use]
    pub fn wall_and_error(self, hourly: &Hourly) -> (Vec<f64>, RunError) {
        match self {
            Self::BoreField(check) => check.wall_and_error(hourly),
        }
    }
}
