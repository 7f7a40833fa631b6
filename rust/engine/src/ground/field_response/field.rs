//! What the equations of a field are put together from: sums across the field and kernels along the bores.

use faer::Mat;
use rayon::prelude::*;

use super::Placed;
use super::kernel::Nodes;
use super::pair_sums::pair_sums;

/// A field with vectors across it, one to a column over the bores, each of which is shared out among shapes.
pub struct Field<'a> {
    pub nodes: &'a Nodes,
    /// Relative lengths of the segments of a bore.
    pub segments: Vec<f64>,
    /// For each vector, the sum over the bores of active depth x vector [m].
    pub depths: Vec<f64>,
    /// Active depth of all bores [m].
    pub length: f64,
    /// At each node, what each bore does to itself, shape by shape, and what two do to each other, from x to.
    pub own: Vec<Part>,
    pub between: Vec<Option<Part>>,
}

/// Shapes of bore, by the depths of their segments' edges [m], and their weights, in columns, for each bore.
pub struct Shares {
    pub edges: Vec<Vec<f64>>,
    pub weights: Mat<f64>,
}

impl Shares {
    /// Weight x vector, at shape x vectors + vector.
    fn columns(&self, vectors: &Mat<f64>) -> Mat<f64> {
        let count = vectors.ncols();
        Mat::from_fn(vectors.nrows(), self.edges.len() * count, |bore, column| {
            self.weights[(bore, column / count)] * vectors[(bore, column % count)]
        })
    }
}

/// For shapes or pairs of them: vectors x vectors, and segments x segments.
pub struct Part {
    pub across: Vec<Mat<f64>>,
    pub along: Vec<Mat<f64>>,
}

impl<'a> Field<'a> {
    /// Sums up a field whose bores are shared out among shapes, for two bores and for one alone.
    pub fn new(
        nodes: &'a Nodes,
        bores: &[Placed],
        segments: &[f64],
        [shapes, alone]: [&Shares; 2],
        vectors: &Mat<f64>,
    ) -> Self {
        let edges = &shapes.edges;
        let columns = shapes.columns(vectors);
        let depth = |vector: usize| -> f64 {
            bores.iter().enumerate().map(|(bore, placed)| placed.source.depth * vectors[(bore, vector)]).sum()
        };
        let own = own(nodes, bores, alone, vectors);
        let known = (*edges == alone.edges).then_some(&own[..]);
        let between = between(nodes, edges, pair_sums(bores, &columns, nodes.s()), known);
        Self {
            nodes,
            segments: segments.to_vec(),
            depths: (0..vectors.ncols()).map(depth).collect(),
            length: bores.iter().map(|bore| bore.source.depth).sum(),
            own,
            between,
        }
    }
}

/// Of each bore alone.
fn own(nodes: &Nodes, bores: &[Placed], shapes: &Shares, vectors: &Mat<f64>) -> Vec<Part> {
    let (count, edges, columns) = (vectors.ncols(), &shapes.edges, shapes.columns(vectors));
    let mut by_radius: Vec<usize> = (0..bores.len()).collect();
    let radius = |bore: usize| bores[bore].source.radius;
    by_radius.sort_by(|&a, &b| radius(a).total_cmp(&radius(b)));
    let sums = |members: &[usize]| {
        let rows =
            |from: &Mat<f64>| Mat::from_fn(members.len(), from.ncols(), |row, v| from[(members[row], v)]);
        (radius(members[0]), rows(&columns).transpose() * rows(vectors))
    };
    let sums: Vec<(f64, Mat<f64>)> = by_radius.chunk_by(|&a, &b| radius(a) == radius(b)).map(sums).collect();
    let part = |&s: &f64| {
        let whole = sums.iter().fold(Mat::zeros(columns.ncols(), count), |sum, (radius, own)| {
            sum + own * faer::Scale((-(radius * s).powi(2)).exp())
        });
        Part {
            across: (0..edges.len()).map(|shape| whole.subrows(shape * count, count).to_owned()).collect(),
            along: edges.iter().map(|edges| nodes.kernel(s, edges, edges)).collect(),
        }
    };
    nodes.s().par_iter().map(part).collect()
}

/// Between two bores, from sums over pairs of them between columns. Kernels of shapes with themselves may be `known`.
fn between(
    nodes: &Nodes,
    edges: &[Vec<f64>],
    sums: Vec<Option<Mat<f64>>>,
    known: Option<&[Part]>,
) -> Vec<Option<Part>> {
    let kinds = edges.len();
    let part = |node: usize, sums: Mat<f64>| {
        let count = sums.nrows() / kinds;
        let pairs = || (0..kinds).flat_map(|from| (0..kinds).map(move |to| (from, to)));
        let mut along: Vec<Mat<f64>> = Vec::with_capacity(kinds * kinds);
        for (from, to) in pairs() {
            // The kernel between a shape and an earlier one is known, turned over.
            along.push(match known {
                _ if to < from => along[to * kinds + from].transpose().to_owned(),
                Some(own) if to == from => own[node].along[to].clone(),
                _ => nodes.kernel(nodes.s()[node], &edges[from], &edges[to]),
            });
        }
        let across = |(from, to)| sums.submatrix(from * count, to * count, count, count).to_owned();
        Part { across: pairs().map(across).collect(), along }
    };
    sums.into_par_iter().enumerate().map(|(node, sums)| sums.map(|sums| part(node, sums))).collect()
}
