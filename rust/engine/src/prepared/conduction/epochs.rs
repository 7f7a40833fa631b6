//! Runs of one loop whose plant changes from one year to another.

use std::ops::Range;

use super::error_check::{Drops, ErrorCheck};
use super::responses::Responses;
use super::stepping::step_epochs;
use crate::cancel_token::CancelToken;
use crate::error::Error;
use crate::history::Superposition;
use crate::hourly::Hourly;
use crate::judgement::Criterion;
use crate::prepared::{GroundSideResults, RunError, Stepped};
use crate::stepper::Course;

/// Hours of a run in which the plant stays the same: whole years.
#[derive(Debug, Clone)]
pub struct Epoch<'a> {
    /// The loop with the fluid and the flow of these hours, prepared for the whole run.
    pub prepared: &'a Responses,
    /// One design and its demand, which begins with these hours.
    pub course: Course<'a>,
    /// Which hours of the run.
    pub hours: Range<usize>,
}

/// Steps the epochs of a run one after the other; the effect of the heat of each lasts through all later ones.
///
/// Fluid and flow may change. The heat stored inside bores then follows the response of the new flow at once; the
/// largest difference that this can make is part of the error.
///
/// # Errors
/// [`Error::Stopped`] if the token was cancelled; [`Error::InvalidInput`] if fluid or flow of trenches change, whose
/// pipes share the heat according to them.
pub fn run_epochs(
    epochs: &[Epoch],
    hourly: &mut Hourly,
    token: &CancelToken,
) -> Result<(Vec<Stepped>, GroundSideResults), Error> {
    let first = epochs[0].prepared;
    let mut distinct: Vec<&Responses> = Vec::new();
    for epoch in epochs {
        if first.is_soil && !std::ptr::eq(epoch.prepared, first) {
            let allowed = "must stay the same from year to year, and so must the fluid: the pipes of trenches share the heat according to both";
            let flow = epoch.course.designs[0].flow;
            return Err(Error::invalid("Design", "flow", flow, "kg/s", allowed));
        }
        if !distinct.iter().any(|known| std::ptr::eq(*known, epoch.prepared)) {
            distinct.push(epoch.prepared);
        }
    }
    let hours = hourly.len();
    // Stepping uses one processor; meanwhile another prepares the evaluation of the heat.
    let (stepped, checks) = rayon::join(
        || step_epochs(epochs, Some(hourly), token),
        || distinct.iter().map(|prepared| ErrorCheck::new(prepared, hours)).collect::<Vec<_>>(),
    );
    let mut stepped = stepped?;
    let drops: Vec<Drops> = checks.into_iter().map(|check| check.superposed(hourly)).collect();
    let mut wall = Vec::with_capacity(hours);
    let mut error = RunError::NONE;
    for (epoch, stepped) in epochs.iter().zip(&mut stepped) {
        let Some(drops) = drops.iter().find(|drops| drops.are_of(epoch.prepared)) else { continue };
        let of_epoch = drops.wall(epoch.hours.clone());
        stepped.criteria.extend(Criterion::of_wall(&epoch.course.designs[0].limits, &of_epoch));
        wall.extend(of_epoch);
        error = error.or(drops.error(&epoch.course, hourly, epoch.hours.clone()));
    }
    for pair in epochs.windows(2) {
        error.inside += change_of_inside([&pair[0], &pair[1]], hourly);
    }
    let mut yearly = std::mem::take(&mut stepped[0].columns);
    for later in &mut stepped[1..] {
        for ((_, years), (_, more)) in yearly.iter_mut().zip(std::mem::take(&mut later.columns)) {
            years.extend(more);
        }
    }
    let results = GroundSideResults { wall, error, hourly: Vec::new(), yearly, criteria: Vec::new() };
    Ok((stepped, results))
}

/// Largest difference in the fluid's temperature after a change of flow or fluid (K) between the heat before it as it
/// acts with the response of the old flow and of the new one.
fn change_of_inside([before, after]: [&Epoch; 2], hourly: &Hourly) -> f64 {
    let (Some(old), Some(new)) = (&before.prepared.fluid, &after.prepared.fluid) else { return 0.0 };
    if std::ptr::eq(before.prepared, after.prepared) {
        return 0.0;
    }
    let change = after.hours.start;
    let ln_hours: Vec<f64> = (1..=hourly.len()).map(|hour| (hour as f64).ln()).collect();
    let mut heat = hourly.heat_extracted.clone();
    heat[change..].fill(0.0);
    let drops = Superposition::new(heat.len(), [old.hourly(&ln_hours), new.hourly(&ln_hours)]).of(&heat);
    let difference = |hour: usize| (after.prepared.drop_per_watt * (drops[1][hour] - drops[0][hour])).abs();
    (change..heat.len()).map(difference).fold(0.0, f64::max)
}
