//! Vectors across the field: how the heat is distributed among the bores, over all times.
//!
//! They come from a coarse form of the problem, solved for a few late p's. Its errors cost little: the error of the
//! result built on the vectors is of second order.

use std::ops::RangeInclusive;

use faer::Mat;

use crate::ground::LaplaceCurve;

use super::Placed;
use super::coarse::CoarseField;
use super::kernel::Nodes;
use super::lattice::LANES;

/// Most vectors from the coarse form of the problem.
const MOST: usize = 7;

/// A vector is dropped if a smaller part of it is new.
const LEAST: f64 = 1e-4;

/// Ratio of the largest to the smallest p.
const LATE: f64 = 1e4;

/// Orthonormal vectors over the bores, one per column.
pub fn vectors(nodes: &Nodes, bores: &[Placed], times: &RangeInclusive<f64>) -> Mat<f64> {
    let shares = CoarseField::new(nodes, bores, &late_points(times)).solve();
    let value = |bore: usize, column: usize| match column.checked_sub(1) {
        None => 1.0,
        Some(lane) => f64::from(shares[bore][lane]),
    };
    orthonormal(&Mat::from_fn(bores.len(), 1 + LANES, value), 1, 1 + MOST).0
}

/// Values of p from the latest time over four decades back.
fn late_points(times: &RangeInclusive<f64>) -> [f64; LANES] {
    let points = LaplaceCurve::sample_points(times);
    let (least, most) = points.iter().fold((f64::INFINITY, 0.0_f64), |(a, b), &p| (a.min(p), b.max(p)));
    let most = most.min(LATE * least);
    std::array::from_fn(|lane| least * (most / least).powf(lane as f64 / (LANES - 1) as f64))
}

/// Orthonormal vectors that nearly span all columns: the given first ones, then in each step the one with the largest
/// remainder; and the number of vectors after the given ones.
pub fn orthonormal(columns: &Mat<f64>, given: usize, most: usize) -> (Mat<f64>, usize) {
    let lengths: Vec<f64> = columns.col_iter().map(|column| column.norm_l2()).collect();
    let scaled = Mat::from_fn(columns.nrows(), columns.ncols(), |row, column| {
        if lengths[column] > 0.0 { columns[(row, column)] / lengths[column] } else { 0.0 }
    });
    let (chosen, rows) = newest(&(scaled.transpose() * &scaled), given, most);
    let kept = chosen.iter().filter(|&&column| column < given).count();
    let mut vectors =
        Mat::from_fn(columns.nrows(), chosen.len(), |row, column| scaled[(row, chosen[column])]);
    // The rows of the factorisation are the products of the orthonormal vectors with the columns.
    for (at, &column) in chosen.iter().enumerate() {
        let (before, mut rest) = vectors.as_mut().split_at_col_mut(at);
        let mut vector = rest.as_mut().col_mut(0);
        for (other, row) in before.col_iter().zip(&rows) {
            vector -= faer::Scale(row[(0, column)]) * other;
        }
        vector *= faer::Scale(rows[at][(0, column)].recip());
    }
    (vectors, kept)
}

/// The pivot columns of a Cholesky factorisation of their products, with the rows of the factor.
fn newest(products: &Mat<f64>, given: usize, most: usize) -> (Vec<usize>, Vec<Mat<f64>>) {
    let mut left = products.clone();
    let (mut chosen, mut rows) = (Vec::new(), Vec::new());
    for step in 0..most {
        let by_newness = |&a: &usize, &b: &usize| left[(a, a)].total_cmp(&left[(b, b)]);
        let newest = (0..left.ncols()).max_by(by_newness).unwrap_or(0);
        let next = if step < given { step } else { newest };
        let new = left[(next, next)];
        if new > LEAST * LEAST {
            let row = Mat::from_fn(1, left.ncols(), |_, column| left[(next, column)] / new.sqrt());
            left -= row.transpose() * &row;
            chosen.push(next);
            rows.push(row);
        }
    }
    (chosen, rows)
}
