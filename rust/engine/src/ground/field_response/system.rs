//! The equations of a field, projected onto vectors across it times modes along the bore.

use std::ops::RangeInclusive;

use faer::linalg::solvers::{Llt, Solve};
use faer::{Mat, MatRef, Side};
use rayon::prelude::*;

use crate::error::Error;
use crate::ground::LaplaceCurve;

use super::Placed;
use super::kernel::{Nodes, jumps};
use super::pair_sums::PairSums;
use super::shapes::Shapes;

/// Values of p for which solutions are taken to stand for those at all p.
const SNAPSHOTS: usize = 16;

/// S(p) x = L, where S(p) is the sum over nodes of exp(-p / (4 a s^2)) x the matrix of the node.
pub struct System {
    /// The matrices, one to a column.
    at_nodes: Mat<f64>,
    load: Mat<f64>,
    /// Active depth of all bores [m].
    length: f64,
}

/// How the heat per metre is sought: sum of coefficients x vector x mode, where the unknown (vector, mode) stands at
/// vector x modes + mode.
pub struct Basis<'a> {
    /// Vectors in columns over the bores.
    pub vectors: &'a Mat<f64>,
    /// Modes in columns over the segments.
    pub modes: &'a Mat<f64>,
    /// Relative lengths of the segments.
    pub segments: &'a [f64],
    /// Depths and tops to interpolate between, for two bores and for one alone.
    pub knots: [[usize; 2]; 2],
}

impl System {
    /// Projects the equations of a field.
    pub fn new(nodes: &Nodes, bores: &[Placed], basis: &Basis<'_>) -> Self {
        let (vectors, modes) = (basis.vectors, basis.modes);
        let [shapes, own_shapes] = basis.knots.map(|knots| Shapes::new(bores, basis.segments, knots));
        let (count, kinds) = (vectors.ncols(), shapes.edges.len());
        let columns = Mat::from_fn(bores.len(), kinds * count, |bore, column| {
            shapes.weights[(bore, column / count)] * vectors[(bore, column % count)]
        });
        let sums = PairSums::new(bores, &columns, nodes.s()[0]);
        let own = own_sums(bores, &own_shapes, vectors);
        let jumps = jumps(modes);
        let size = count * modes.ncols();
        let at_node = |&s: &f64| {
            let own_across =
                own.iter().fold(Mat::zeros(count * count, own_shapes.edges.len()), |sum, (radius, own)| {
                    sum + own * faer::Scale((-(radius * s).powi(2)).exp())
                });
            let own_along: Vec<Mat<f64>> =
                own_shapes.edges.iter().map(|edges| nodes.kernel(s, edges, edges, &jumps)).collect();
            let mut matrix = own_across * flat(&own_along);
            if let Some(across) = sums.at(s) {
                let across = Mat::from_fn(count * count, kinds * kinds, |pair, shape| {
                    across[(shape / kinds * count + pair / count, shape % kinds * count + pair % count)]
                });
                let mut along = vec![Mat::zeros(0, 0); kinds * kinds];
                for (from, to) in (0..kinds).flat_map(|from| (from..kinds).map(move |to| (from, to))) {
                    let kernel = nodes.kernel(s, &shapes.edges[from], &shapes.edges[to], &jumps);
                    along[to * kinds + from] = kernel.transpose().to_owned();
                    along[from * kinds + to] = kernel;
                }
                matrix += across * flat(&along);
            }
            let modes = modes.ncols();
            let entry = |at: usize| {
                let (row, column) = (at % size, at / size);
                matrix[(row / modes * count + column / modes, row % modes * modes + column % modes)]
            };
            (0..size * size).map(entry).collect::<Vec<f64>>()
        };
        let matrices: Vec<Vec<f64>> = nodes.s().par_iter().map(at_node).collect();
        let mean = |mode: usize| -> f64 {
            basis.segments.iter().enumerate().map(|(segment, part)| part * modes[(segment, mode)]).sum()
        };
        let depths = |vector: usize| -> f64 {
            bores.iter().enumerate().map(|(bore, placed)| placed.source.depth * vectors[(bore, vector)]).sum()
        };
        Self {
            at_nodes: Mat::from_fn(size * size, matrices.len(), |at, node| matrices[node][at]),
            load: Mat::from_fn(size, 1, |at, _| depths(at / modes.ncols()) * mean(at % modes.ncols())),
            length: bores.iter().map(|bore| bore.source.depth).sum(),
        }
    }

    /// Projects onto the solutions at a few values of p between those that the times ask for.
    pub fn reduced(self, nodes: &Nodes, times: &RangeInclusive<f64>) -> Result<Self, Error> {
        let snapshots = self.snapshots(nodes, times)?;
        let basis = snapshots.qr().compute_thin_Q();
        let size = self.load.nrows();
        let matrices: Vec<Mat<f64>> = (0..self.at_nodes.ncols())
            .map(|node| {
                basis.transpose()
                    * square(
                        self.at_nodes.col(node).try_as_col_major().map_or(&[], |column| column.as_slice()),
                        size,
                    )
                    * &basis
            })
            .collect();
        Ok(Self {
            at_nodes: flat(&matrices).transpose().to_owned(),
            load: basis.transpose() * &self.load,
            length: self.length,
        })
    }

    /// Coefficients of the heat per metre for a drop of 1 along every bore, at values of p all over the span.
    pub fn snapshots(&self, nodes: &Nodes, times: &RangeInclusive<f64>) -> Result<Mat<f64>, Error> {
        let points = LaplaceCurve::sample_points(times);
        let step = (points.len() - 1) as f64 / (SNAPSHOTS - 1) as f64;
        let chosen: Vec<f64> =
            (0..SNAPSHOTS).map(|snapshot| points[(step * snapshot as f64).round() as usize]).collect();
        let solutions = self.solve(nodes, &chosen)?;
        Ok(Mat::from_fn(self.load.nrows(), chosen.len(), |row, point| solutions[point][(row, 0)]))
    }

    /// p x Laplace{g} with one wall temperature.
    pub fn drops_at_uniform_wall(&self, nodes: &Nodes, points: &[f64]) -> Result<Vec<f64>, Error> {
        let heat = |solution: Mat<f64>| (self.load.transpose() * solution)[(0, 0)];
        Ok(self.solve(nodes, points)?.into_iter().map(|solution| self.length / heat(solution)).collect())
    }

    /// p x Laplace{g} with the same heat per metre everywhere; the only vector and the only mode are 1.
    pub fn drops_at_uniform_heat(&self, nodes: &Nodes, points: &[f64]) -> Vec<f64> {
        let sums = &self.at_nodes * nodes.decay(points);
        (0..points.len()).map(|point| sums[(0, point)] / self.length).collect()
    }

    /// Solutions at the given values of p.
    fn solve(&self, nodes: &Nodes, points: &[f64]) -> Result<Vec<Mat<f64>>, Error> {
        let size = self.load.nrows();
        let solve = |&p: &f64| {
            let matrix = &self.at_nodes * nodes.decay(&[p]);
            let matrix = Mat::from_fn(size, size, |row, column| matrix[(column * size + row, 0)]);
            let factors = Llt::new(matrix.as_ref(), Side::Lower).map_err(|_| {
                let allowed =
                    "must let the equations of the wall temperature be solved: bores stand too close";
                Error::invalid("BoreField", "positions", "as given", "", allowed)
            })?;
            Ok(factors.solve(&self.load))
        };
        points.par_iter().map(solve).collect()
    }
}

/// Radii with the sums over the bores that have them of weight x product of two vectors: vector x vector, shape.
fn own_sums(bores: &[Placed], shapes: &Shapes, vectors: &Mat<f64>) -> Vec<(f64, Mat<f64>)> {
    let count = vectors.ncols();
    let mut radii: Vec<f64> = bores.iter().map(|bore| bore.source.radius).collect();
    radii.sort_by(f64::total_cmp);
    radii.dedup();
    let sums = |radius: f64| {
        let products = Mat::from_fn(bores.len(), count * count, |bore, pair| {
            let here = f64::from(bores[bore].source.radius == radius);
            here * vectors[(bore, pair / count)] * vectors[(bore, pair % count)]
        });
        (radius, products.transpose() * &shapes.weights)
    };
    radii.into_iter().map(sums).collect()
}

/// Matrices in the rows of one, each row by row.
fn flat(matrices: &[Mat<f64>]) -> Mat<f64> {
    let columns = matrices.first().map_or(1, Mat::ncols);
    let size = matrices.first().map_or(0, |matrix| matrix.nrows() * columns);
    Mat::from_fn(matrices.len(), size, |index, at| matrices[index][(at / columns, at % columns)])
}

fn square(values: &[f64], size: usize) -> MatRef<'_, f64> {
    MatRef::from_column_major_slice(values, size, size)
}
