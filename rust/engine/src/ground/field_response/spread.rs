//! Distribution of the heat of a field with one wall temperature over its bores and their segments, and its change over
//! time.

use std::ops::RangeInclusive;

use faer::Mat;

use crate::cancel_token::{CancelToken, cancellable};
use crate::error::Error;
use crate::ground::{Ground, LaplaceCurve, LineSource};

use super::kernel::Nodes;
use super::segments::SEGMENTS;
use super::{
    Condition, LEAST, Placed, Unknowns, check_times, equations, kinds, placed, share_of_depth, wall_error,
    with_walls,
};

/// Patterns below this fraction of the first are dropped.
const LEAST_PATTERN: f64 = 1e-5;

/// Patterns of heat per metre, and the amount of each at each p.
///
/// Of a heat Q(p) from all bores together, the segments extract
/// `(patterns[0] + sum over k of curves[k](p) x patterns[k + 1]) x Q(p)`. The first pattern is that of heat that has
/// just begun and extracts all of Q; the others only shift heat from segment to segment, and build up over time.
#[derive(Debug, Clone)]
pub struct HeatSpread {
    /// The bores, sorted by position.
    pub bores: Vec<Placed>,
    /// For each bore, the index of its list of edges.
    pub kinds: Vec<usize>,
    /// Depths of the edges of a bore's segments (m).
    pub edges: Vec<Vec<f64>>,
    /// Vectors over the bores, in columns.
    pub across: Mat<f64>,
    /// Modes over the segments, in columns.
    pub along: Mat<f64>,
    /// Share of the heat (1/m), modes x vectors.
    pub patterns: Vec<Mat<f64>>,
    /// Amount of each pattern except the first: p x Laplace{its step response}.
    pub curves: Vec<LaplaceCurve>,
    /// p x Laplace{g} of the field.
    pub response: LaplaceCurve,
}

/// The distribution of a field's heat, for the given times (s); arguments as for
/// [`field_response`](super::field_response).
///
/// # Errors
/// Those of [`field_response`](super::field_response).
pub fn heat_spread(
    ground: &Ground,
    sources: &[LineSource],
    positions: &[[f64; 2]],
    times: &RangeInclusive<f64>,
    token: &CancelToken,
) -> Result<HeatSpread, Error> {
    cancellable(|| spread(ground, sources, positions, times, token))
}

fn spread(
    ground: &Ground,
    sources: &[LineSource],
    positions: &[[f64; 2]],
    times: &RangeInclusive<f64>,
    token: &CancelToken,
) -> Result<HeatSpread, Error> {
    ground.validate()?;
    check_times(times)?;
    let bores = placed(sources, positions, token)?;
    let nodes = Nodes::new(ground.diffusivity(), times, &bores, token);
    let points = LaplaceCurve::sample_points(times);
    let (system, unknowns, gain) = equations(&nodes, &bores, times)?;
    let deeper = share_of_depth(sources, positions.len());
    let lines = system.drops_at_uniform_wall(&points)?.into_iter().map(|drop| deeper * drop).collect();
    let condition = Condition::UniformWallTemperature;
    let drops = with_walls(lines, ground.diffusivity(), sources, times, condition, token)?;
    let [across, along] = match unknowns {
        Unknowns::Products { across, along } => [across, along],
        Unknowns::Segments => [bores.len(), SEGMENTS].map(|count| Mat::identity(count, count)),
    };
    let (patterns, curves) = patterns(&system.shares(&points)?, along.ncols(), &points, times)?;

    let (different, kinds) = kinds(&bores);
    Ok(HeatSpread {
        kinds,
        edges: different.iter().map(LineSource::edges).collect(),
        bores,
        across,
        along,
        patterns,
        curves,
        response: LaplaceCurve::from_samples(times, &drops)
            .with_error(LEAST + wall_error(sources, positions) + gain),
    })
}

/// Patterns and their curves from shares, one column per p: the earliest share, and the leading singular vectors of the
/// differences of the others from it.
pub(in crate::ground) fn patterns(
    shares: &Mat<f64>,
    modes: usize,
    points: &[f64],
    times: &RangeInclusive<f64>,
) -> Result<(Vec<Mat<f64>>, Vec<LaplaceCurve>), Error> {
    let earliest = (0..points.len()).max_by(|&a, &b| points[a].total_cmp(&points[b])).unwrap_or(0);
    let first = shares.col(earliest);
    let rest = Mat::from_fn(shares.nrows(), shares.ncols(), |row, point| shares[(row, point)] - first[row]);
    let parts = rest.thin_svd().map_err(|_| {
        let allowed = "must allow the heat patterns of the bores to be distinguished";
        Error::invalid("BoreField", "bores", "as given", "", allowed)
    })?;
    let sizes = parts.S().column_vector();
    let least = LEAST_PATTERN * first.norm_l2() * (points.len() as f64).sqrt();
    let kept = (0..sizes.nrows()).take_while(|&k| sizes[k] > least).count();
    let pattern = |value: &dyn Fn(usize) -> f64| {
        Mat::from_fn(modes, shares.nrows() / modes, |mode, vector| value(vector * modes + mode))
    };
    let moved = (0..kept).map(|k| pattern(&|row| parts.U()[(row, k)]));
    let curve = |k: usize| {
        let samples: Vec<f64> = (0..points.len()).map(|point| sizes[k] * parts.V()[(point, k)]).collect();
        LaplaceCurve::from_samples(times, &samples)
    };
    let patterns = std::iter::once(pattern(&|row| first[row])).chain(moved).collect();
    Ok((patterns, (0..kept).map(curve).collect()))
}
