//! Loops that exchange heat with the ground by conduction alone: prepared data, state while stepping, and the error
//! check.

mod error_check;
mod heat_residuals;
mod responses;
mod soil;
mod state;
mod stepping;

pub use error_check::ErrorCheck;
pub use responses::{Responses, drop_per_watt};
pub use state::ConductionState;
pub use stepping::{step_alone, step_together};

use super::{GroundSideResults, PreparedGroundSide, Stepped, run_for_years};
use crate::cancel_token::CancelToken;
use crate::error::Error;
use crate::hourly::Hourly;
use crate::judgement::Criterion;
use crate::stepper::Course;

impl PreparedGroundSide for Responses {
    fn run(
        &self,
        course: &Course,
        hourly: &mut Hourly,
        token: &CancelToken,
    ) -> Result<(Stepped, GroundSideResults), Error> {
        let hours = hourly.len();
        // Stepping uses one processor; meanwhile another prepares the evaluation of the heat.
        let (stepped, check) = rayon::join(
            || step_alone(self, course, hours, Some(hourly), token),
            || ErrorCheck::new(self, hours),
        );
        let mut stepped = stepped?;
        let (wall, error) = check.wall_and_error(course, hourly);
        let yearly = std::mem::take(&mut stepped.columns);
        let criteria = Criterion::of_wall(&course.designs[0].limits, &wall).into_iter().collect();
        Ok((stepped, GroundSideResults { wall, error, hourly: Vec::new(), yearly, criteria }))
    }

    /// Only a limit of the wall temperature needs a whole run.
    fn step_for_years(&self, course: &Course, hours: usize, token: &CancelToken) -> Result<Stepped, Error> {
        if course.designs[0].limits.wall_min.is_none() {
            step_alone(self, course, hours, None, token)
        } else {
            run_for_years(self, course, hours, token)
        }
    }

    fn responses(&self) -> Option<&Responses> {
        Some(self)
    }
}
