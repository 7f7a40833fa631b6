//! Modes along the bore: the few profiles of heat per metre that a field shows over all times.

use std::ops::RangeInclusive;

use faer::{Mat, Side};
use rayon::prelude::*;

use crate::error::Error;
use crate::ground::LaplaceCurve;

use super::kernel::Nodes;
use super::system::System;

/// Values of p at which profiles are taken.
const SNAPSHOTS: usize = 15;

/// Modes are kept down to this part of the first, by their singular values.
const LEAST: f64 = 1e-4;

/// Modes at most.
const MOST: usize = 7;

/// Modes, one to a column over segments of the given relative lengths, from a system that has every segment.
///
/// Profiles at values of p all over the span are weighted by the segments' lengths; their leading singular vectors are
/// the modes.
pub fn modes(
    nodes: &Nodes,
    system: &System,
    segments: &[f64],
    times: &RangeInclusive<f64>,
) -> Result<Mat<f64>, Error> {
    let count = segments.len();
    let points = LaplaceCurve::sample_points(times);
    let step = (points.len() - 1) as f64 / (SNAPSHOTS - 1) as f64;
    let chosen: Vec<f64> =
        (0..SNAPSHOTS).map(|snapshot| points[(step * snapshot as f64).round() as usize]).collect();
    let solutions: Vec<Vec<f64>> =
        chosen.par_iter().map(|&p| system.solve(nodes, p)).collect::<Result<Vec<_>, Error>>()?;
    let mut squares = Mat::<f64>::zeros(count, count);
    for solution in &solutions {
        let mean: f64 = solution.iter().zip(segments).map(|(x, length)| x * length).sum();
        for profile in solution.chunks(count) {
            let weighted: Vec<f64> =
                profile.iter().zip(segments).map(|(x, length)| x * length.sqrt() / mean).collect();
            for row in 0..count {
                for column in 0..count {
                    squares[(row, column)] += weighted[row] * weighted[column];
                }
            }
        }
    }
    let decomposed = squares.self_adjoint_eigen(Side::Lower).map_err(|_| {
        Error::invalid(
            "BoreField",
            "bores",
            "as given",
            "",
            "must let the profiles along the bores be told apart",
        )
    })?;
    let (values, vectors) = (decomposed.S().column_vector(), decomposed.U());
    let last = count - 1;
    let kept =
        (0..count).take_while(|&mode| values[last - mode] > LEAST * LEAST * values[last]).take(MOST).count();
    Ok(Mat::from_fn(count, kept, |segment, mode| vectors[(segment, last - mode)] / segments[segment].sqrt()))
}
