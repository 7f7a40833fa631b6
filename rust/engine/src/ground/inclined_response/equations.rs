//! The equations of a field with inclined bores: the heat of every segment of every bore is an unknown.

use std::ops::RangeInclusive;

use faer::linalg::solvers::{Llt, Solve};
use faer::{Mat, Scale, Side};
use rayon::prelude::*;

use super::PlacedBore;
use super::links::{Links, Rules};
use super::piece::Piece;
use crate::cancel_token::CancelToken;
use crate::error::Error;
use crate::ground::field_response::kernel::Nodes;
use crate::ground::field_response::segments::SEGMENTS;
use crate::ground::field_response::unsolved;
use crate::ground::{Condition, Ground, LineSource};

/// Beyond x = FAR, the integral of erfc from x is negligible.
const FAR: f64 = 6.1;

/// S(p) x = L, segment by segment.
pub struct Equations {
    /// q (1/m) at each p.
    q: Vec<f64>,
    /// Interaction of the segments of each bore without the surface: one column per p, shared by equal bores.
    own: Vec<Mat<f64>>,
    /// For each bore, the index of its own column.
    whose: Vec<usize>,
    /// The remaining interactions: pairs of bores, the first no later than the second.
    pairs: Vec<BorePair>,
    /// L: the length of each segment (m).
    load: Mat<f64>,
    token: CancelToken,
}

/// Links between the segments of two bores.
struct BorePair {
    bores: [usize; 2],
    links: Links,
    /// Where the links of each pair of segments end; those of the second bore's segments are contiguous.
    ends: Vec<usize>,
}

impl Equations {
    /// Links the segments of all bores, for the p's (1/s) needed for the given times (s).
    pub fn new(
        ground: &Ground,
        bores: &[PlacedBore],
        times: &RangeInclusive<f64>,
        points: &[f64],
        token: &CancelToken,
    ) -> Self {
        let same = |a: &LineSource, b: &LineSource| (a.depth, a.radius) == (b.depth, b.radius);
        let mut kinds: Vec<LineSource> = Vec::new();
        let mut kind = |bore: &PlacedBore| {
            kinds.iter().position(|kind| same(kind, &bore.source)).unwrap_or_else(|| {
                kinds.push(bore.source);
                kinds.len() - 1
            })
        };
        let whose = bores.iter().map(&mut kind).collect();
        let own = kinds.iter().map(|source| own(ground, source, times, points, token)).collect();
        let rules = Rules::new();
        let both: Vec<[usize; 2]> = (0..bores.len()).flat_map(|b| (0..=b).map(move |a| [a, b])).collect();
        let pairs = both.into_par_iter().map(|both| BorePair::new(both, bores, &rules, token)).collect();
        let lengths: Vec<f64> =
            bores.iter().flat_map(|bore| bore.segments.iter().map(Piece::length)).collect();
        let load = Mat::from_fn(lengths.len(), 1, |row, _| lengths[row]);
        let q = points.iter().map(|p| (p / ground.diffusivity()).sqrt()).collect();
        Self { q, own, whose, pairs, load, token: token.clone() }
    }

    /// p x Laplace{g} at one of the p's, by its index.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] if bores are too close for the equations to be solved.
    pub fn response(&self, point: usize, condition: Condition) -> Result<f64, Error> {
        let matrix = self.matrix(point);
        let length = self.load.sum();
        match condition {
            Condition::UniformHeatFlux => {
                let lower = (0..matrix.ncols()).map(|column| {
                    let below: f64 = (column + 1..matrix.nrows()).map(|row| matrix[(row, column)]).sum();
                    matrix[(column, column)] + 2.0 * below
                });
                Ok(lower.sum::<f64>() / length)
            }
            Condition::UniformWallTemperature => {
                let factors = Llt::new(matrix.as_ref(), Side::Lower).map_err(|_| unsolved())?;
                Ok(length / (self.load.transpose() * factors.solve(&self.load))[(0, 0)])
            }
        }
    }

    /// The lower half of S at one of the p's.
    fn matrix(&self, point: usize) -> Mat<f64> {
        let size = self.load.nrows();
        let q = self.q[point];
        let mut matrix = Mat::zeros(size, size);
        for (bore, &kind) in self.whose.iter().enumerate() {
            let own = self.own[kind].col(point);
            for (column, row) in
                (0..SEGMENTS).flat_map(|column| (column..SEGMENTS).map(move |row| (column, row)))
            {
                matrix[(bore * SEGMENTS + row, bore * SEGMENTS + column)] = own[column * SEGMENTS + row];
            }
        }
        for BorePair { bores: [first, second], links, ends } in &self.pairs {
            self.token.check();
            if links.are_out_of_reach(q) {
                continue;
            }
            for (at, sum) in links.sums(ends, q).into_iter().enumerate() {
                let (row, column) = (second * SEGMENTS + at % SEGMENTS, first * SEGMENTS + at / SEGMENTS);
                matrix[(row, column)] += sum;
            }
        }
        matrix
    }
}

impl BorePair {
    fn new(both: [usize; 2], bores: &[PlacedBore], rules: &Rules, token: &CancelToken) -> Self {
        token.check();
        let [first, second] = both.map(|bore| &bores[bore]);
        let (mut links, mut ends) = (Links::default(), Vec::with_capacity(SEGMENTS * SEGMENTS));
        // A bore's effect on itself is evaluated at its wall.
        let (is_own, aside) = if both[0] == both[1] { (true, first.source.radius) } else { (false, 0.0) };
        for (column, from) in first.segments.iter().enumerate() {
            for (row, to) in second.segments.iter().enumerate() {
                if is_own && row < column {
                    ends.push(links.count());
                    continue;
                }
                if !is_own {
                    rules.link(*from, *to, aside, 1.0, &mut links);
                }
                rules.link(from.mirrored(), *to, aside, -1.0, &mut links);
                ends.push(links.count());
            }
        }
        Self { bores: both, links, ends }
    }
}

/// Interaction of the segments of a bore without the surface, in a column per p: that of a vertical bore so deep that
/// its mirror image has no effect.
fn own(
    ground: &Ground,
    source: &LineSource,
    times: &RangeInclusive<f64>,
    points: &[f64],
    token: &CancelToken,
) -> Mat<f64> {
    let nodes = Nodes::down_to(source.radius, ground.diffusivity(), times, token);
    let edges = LineSource { buried_depth: FAR / nodes.s()[0], ..*source }.edges();
    let at_node = |&s: &f64| Scale((-(source.radius * s).powi(2)).exp()) * nodes.kernel(s, &edges, &edges);
    let at_nodes: Vec<Mat<f64>> = nodes.s().par_iter().map(at_node).collect();
    let entries = Mat::from_fn(SEGMENTS * SEGMENTS, at_nodes.len(), |at, node| {
        at_nodes[node][(at % SEGMENTS, at / SEGMENTS)]
    });
    entries * nodes.decay(points)
}
