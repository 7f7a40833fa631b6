//! Ground sides with all that can be known before the first hour.

use super::GroundSideKind;
use super::conduction::{ErrorCheck, Responses, RunError};
use super::pond::ReadyPond;
use super::well::{ReadyWell, WellCheck};
use crate::design::Design;
use crate::error::Error;
use crate::ground::{LaplaceCurve, Shape};
use crate::heat_pump::ReadyHeatPump;
use crate::history::BLOCK;
use crate::hourly::Hourly;
use crate::stepper::{Course, Freezing, Record, step};
use crate::watch::Watch;

/// Hours whose heat pump is worked out at a time: as many as fill a vector register.
const AT_ONCE: usize = 4;

/// A ground side made ready for runs of one horizon.
// A run has but one.
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

/// What is known of a ground side once the heat of a run is.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// Temperature in each hour of the ground or the water that the loop meets [degC].
    pub wall: Vec<f64>,
    /// What the run's temperatures lost.
    pub error: RunError,
    /// Hourly series that only this kind of ground side has, by names that end with their unit.
    pub beside: Vec<(&'static str, Vec<f64>)>,
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

    /// Steps `hours` hours from rest; tells the first in which the fluid froze.
    ///
    /// # Errors
    /// [`Error::Stopped`] when the watch says so.
    pub fn step<R: Record<1, 1> + Record<1, BLOCK>>(
        &self,
        heat_pump: &ReadyHeatPump<1>,
        course: &Course<1>,
        hours: usize,
        record: &mut R,
        watch: &Watch,
    ) -> Result<Option<Freezing>, Error> {
        let [frozen] = match self {
            Self::Conduction(responses) => {
                let memory = &mut responses.at_rest();
                step::<1, BLOCK, AT_ONCE, _, R>(memory, heat_pump, course, hours, record, watch)
            }
            Self::Pond(pond) => {
                step::<1, 1, 1, _, R>(&mut pond.at_rest(), heat_pump, course, hours, record, watch)
            }
            Self::Well(well) => {
                step::<1, 1, 1, _, R>(&mut well.at_rest(), heat_pump, course, hours, record, watch)
            }
        }?;
        Ok(frozen)
    }

    /// Makes the check of a run of `hours` hours ready.
    #[must_use]
    pub fn check(&self, hours: usize) -> ReadyCheck<'_> {
        match self {
            Self::Conduction(responses) => ReadyCheck::Conduction(ErrorCheck::new(responses, hours)),
            Self::Pond(pond) => ReadyCheck::Pond(pond),
            Self::Well(well) => ReadyCheck::Well(WellCheck::new(well, hours)),
        }
    }
}

/// The check of a run, with all that can be done before the heat is known.
pub enum ReadyCheck<'a> {
    /// By exact superposition of the heat that was found.
    Conduction(ErrorCheck<'a>),
    /// By stepping the water once more through the heat that was found.
    Pond(&'a ReadyPond),
    /// With the water level by superposition of the pumping.
    Well(WellCheck<'a>),
}

impl ReadyCheck<'_> {
    /// What the heat of a run says about its ground side.
    #[must_use]
    pub fn found(self, hourly: &Hourly) -> Found {
        match self {
            Self::Conduction(check) => {
                let (wall, error) = check.wall_and_error(hourly);
                Found { wall, error, beside: Vec::new() }
            }
            Self::Pond(pond) => pond.found(hourly),
            Self::Well(check) => check.found(hourly),
        }
    }
}
