//! Step responses at given times.

use std::ops::RangeInclusive;

use super::{Condition, Ground, Lean, LineSource, Shape, inclined_response, line_source};
use crate::cancel_token::CancelToken;
use crate::error::Error;

/// Shortest and longest time for which responses are available (s): a second and 10,000 years.
const TIMES: RangeInclusive<f64> = 1.0..=10_000.0 * 8760.0 * 3600.0;

/// Checks the times of a response (s); `owner` names the response in the error.
///
/// # Errors
/// [`Error::InvalidInput`] for a time outside the supported range.
pub fn check_instants(owner: &str, times: &[f64]) -> Result<(), Error> {
    match times.iter().find(|time| !TIMES.contains(*time)) {
        None => Ok(()),
        Some(time) => {
            let allowed = format!("must be from {} to {:e} s (10,000 years)", TIMES.start(), TIMES.end());
            Err(Error::invalid(owner, "times", time, "s", allowed))
        }
    }
}

/// From the smallest to the largest of some times, in any order.
#[must_use]
pub fn span(times: &[f64]) -> RangeInclusive<f64> {
    let widen = |(first, last): (f64, f64), &time: &f64| (first.min(time), last.max(time));
    let (first, last) = times.iter().fold((f64::INFINITY, 0.0), widen);
    first..=last
}

/// The g-function of a field at times (s), in any order, as used in runs.
///
/// `sources` and `leans` have one entry for all `positions` (m), or one for each.
///
/// # Errors
/// [`Error::InvalidInput`] for a field that [`inclined_response`] rejects, or a time outside the supported range;
/// [`Error::Stopped`] if `token` was cancelled.
pub fn g_function(
    ground: &Ground,
    sources: &[LineSource],
    positions: &[[f64; 2]],
    leans: &[Lean],
    times: &[f64],
    condition: Condition,
    token: &CancelToken,
) -> Result<Vec<f64>, Error> {
    check_instants("g_function", times)?;
    if times.is_empty() {
        return Ok(Vec::new());
    }
    let span = span(times);
    let curve = match condition {
        Condition::UniformWallTemperature => {
            let (shape, slower) = Shape::of(ground, sources, positions, leans, &span);
            shape.response(token)?.slowed(slower)
        }
        Condition::UniformHeatFlux => {
            ground.check_still("a uniform heat flux")?;
            inclined_response(ground, sources, positions, leans, &span, condition, token)?
        }
    };
    Ok(times.iter().map(|&time| curve.step_response(time)).collect())
}

/// Mean response of one finite line source along another of the same depth and buried depth (m), at times (s).
///
/// # Errors
/// [`Error::InvalidInput`] for a value that is not physical, or a time outside the supported range.
pub fn line_source_at(
    ground: &Ground,
    times: &[f64],
    distance: f64,
    depth: f64,
    buried_depth: f64,
) -> Result<Vec<f64>, Error> {
    const OWNER: &str = "line_source";
    ground.validate()?;
    ground.check_still(OWNER)?;
    check_instants(OWNER, times)?;
    for (field, value, range) in [
        ("distance", distance, 1e-3..=1e5),
        ("depth", depth, 1e-2..=1e4),
        ("buried_depth", buried_depth, 0.0..=1e4),
    ] {
        if !range.contains(&value) {
            let allowed = format!("must be from {} to {} m", range.start(), range.end());
            return Err(Error::invalid(OWNER, field, value, "m", allowed));
        }
    }
    let segment = [buried_depth, buried_depth + depth];
    Ok(times.iter().map(|&time| line_source(ground, time, distance, segment, segment)).collect())
}
