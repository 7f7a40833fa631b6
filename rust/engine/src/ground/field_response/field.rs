//! Components of the equations of a field of equal bores: sums across the field and kernels along a bore.

use faer::{Mat, Scale};
use rayon::prelude::*;

use super::Placed;
use super::kernel::Nodes;
use super::pair_sums::pair_sums;
use super::segments::edges;

/// A field of equal bores with vectors across it, one per column over the bores.
pub struct Field<'a> {
    pub nodes: &'a Nodes,
    /// Relative lengths of the segments of a bore.
    pub segments: Vec<f64>,
    /// For each vector, the sum over the bores of active depth x vector (m).
    pub depths: Vec<f64>,
    /// Total active depth (m).
    pub length: f64,
    /// At each node, vectors x vectors: the sums over all pairs of bores, including each with itself, of exp(-r^2 s^2).
    pub across: Vec<Mat<f64>>,
    /// At each node, segments x segments: F.
    pub along: Vec<Mat<f64>>,
}

impl<'a> Field<'a> {
    /// Computes the sums of a field of equal bores.
    pub fn new(nodes: &'a Nodes, bores: &[Placed], segments: &[f64], vectors: &Mat<f64>) -> Self {
        let source = bores[0].source;
        let edges = edges([source.depth, source.buried_depth], segments);
        let between = pair_sums(bores, vectors, nodes.s(), nodes.token());
        let own = vectors.transpose() * vectors;
        let across = |(s, between): (&f64, Option<Mat<f64>>)| {
            let own = Scale((-(source.radius * s).powi(2)).exp()) * &own;
            between.map_or(own.clone(), |between| own + between)
        };
        Self {
            nodes,
            segments: segments.to_vec(),
            depths: vectors.col_iter().map(|vector| source.depth * vector.iter().sum::<f64>()).collect(),
            length: source.depth * bores.len() as f64,
            across: nodes.s().iter().zip(between).map(across).collect(),
            along: nodes.s().par_iter().map(|&s| nodes.kernel(s, &edges, &edges)).collect(),
        }
    }
}
