//! One simulation from a design to its tables.

use crate::design::{Design, hours_of};
use crate::error::Error;
use crate::ground::Shape;
use crate::ground_side::conduction::RunError;
use crate::ground_side::{Column, Found, ReadyGroundSide};
use crate::heat_pump::ReadyHeatPump;
use crate::hourly::Hourly;
use crate::lanes::Lanes;
use crate::loads::Loads;
use crate::stepper::Course;
use crate::watch::Watch;
use crate::yearly::{Year, yearly};

/// What one simulation returns.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// Series with one value an hour.
    pub hourly: Hourly,
    /// Hourly series that only the design's kind of ground side has.
    pub beside: Vec<Column>,
    /// One row a year.
    pub yearly: Vec<Year>,
    /// Columns of the same rows that only the design's kind of ground side has.
    pub yearly_beside: Vec<Column>,
    /// Largest errors of the temperatures.
    pub error: RunError,
}

/// Simulates `years` years, the loads repeating as often as they must.
///
/// # Errors
/// [`Error::InvalidInput`] names what is wrong with the design; [`Error::Stopped`] if `watch` says so.
pub fn run(design: &Design, loads: &Loads, years: usize, watch: &Watch) -> Result<Run, Error> {
    let hours = hours_of(years)?;
    design.validate()?;
    let demands = design.demands(loads)?;
    let course = Course {
        demands: &demands,
        start: design.start_hour(),
        pump_power: Lanes([design.pump_power]),
        pump_stops: [design.pump_stops],
        freezing_point: Lanes([design.fluid.freezing_point]),
    };
    let heat_pump = ReadyHeatPump::new([&design.heat_pump]);
    let mut hourly = Hourly::zeros(hours);
    let ground_side = ReadyGroundSide::new(design, hours, Shape::response)?;
    let Found { wall, error, beside, yearly: yearly_beside } =
        ground_side.run(&heat_pump, &course, &mut hourly, watch)?;
    hourly.wall = wall;
    let yearly = yearly(design, &course, &hourly);
    Ok(Run { hourly, beside, yearly, yearly_beside, error })
}
