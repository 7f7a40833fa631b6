//! Loops that exchange heat with the ground by conduction alone: prepared data, state while stepping, and the error
//! check.

mod epochs;
mod error_check;
mod heat_residuals;
mod hours;
mod mean_heat;
mod responses;
mod soil;
mod state;
mod stepping;
mod undisturbed;
mod wall_heat;

pub use epochs::{Epoch, run_epochs};
pub use error_check::ErrorCheck;
pub use responses::{Responses, drop_per_watt};
pub use state::ConductionState;
pub use stepping::{step_alone, step_neighbours, step_together};
pub use undisturbed::Undisturbed;

use super::{GroundSideResults, HourByHour, PreparedGroundSide, Stepped};
use crate::cancel_token::CancelToken;
use crate::error::Error;
use crate::hourly::Hourly;
use crate::stepper::Course;
use hours::ConductionHours;

impl PreparedGroundSide for Responses {
    fn run(
        &self,
        course: &Course,
        hourly: &mut Hourly,
        token: &CancelToken,
    ) -> Result<(Stepped, GroundSideResults), Error> {
        let whole = Epoch { prepared: self, course: *course, hours: 0..hourly.len() };
        let (mut stepped, results) = run_epochs(&[whole], hourly, token)?;
        let mut stepped = stepped.remove(0);
        let criteria = std::mem::take(&mut stepped.criteria);
        Ok((stepped, GroundSideResults { criteria, ..results }))
    }

    /// Without the hours, except for the heat where the wall temperature is limited.
    fn step_for_years(&self, course: &Course, hours: usize, token: &CancelToken) -> Result<Stepped, Error> {
        step_alone(self, course, hours, None, token)
    }

    fn responses(&self) -> Option<&Responses> {
        Some(self)
    }

    fn hour_by_hour(&self, _hours: usize) -> Box<dyn HourByHour> {
        Box::new(ConductionHours::of(self))
    }
}
