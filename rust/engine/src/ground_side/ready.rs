//! Ground sides with all that can be known before the first hour.

use super::GroundSideKind;
use super::conduction::{ErrorCheck, Responses, RunError};
use super::pond::ReadyPond;
use super::well::ReadyWell;
use super::years::Column;
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

/// What a run found of its ground side.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// Temperature in each hour of the ground or the water that the loop meets [degC].
    pub wall: Vec<f64>,
    /// What the run's temperatures lost.
    pub error: RunError,
    /// Hourly series that only this kind of ground side has.
    pub beside: Vec<Column>,
    /// Columns of the yearly table that only this kind of ground side has.
    pub yearly: Vec<Column>,
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
                step::<1, 1, 1, _, R>(&mut pond.at_rest(hours), heat_pump, course, hours, record, watch)
            }
            Self::Well(well) => {
                step::<1, 1, 1, _, R>(&mut well.at_rest(hours), heat_pump, course, hours, record, watch)
            }
        }?;
        Ok(frozen)
    }

    /// Runs all hours of `hourly` from rest and tells what that says of the ground side.
    ///
    /// The electricity of pumps that belong to the ground side comes on top of that in `hourly`.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] if the fluid freezes; [`Error::Stopped`] when the watch says so.
    pub fn run(
        &self,
        heat_pump: &ReadyHeatPump<1>,
        course: &Course<1>,
        hourly: &mut Hourly,
        watch: &Watch,
    ) -> Result<Found, Error> {
        let hours = hourly.len();
        // Stepping takes one processor; another may make ready meanwhile what the heat will be put to.
        match self {
            Self::Conduction(responses) => {
                let (stepped, check) = rayon::join(
                    || self.step(heat_pump, course, hours, hourly, watch),
                    || ErrorCheck::new(responses, hours),
                );
                liquid(stepped?)?;
                let (wall, error) = check.wall_and_error(hourly);
                Ok(Found { wall, error, beside: Vec::new(), yearly: responses.years(hourly) })
            }
            Self::Pond(pond) => {
                let mut memory = pond.at_rest(hours);
                let [frozen] = step::<1, 1, 1, _, _>(&mut memory, heat_pump, course, hours, hourly, watch)?;
                liquid(frozen)?;
                Ok(memory.found(&hourly.heat_extracted))
            }
            Self::Well(well) => {
                let mut memory = well.at_rest(hours);
                let (stepped, level) = rayon::join(
                    || step::<1, 1, 1, _, _>(&mut memory, heat_pump, course, hours, hourly, watch),
                    || well.level(hours),
                );
                let [frozen] = stepped?;
                liquid(frozen)?;
                Ok(memory.found(level, hourly))
            }
        }
    }

    /// Runs as [`run`](Self::run), but for the columns of the yearly table alone.
    ///
    /// # Errors
    /// As there.
    pub fn run_for_years(
        &self,
        heat_pump: &ReadyHeatPump<1>,
        course: &Course<1>,
        hourly: &mut Hourly,
        watch: &Watch,
    ) -> Result<Vec<Column>, Error> {
        if let Self::Conduction(responses) = self {
            liquid(self.step(heat_pump, course, hourly.len(), hourly, watch)?)?;
            return Ok(responses.years(hourly));
        }
        Ok(self.run(heat_pump, course, hourly, watch)?.yearly)
    }
}

/// Refuses a run whose fluid froze.
fn liquid(frozen: Option<Freezing>) -> Result<(), Error> {
    frozen.map_or(Ok(()), |freezing| Err(freezing.into()))
}
