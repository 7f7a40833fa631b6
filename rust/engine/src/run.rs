//! One simulation, from a design to its tables.

use std::cell::OnceCell;
use std::ops::Range;
use std::rc::Rc;

use crate::cancel_token::CancelToken;
use crate::column::Column;
use crate::design::{Design, hours_of};
use crate::error::Error;
use crate::ground::{LaplaceCurve, Shape};
use crate::heat_pump::Demands;
use crate::hourly::Hourly;
use crate::judgement::Judgement;
use crate::loads::{HOURS_PER_YEAR, Loads};
use crate::prepared::{GroundSideResults, PreparedGroundSide, RunError, conduction, prepare};
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
    let course = Course { designs: &[design], demands: &[demands] };
    let mut hourly = Hourly::zeros(hours);
    let ground_side = prepare(design, hours, &|shape| shape.response(token))?;
    let (stepped, results) = ground_side.run(&course, &mut hourly, token)?;
    let GroundSideResults { wall, error, hourly: kind_hourly, yearly: kind_yearly, criteria } = results;
    let judgement = Judgement::of(design, stepped.summary(), criteria);
    let yearly = stepped.liquid()?.years;
    hourly.wall = wall;
    Ok(Run { hourly, kind_hourly, yearly, kind_yearly, error, judgement })
}

/// Years of a run in which the plant stays the same.
#[derive(Debug, Clone, Copy)]
pub struct Epoch<'a> {
    /// The plant.
    pub design: &'a Design,
    /// Its demand from the first of these years on.
    pub demands: Demands<'a>,
    /// The first of these years, counted from 0.
    pub first_year: usize,
}

/// Simulates `years` years of a plant that changes: each epoch lasts until the next begins, and the ground keeps the heat
/// of all of them.
///
/// Heat pump, limits, pump and demand may change, and fluid and flow of bores; the ground side and the month in which the
/// years begin stay the same. A year is judged by the limits of its epoch.
///
/// # Errors
/// [`Error::InvalidInput`] names what is wrong with a design or can't change; [`Error::Stopped`] if `token` was
/// cancelled.
pub fn run_epochs(epochs: &[Epoch], years: usize, token: &CancelToken) -> Result<Run, Error> {
    let hours = hours_of(years)?;
    let Some(first) = epochs.first() else {
        return Err(Error::invalid("run", "epochs", "none", "", "must be at least one"));
    };
    check_order(epochs, years)?;
    for Epoch { design, demands, .. } in epochs {
        design.validate()?;
        design.check_modes(demands)?;
        check_unchanged(first.design, design)?;
    }
    let prepared = prepare_each(epochs, hours, token)?;
    let ends = epochs.iter().skip(1).map(|epoch| epoch.first_year).chain([years]);
    let ranges: Vec<Range<usize>> = epochs
        .iter()
        .zip(ends)
        .map(|(epoch, end)| epoch.first_year * HOURS_PER_YEAR..end * HOURS_PER_YEAR)
        .collect();
    let mut stepping = Vec::with_capacity(epochs.len());
    for ((epoch, prepared), hours) in epochs.iter().zip(&prepared).zip(&ranges) {
        let Some(prepared) = prepared.responses() else {
            let allowed = "must be a field of bores or trenches, if the plant changes during the run";
            return Err(Error::invalid("Design", "ground_side", "a pond or a well", "", allowed));
        };
        let (designs, demands) = (std::slice::from_ref(&epoch.design), std::slice::from_ref(&epoch.demands));
        let course = Course { designs, demands };
        stepping.push(conduction::Epoch { prepared, course, hours: hours.clone() });
    }
    let mut hourly = Hourly::zeros(hours);
    let (stepped, results) = conduction::run_epochs(&stepping, &mut hourly, token)?;
    let mut yearly = Vec::with_capacity(years);
    let mut judgements = Vec::with_capacity(epochs.len());
    for ((mut stepped, epoch), hours) in stepped.into_iter().zip(epochs).zip(ranges) {
        let judgement = stepped.judged(epoch.design);
        let summary = stepped.liquid().map_err(|error| match error {
            Error::FluidFreezes { year, hour, temperature, freezing_point } => {
                let year = year + hours.start / HOURS_PER_YEAR;
                Error::FluidFreezes { year, hour, temperature, freezing_point }
            }
            other => other,
        })?;
        judgements.push((judgement, summary.years.len()));
        yearly.extend(summary.years);
    }
    let GroundSideResults { wall, error, hourly: kind_hourly, yearly: kind_yearly, .. } = results;
    hourly.wall = wall;
    Ok(Run { hourly, kind_hourly, yearly, kind_yearly, error, judgement: Judgement::of_parts(judgements) })
}

/// The ground side prepared for each epoch: the same one where fluid and flow are the same.
fn prepare_each(
    epochs: &[Epoch],
    hours: usize,
    token: &CancelToken,
) -> Result<Vec<Rc<dyn PreparedGroundSide>>, Error> {
    // The step response doesn't depend on fluid and flow.
    let curve = OnceCell::new();
    let response = |shape: &Shape| match curve.get() {
        Some(known) => Ok(LaplaceCurve::clone(known)),
        None => shape.response(token).map(|found| curve.get_or_init(|| found).clone()),
    };
    let mut prepared: Vec<Rc<dyn PreparedGroundSide>> = Vec::with_capacity(epochs.len());
    for Epoch { design, .. } in epochs {
        let is_same =
            |before: &Epoch| before.design.fluid == design.fluid && before.design.flow == design.flow;
        prepared.push(match epochs[..prepared.len()].iter().position(is_same) {
            Some(place) => Rc::clone(&prepared[place]),
            None => prepare(design, hours, &response)?.into(),
        });
    }
    Ok(prepared)
}

/// Checks that epochs follow each other within the years of the run.
fn check_order(epochs: &[Epoch], years: usize) -> Result<(), Error> {
    let mut before = None;
    for epoch in epochs {
        let least = before.map_or(0, |before: usize| before + 1);
        let is_in_order = if before.is_none() { epoch.first_year == 0 } else { epoch.first_year >= least };
        if !is_in_order || epoch.first_year >= years {
            let allowed =
                format!("must be after that of the change before, and at most the last year, {years}");
            return Err(Error::invalid("run", "year", epoch.first_year + 1, "", allowed));
        }
        before = Some(epoch.first_year);
    }
    Ok(())
}

/// Checks that what the ground remembers stays in place.
fn check_unchanged(first: &Design, later: &Design) -> Result<(), Error> {
    let refuse = |field: &str, allowed: &str| Err(Error::invalid("Design", field, "another", "", allowed));
    if later.ground != first.ground {
        return refuse("ground", "must stay the same from year to year");
    }
    if later.ground_side != first.ground_side {
        let allowed = "must stay the same from year to year: how the heat of past years acts on a field with other bores or pipes isn't known";
        return refuse("ground_side", allowed);
    }
    if later.start_month != first.start_month {
        return refuse("start_month", "must stay the same from year to year");
    }
    Ok(())
}
