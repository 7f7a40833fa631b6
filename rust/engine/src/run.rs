//! One simulation, from a design to its tables.

use crate::cancel_token::CancelToken;
use crate::column::Column;
use crate::design::{Design, hours_of};
use crate::error::Error;
use crate::hourly::Hourly;
use crate::judgement::Judgement;
use crate::loads::Loads;
use crate::prepared::{GroundSideResults, RunError, prepare};
use crate::stepper::Course;
use crate::yearly::RunYear;

/// Results of one simulation.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// Series with one value per hour.
    pub hourly: Hourly,
    /// Hourly series that only the design's kind of ground side has.
    pub kind_hourly: Vec<Column>,
    /// One row per year.
    pub yearly: Vec<RunYear>,
    /// Columns of the same rows that only the design's kind of ground side has.
    pub kind_yearly: Vec<Column>,
    /// Largest errors of the temperatures.
    pub error: RunError,
    /// How the design performs against its criteria.
    pub judgement: Judgement,
}

/// Simulates `years` years; the loads repeat as often as needed.
///
/// # Errors
/// [`Error::InvalidInput`] names what is wrong with the design; [`Error::Stopped`] if `token` was cancelled.
pub fn run(design: &Design, loads: &Loads, years: usize, token: &CancelToken) -> Result<Run, Error> {
    let hours = hours_of(years)?;
    design.validate()?;
    let demands = design.demands(loads)?;
    let course = Course { designs: &[design], demands: &demands };
    let mut hourly = Hourly::zeros(hours);
    let ground_side = prepare(design, hours, &|shape| shape.response(token))?;
    let (stepped, results) = ground_side.run(&course, &mut hourly, token)?;
    let GroundSideResults { wall, error, hourly: kind_hourly, yearly: kind_yearly, criteria } = results;
    let judgement = Judgement::of(design, stepped.summary(), criteria);
    let yearly = stepped.liquid()?.years;
    hourly.wall = wall;
    Ok(Run { hourly, kind_hourly, yearly, kind_yearly, error, judgement })
}
