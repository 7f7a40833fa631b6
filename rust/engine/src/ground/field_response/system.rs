//! The equations of a field, projected onto vectors across it times modes along the bore.

use faer::linalg::solvers::{Llt, Solve};
use faer::{Mat, Side};
use rayon::prelude::*;

use crate::error::Error;

use super::Placed;
use super::kernel::Nodes;
use super::pair_sums::PairSums;
use super::shapes::Shapes;

/// S(p) x = L for x = sum of coefficients x vector x mode; the unknown (vector, mode) stands at vector x modes + mode.
pub struct System {
    at_nodes: Vec<Vec<f64>>,
    load: Vec<f64>,
    length: f64,
}

impl System {
    /// Projects onto `vectors`, one to a column over the bores, times `modes`, one to a column over the segments.
    pub fn new(
        nodes: &Nodes,
        bores: &[Placed],
        shapes: &Shapes,
        vectors: &Mat<f64>,
        modes: &Mat<f64>,
    ) -> Self {
        let sums = PairSums::new(bores, shapes, vectors);
        let at_node = |&s: &f64| {
            let kernels = Nodes::kernels(s, &shapes.edges);
            let along: Vec<Mat<f64>> = kernels.iter().map(|kernel| project(kernel, modes)).collect();
            project_across(&sums, s, vectors.ncols(), shapes.edges.len(), &along)
        };
        let at_nodes = nodes.s().par_iter().map(at_node).collect();
        let depths = |vector: usize| -> f64 {
            bores.iter().enumerate().map(|(bore, placed)| placed.source.depth * vectors[(bore, vector)]).sum()
        };
        let edges = &shapes.edges[0];
        let whole = edges[edges.len() - 1] - edges[0];
        let parts: Vec<f64> = edges.windows(2).map(|edge| (edge[1] - edge[0]) / whole).collect();
        let mean = |mode: usize| -> f64 {
            parts.iter().enumerate().map(|(segment, part)| part * modes[(segment, mode)]).sum()
        };
        let load = (0..vectors.ncols()).flat_map(|vector| {
            let depths = depths(vector);
            (0..modes.ncols()).map(move |mode| depths * mean(mode))
        });
        Self { at_nodes, load: load.collect(), length: bores.iter().map(|bore| bore.source.depth).sum() }
    }

    /// Coefficients of the heat per metre for a drop of 1 along every bore.
    pub fn solve(&self, nodes: &Nodes, p: f64) -> Result<Vec<f64>, Error> {
        let (size, matrix) = (self.load.len(), self.matrix(nodes, p));
        let symmetric = Mat::from_fn(size, size, |row, column| matrix[column * size + row]);
        let factors = Llt::new(symmetric.as_ref(), Side::Lower).map_err(|_| {
            let allowed = "must let the equations of the wall temperature be solved: bores stand too close";
            Error::invalid("BoreField", "positions", "as given", "", allowed)
        })?;
        let solution = factors.solve(Mat::from_fn(size, 1, |row, _| self.load[row]));
        Ok((0..size).map(|row| solution[(row, 0)]).collect())
    }

    /// p x Laplace{g} with one wall temperature.
    pub fn drop_at_uniform_wall(&self, nodes: &Nodes, p: f64) -> Result<f64, Error> {
        let heat: f64 = self.solve(nodes, p)?.iter().zip(&self.load).map(|(x, load)| x * load).sum();
        Ok(self.length / heat)
    }

    /// p x Laplace{g} with the same heat per metre everywhere; the only vector and the only mode are 1.
    pub fn drop_at_uniform_heat(&self, nodes: &Nodes, p: f64) -> f64 {
        self.matrix(nodes, p).iter().sum::<f64>() / self.length
    }

    fn matrix(&self, nodes: &Nodes, p: f64) -> Vec<f64> {
        let mut matrix = vec![0.0; self.load.len().pow(2)];
        for (decay, at_node) in nodes.decay(p).iter().zip(&self.at_nodes) {
            matrix.iter_mut().zip(at_node).for_each(|(sum, value)| *sum += decay * value);
        }
        matrix
    }
}

/// Modes x modes of a kernel in rows.
fn project(kernel: &[f64], modes: &Mat<f64>) -> Mat<f64> {
    let segments = modes.nrows();
    let kernel = Mat::from_fn(segments, segments, |row, column| kernel[row * segments + column]);
    modes.transpose() * kernel * modes
}

/// Kronecker's product of the sums across the field and the kernels along the bores, added over pairs of shapes.
fn project_across(sums: &PairSums, s: f64, vectors: usize, shapes: usize, along: &[Mat<f64>]) -> Vec<f64> {
    let (apart, own) = (sums.apart(s), sums.own(s));
    let modes = along.first().map_or(0, Mat::ncols);
    let size = vectors * modes;
    let mut matrix = vec![0.0; size * size];
    for from in 0..shapes {
        for to in 0..shapes {
            let along = &along[from * shapes + to];
            for a in 0..vectors {
                for b in 0..vectors {
                    let mut across = apart[(from * vectors + a) * shapes * vectors + to * vectors + b];
                    if from == to {
                        across += own[(from * vectors + a) * vectors + b];
                    }
                    if across == 0.0 {
                        continue;
                    }
                    for m in 0..modes {
                        let row = &mut matrix[(a * modes + m) * size + b * modes..][..modes];
                        row.iter_mut().enumerate().for_each(|(n, sum)| *sum += across * along[(m, n)]);
                    }
                }
            }
        }
    }
    matrix
}
