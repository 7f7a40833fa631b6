//! Modes along the bore: the few profiles of heat per metre that occur in a field over all times.

use faer::{Mat, Side};

use super::unsolved;
use crate::error::Error;

/// Modes are kept down to this fraction of the first, by their singular values.
const LEAST: f64 = 1e-4;

/// Modes, at most this many, one per column over segments of the given relative lengths.
/// `snapshots` are solutions, in columns, of a system with one mode per segment: profiles, one below the other, which
/// are weighted by the segments' lengths. Their leading singular vectors are the modes.
pub fn modes(snapshots: &Mat<f64>, segments: &[f64], most: usize) -> Result<Mat<f64>, Error> {
    let count = segments.len();
    let profiles = snapshots.nrows() / count;
    let mean = |snapshot: usize| -> f64 {
        segments.iter().enumerate().map(|(segment, length)| length * snapshots[(segment, snapshot)]).sum()
    };
    let means: Vec<f64> = (0..snapshots.ncols()).map(mean).collect();
    let weighted = Mat::from_fn(count, profiles * snapshots.ncols(), |segment, profile| {
        let snapshot = profile / profiles;
        let value = snapshots[(profile % profiles * count + segment, snapshot)];
        value * segments[segment].sqrt() / means[snapshot]
    });
    let squares = &weighted * weighted.transpose();
    let decomposed = squares.self_adjoint_eigen(Side::Lower).map_err(|_| {
        let allowed = "must allow the heat profiles along the bores to be distinguished";
        Error::invalid("BoreField", "bores", "as given", "", allowed)
    })?;
    let (values, vectors) = (decomposed.S().column_vector(), decomposed.U());
    let last = count - 1;
    let kept =
        (0..count).take_while(|&mode| values[last - mode] > LEAST * LEAST * values[last]).take(most).count();
    if kept == 0 {
        return Err(unsolved());
    }
    Ok(Mat::from_fn(count, kept, |segment, mode| vectors[(segment, last - mode)] / segments[segment].sqrt()))
}
