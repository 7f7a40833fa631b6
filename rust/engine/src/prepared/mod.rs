//! Ground sides prepared for runs: everything that can be computed before the first hour, and the runs that step them.
//!
//! A kind of ground side implements [`Prepare`] for its description and [`PreparedGroundSide`] for what that returns.
//! Its state while a run steps implements [`GroundSide`](crate::ground_side::GroundSide); loops that exchange heat with
//! the ground by conduction alone share one, in `conduction/`.

pub mod bore_field;
pub mod conduction;
mod hour_by_hour;
pub mod pond;
mod resistance_table;
mod results;
mod run_error;
mod single_hours;
mod table_lanes;
mod trench_field;
mod well;
mod years;

pub use hour_by_hour::{Ended, HourByHour, Numbers};
pub use resistance_table::ResistanceTable;
pub use results::{GroundSideResults, Stepped};
pub use run_error::RunError;
pub use table_lanes::TableLanes;

use crate::cancel_token::CancelToken;
use crate::design::Design;
use crate::error::Error;
use crate::ground::{Ground, LaplaceCurve, Shape};
use crate::ground_side::{GroundSideKind, of_kind};
use crate::hourly::Hourly;
use crate::stepper::Course;
use conduction::Responses;

/// Returns the step response of a shape of field.
pub type ShapeResponse<'a> = dyn Fn(&Shape) -> Result<LaplaceCurve, Error> + 'a;

/// A description of a ground side that can be prepared for runs.
pub trait Prepare {
    /// Prepares the ground side of a valid design for runs of `hours` hours.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] for an unsuitable flow or ground side, and those of `response`.
    fn prepare(
        &self,
        design: &Design,
        hours: usize,
        response: &ShapeResponse,
    ) -> Result<Box<dyn PreparedGroundSide>, Error>;

    /// The shape whose step response [`prepare`](Self::prepare) needs for runs of `hours` hours, if any.
    fn response_shape(&self, _ground: &Ground, _hours: usize) -> Option<Shape> {
        None
    }

    /// A name shared by all designs that may step side by side with this one; `None` for one that steps alone.
    fn side_by_side(&self) -> Option<&'static str> {
        None
    }
}

/// The description in a design, whatever its kind.
#[must_use]
pub fn preparation(kind: &GroundSideKind) -> &dyn Prepare {
    of_kind!(kind, description => description)
}

/// Prepares the ground side of a valid design for runs of `hours` hours.
///
/// # Errors
/// Those of [`Prepare::prepare`].
pub fn prepare(
    design: &Design,
    hours: usize,
    response: &ShapeResponse,
) -> Result<Box<dyn PreparedGroundSide>, Error> {
    preparation(&design.ground_side).prepare(design, hours, response)
}

/// A ground side prepared for runs of one horizon. Each of its methods chooses the code of its kind once for all hours.
pub trait PreparedGroundSide {
    /// Runs all hours of `hourly` from the initial state and returns the results for the years and the ground side.
    ///
    /// # Errors
    /// [`Error::Stopped`] if the token was cancelled.
    fn run(
        &self,
        course: &Course,
        hourly: &mut Hourly,
        token: &CancelToken,
    ) -> Result<(Stepped, GroundSideResults), Error>;

    /// Steps `hours` hours of a design from the initial state, with all columns of the yearly table that are specific
    /// to this kind of ground side.
    ///
    /// # Errors
    /// [`Error::Stopped`] if the token was cancelled.
    fn step_for_years(&self, course: &Course, hours: usize, token: &CancelToken) -> Result<Stepped, Error> {
        run_for_years(self, course, hours, token)
    }

    /// The same with only what the years and the design's limits need, without cautions of the ground side.
    ///
    /// # Errors
    /// [`Error::Stopped`] if the token was cancelled.
    fn step(&self, course: &Course, hours: usize, token: &CancelToken) -> Result<Stepped, Error> {
        self.step_for_years(course, hours, token)
    }

    /// The loop, if designs of this kind may step side by side.
    fn responses(&self) -> Option<&Responses> {
        None
    }

    /// The ground side at its initial state, to be stepped from outside for `hours` hours.
    fn hour_by_hour(&self, hours: usize) -> Box<dyn HourByHour>;
}

/// A whole run of which only the years and criteria are kept.
fn run_for_years(
    ground_side: &(impl PreparedGroundSide + ?Sized),
    course: &Course,
    hours: usize,
    token: &CancelToken,
) -> Result<Stepped, Error> {
    let (stepped, results) = ground_side.run(course, &mut Hourly::zeros(hours), token)?;
    Ok(Stepped { columns: results.yearly, criteria: results.criteria, ..stepped })
}
