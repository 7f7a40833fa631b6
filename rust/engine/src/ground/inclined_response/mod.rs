//! Step response of a field with inclined bores.
//!
//! Bores, segments, surface and equations are those of `field_response`: S(p) x = L gives the heat x per metre for a
//! drop of 1 everywhere, and p x Laplace{g} = (sum of L) / (L . x). Inclined bores share neither a direction nor a
//! depth over which sums could be separated, so S is assembled from pairs of segments and solved directly:
//!
//! ```text
//! S_uv = 1/2 x double integral over both segments of exp(-q d) / d - exp(-q d') / d',    q = sqrt(p / a)
//! ```
//!
//! where d is the distance between two points and d' that from the mirror image above the surface (inclined finite line
//! sources: Cui, Yang & Fang 2006, Lamarche 2011; buried lines of any direction: Claesson & Dunand 1983; all from
//! memory).

mod equations;
mod lean;
mod links;
mod piece;

use std::ops::RangeInclusive;

use rayon::prelude::*;

use super::field_response::{
    below_surface, check_placed, check_times, share_of_depth, wall_error, with_walls,
};
use super::{Condition, Ground, LaplaceCurve, LineSource, field_response};
use crate::cancel_token::{CancelToken, cancellable};
use crate::error::Error;

use equations::Equations;
pub use lean::{Lean, check_leans};
use piece::Piece;

/// Relative error of quadrature and inversion, the only approximations of this response.
const ERROR: f64 = 3e-5;

/// p x Laplace{g} of a field whose bores may be inclined, where g is the drop of the wall temperature x 2 pi k / (mean
/// heat per metre).
///
/// `sources` and `leans` have one entry for all `positions` (m), or one for each; `depth` and `buried_depth` are
/// measured along the bore. If no bore is inclined, this is [`field_response`]. The curve covers the given times (s).
///
/// # Errors
/// [`Error::InvalidInput`] if a value is not physical, if the numbers of sources, leans and positions don't match, or
/// if bores overlap or are too many for a direct solution; [`Error::Stopped`] if `token` was cancelled.
pub fn inclined_response(
    ground: &Ground,
    sources: &[LineSource],
    positions: &[[f64; 2]],
    leans: &[Lean],
    times: &RangeInclusive<f64>,
    condition: Condition,
    token: &CancelToken,
) -> Result<LaplaceCurve, Error> {
    if leans.iter().all(Lean::is_vertical) {
        return field_response(ground, sources, positions, times, condition, token);
    }
    cancellable(|| solved(ground, sources, positions, leans, times, condition, token))
}

fn solved(
    ground: &Ground,
    sources: &[LineSource],
    positions: &[[f64; 2]],
    leans: &[Lean],
    times: &RangeInclusive<f64>,
    condition: Condition,
    token: &CancelToken,
) -> Result<LaplaceCurve, Error> {
    ground.validate()?;
    check_times(times)?;
    check_placed(sources, positions, token)?;
    check_leans(sources, positions, leans)?;
    let bores = standing(sources, positions, leans);
    let points = LaplaceCurve::sample_points(times);
    let equations = Equations::new(ground, &bores, times, &points, token);
    let deeper = share_of_depth(sources, positions.len());
    let sample = |point: usize| equations.response(point, condition).map(|drop| deeper * drop);
    let lines = (0..points.len()).into_par_iter().map(sample).collect::<Result<Vec<_>, Error>>()?;
    let samples = with_walls(lines, ground.diffusivity(), sources, times, condition, token)?;
    Ok(LaplaceCurve::from_samples(times, &samples).with_error(ERROR + wall_error(sources, positions)))
}

/// A bore in the ground.
struct PlacedBore {
    /// Its depth, buried depth and radius.
    source: LineSource,
    /// Its segments, from the top down.
    segments: Vec<Piece>,
}

/// The bores, sorted by position and inclination so that their order on input has no effect.
fn standing(sources: &[LineSource], positions: &[[f64; 2]], leans: &[Lean]) -> Vec<PlacedBore> {
    let numbers = |bore: usize| {
        let (position, lean) = (positions[bore], leans[bore % leans.len()]);
        [position[0], position[1], lean.inclination, lean.direction]
    };
    let mut order: Vec<usize> = (0..positions.len()).collect();
    let compared =
        |a: [f64; 4], b: [f64; 4]| a.iter().zip(&b).map(|(a, b)| a.total_cmp(b)).find(|order| order.is_ne());
    order.sort_by(|&a, &b| compared(numbers(a), numbers(b)).unwrap_or(a.cmp(&b)));
    let bore = |&bore: &usize| {
        let (source, lean) = (below_surface(sources[bore % sources.len()]), leans[bore % leans.len()]);
        let edges = source.edges();
        let segment = |edges: &[f64]| lean.piece(positions[bore], [edges[0], edges[1]]);
        PlacedBore { source, segments: edges.windows(2).map(segment).collect() }
    };
    order.iter().map(bore).collect()
}

#[cfg(test)]
mod tests;
