//! The equations of a field, projected onto vectors across it times modes along the bore.

use std::ops::RangeInclusive;

use faer::linalg::solvers::{Llt, Solve};
use faer::{Mat, MatRef, Side};
use rayon::prelude::*;

use crate::error::Error;
use crate::ground::LaplaceCurve;

use super::field::Field;
use super::kernel::Nodes;
use super::unsolved;

/// Values of p whose solutions represent those at all p.
const SNAPSHOTS: usize = 16;

/// S(p) x = L, where S(p) is the sum over nodes of exp(-p / (4 a s^2)) x the matrix of the node.
pub struct System<'a> {
    nodes: &'a Nodes,
    /// The lower halves of the matrices, one after the other, in columns that begin at the diagonal.
    at_nodes: Vec<f64>,
    load: Mat<f64>,
    /// Total active depth (m).
    length: f64,
    /// The solutions of which the unknowns are coefficients, if those at a few p represent all.
    basis: Option<Mat<f64>>,
}

impl<'a> System<'a> {
    /// Projects the equations of a field onto its first `count` vectors times modes, which are columns over the
    /// segments: the unknown (vector, mode) has index vector x modes + mode. Without modes, every segment is one.
    pub fn new(field: &Field<'a>, count: usize, modes: Option<&Mat<f64>>) -> Self {
        let width = modes.map_or(field.segments.len(), Mat::ncols);
        let size = count * width;
        let mean = |mode: usize| -> f64 {
            let segments = field.segments.iter().enumerate();
            let mean = |modes: &Mat<f64>| segments.map(|(segment, part)| part * modes[(segment, mode)]).sum();
            modes.map_or(field.segments[mode], mean)
        };
        let load = |at: usize| field.depths[at / width] * mean(at % width);
        let mut at_nodes = vec![0.0; half(size) * field.nodes.s().len()];
        at_nodes.par_chunks_mut(half(size)).enumerate().for_each(|(node, lower)| {
            field.nodes.token().check();
            let across = field.across[node].submatrix(0, 0, count, count);
            match modes {
                None => set_product(lower, across, field.along[node].as_ref(), size),
                Some(modes) => {
                    let along = modes.transpose() * &field.along[node] * modes;
                    set_product(lower, across, along.as_ref(), size);
                }
            }
        });
        let load = Mat::from_fn(size, 1, |at, _| load(at));
        Self { nodes: field.nodes, at_nodes, load, length: field.length, basis: None }
    }

    /// The equations given by the symmetric matrices of the nodes, one after the other, in columns; the unknowns are
    /// coefficients of the columns of `basis`.
    pub fn of_matrices(
        nodes: &'a Nodes,
        at_nodes: Vec<f64>,
        load: Mat<f64>,
        length: f64,
        basis: Mat<f64>,
    ) -> Self {
        let size = load.nrows();
        let at_nodes = at_nodes.chunks(size * size).flat_map(|matrix| lower_half(matrix, size)).collect();
        Self { nodes, at_nodes, load, length, basis: Some(basis) }
    }

    /// Number of unknowns.
    pub fn count(&self) -> usize {
        self.load.nrows()
    }

    /// Relative increase of p x Laplace{g} with a smaller basis, at the worst of a few values of p.
    ///
    /// The smaller basis lacks the unknowns for which `last` is true. In a smaller space the heat extracted for a given
    /// drop can only be less (Galerkin), so both errors have the same sign, and the gain of the last unknowns indicates
    /// what more of them would gain.
    pub fn gain(&self, last: impl Fn(usize) -> bool, times: &RangeInclusive<f64>) -> Result<f64, Error> {
        let kept: Vec<usize> = (0..self.load.nrows()).filter(|&at| !last(at)).collect();
        let poorer = Mat::from_fn(kept.len(), 1, |at, _| self.load[(kept[at], 0)]);
        let sums = self.sums(&few_points(times));
        let gain = |point: usize| -> Result<f64, Error> {
            self.nodes.token().check();
            let matrix = self.matrix(&sums, point);
            let part = Mat::from_fn(kept.len(), kept.len(), |row, column| matrix[(kept[row], kept[column])]);
            let heat = |matrix: &Mat<f64>, load: &Mat<f64>| {
                Ok::<f64, Error>((load.transpose() * solve(matrix, load)?)[(0, 0)])
            };
            Ok(heat(&matrix, &self.load)? / heat(&part, &poorer)? - 1.0)
        };
        let gains: Result<Vec<f64>, Error> = (0..sums.ncols()).into_par_iter().map(gain).collect();
        Ok(gains?.into_iter().fold(0.0, f64::max))
    }

    /// Projects onto the solutions at a few values of p between those that the times need.
    pub fn reduced(self, times: &RangeInclusive<f64>) -> Result<Self, Error> {
        let basis = self.snapshots(times)?.qr().compute_thin_Q();
        let size = basis.nrows();
        let reduce = |lower: &[f64]| -> Vec<f64> {
            let reduced = basis.transpose() * square(lower, size) * &basis;
            let column = |column: usize| (column..reduced.nrows()).map(move |row| (row, column));
            (0..reduced.ncols()).flat_map(column).map(|at| reduced[at]).collect()
        };
        let matrices = self.at_nodes.par_chunks(half(size)).map(reduce);
        let at_nodes: Vec<f64> = matrices.collect::<Vec<_>>().concat();
        Ok(Self { at_nodes, load: basis.transpose() * &self.load, basis: Some(basis), ..self })
    }

    /// Coefficients of the heat per metre for a drop of 1 along every bore, at values of p over the whole range.
    pub fn snapshots(&self, times: &RangeInclusive<f64>) -> Result<Mat<f64>, Error> {
        let chosen = few_points(times);
        let solutions = self.solve(&chosen)?;
        Ok(Mat::from_fn(self.load.nrows(), chosen.len(), |row, point| solutions[point][(row, 0)]))
    }

    /// p x Laplace{g} with one wall temperature.
    pub fn drops_at_uniform_wall(&self, points: &[f64]) -> Result<Vec<f64>, Error> {
        let heat = |solution: Mat<f64>| (self.load.transpose() * solution)[(0, 0)];
        Ok(self.solve(points)?.into_iter().map(|solution| self.length / heat(solution)).collect())
    }

    /// Coefficients of the heat per metre with one wall temperature, for a total heat of 1 from all bores: one column
    /// per p.
    pub fn shares(&self, points: &[f64]) -> Result<Mat<f64>, Error> {
        let solutions = self.solve(points)?;
        let heat = |point: usize| (self.load.transpose() * &solutions[point])[(0, 0)];
        let heats: Vec<f64> = (0..points.len()).map(heat).collect();
        let shares = Mat::from_fn(self.load.nrows(), points.len(), |row, point| {
            solutions[point][(row, 0)] / heats[point]
        });
        Ok(match &self.basis {
            Some(basis) => basis * shares,
            None => shares,
        })
    }

    /// p x Laplace{g} with the same heat per metre everywhere; the only vector and the only mode are 1.
    pub fn drops_at_uniform_heat(&self, points: &[f64]) -> Vec<f64> {
        let sums = self.sums(points);
        let scale = self.length / self.load[(0, 0)].powi(2);
        (0..points.len()).map(|point| scale * sums[(0, point)]).collect()
    }

    /// The lower half of S(p), one column per p.
    fn sums(&self, points: &[f64]) -> Mat<f64> {
        let nodes = self.nodes.s().len();
        MatRef::from_column_major_slice(&self.at_nodes, self.at_nodes.len() / nodes, nodes)
            * self.nodes.decay(points)
    }

    /// Solutions at the given values of p.
    pub fn solve(&self, points: &[f64]) -> Result<Vec<Mat<f64>>, Error> {
        let sums = self.sums(points);
        let solve = |point: usize| {
            self.nodes.token().check();
            solve(&self.matrix(&sums, point), &self.load)
        };
        (0..points.len()).into_par_iter().map(solve).collect()
    }

    /// S(p), from its lower half in a column.
    fn matrix(&self, sums: &Mat<f64>, point: usize) -> Mat<f64> {
        let entries = sums.col(point).try_as_col_major().map_or(&[][..], |column| column.as_slice());
        square(entries, self.load.nrows())
    }
}

fn solve(matrix: &Mat<f64>, load: &Mat<f64>) -> Result<Mat<f64>, Error> {
    let factors = Llt::new(matrix.as_ref(), Side::Lower).map_err(|_| unsolved())?;
    Ok(factors.solve(load))
}

/// Values of p over the whole range that the times need.
fn few_points(times: &RangeInclusive<f64>) -> Vec<f64> {
    let points = LaplaceCurve::sample_points(times);
    let step = (points.len() - 1) as f64 / (SNAPSHOTS - 1) as f64;
    (0..SNAPSHOTS).map(|snapshot| points[(step * snapshot as f64).round() as usize]).collect()
}

/// Number of entries in the lower half of a matrix including its diagonal.
fn half(size: usize) -> usize {
    size * (size + 1) / 2
}

/// Sets the lower half of a matrix to (across x along), with the unknowns of `along` contiguous.
fn set_product(lower: &mut [f64], across: MatRef<'_, f64>, along: MatRef<'_, f64>, size: usize) {
    let width = along.ncols();
    let mut rest = lower;
    for at in 0..size {
        let (column, others) = rest.split_at_mut(size - at);
        rest = others;
        let (across, along) = (across.col(at / width), along.col(at % width));
        // Down to the end of the block that contains the diagonal, and then block by block.
        let (first, blocks) = column.split_at_mut(width - at % width);
        let set = |rows: &mut [f64], across: f64, from: usize| {
            rows.iter_mut().zip(along.iter().skip(from)).for_each(|(row, along)| *row = across * along);
        };
        set(first, across[at / width], at % width);
        for (block, rows) in blocks.chunks_mut(width).enumerate() {
            set(rows, across[at / width + 1 + block], 0);
        }
    }
}

/// The lower half of a matrix given by its columns.
fn lower_half(matrix: &[f64], size: usize) -> impl Iterator<Item = f64> {
    (0..size).flat_map(move |column| &matrix[column * size + column..(column + 1) * size]).copied()
}

/// A symmetric matrix, from its lower half.
fn square(lower: &[f64], size: usize) -> Mat<f64> {
    let mut matrix = Mat::zeros(size, size);
    let mut rest = lower;
    for column in 0..size {
        let (entries, others) = rest.split_at(size - column);
        rest = others;
        for (row, &entry) in (column..size).zip(entries) {
            matrix[(row, column)] = entry;
            matrix[(column, row)] = entry;
        }
    }
    matrix
}
