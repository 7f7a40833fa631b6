//! Additional response of a bore compared with a line on its axis, if it is stubby or reaches the surface.
//!
//! Heat enters the ground through the bore's wall and its flat ends. Two rings of radii a and b around one axis
//! interact by exp(-(a^2 + b^2) s^2) I0(2 a b s^2) instead of exp(-r^2 s^2), which is its average over the angle
//! between two points (Carslaw & Jaeger 1959, section 10.3, for the instantaneous ring). With it the equations of one
//! temperature remain well-posed for any resolution of the wall, so a single bore is solved here with rings on its wall
//! and its ends, and again as a line, as in the field. The difference of the two is confined to some radii around the
//! bore: the field's response adopts that of a single bore.
//!
//! A bore that begins at the surface has no upper end, and the same heat per metre over its first radius: where a wall
//! of one temperature meets a surface of another, the heat would be unbounded.

use std::ops::RangeInclusive;

use complex_bessel::{Scaling, besseli_seq};
use faer::{Mat, c64};
use rayon::prelude::*;

use super::kernel::{Nodes, STEP};
use super::segments::edges;
use super::system::System;
use super::{Condition, LineSource, below_surface, wall_share};
use crate::cancel_token::CancelToken;
use crate::error::Error;
use crate::ground::LaplaceCurve;
use crate::ground::gauss::gauss_legendre;

/// Ratio of the shortest rings of the wall to the radius, or to the cover above a thinly covered upper end, and the
/// ratio of the length of each to the one nearer the end.
const SHORTEST: f64 = 0.2;
const GROWTH: f64 = 1.4;

/// Rings of an end, narrower toward its rim, and points across a ring.
const RINGS: usize = 6;
const ACROSS: usize = 2;
const TO_RIM: f64 = 1.7;

/// Most kinds of bores.
const KINDS: usize = 16;

/// Ratio of the radius to the smallest distance of the nodes in s: rings interact at zero distance.
const DOWN_TO: f64 = 150.0;

/// p x Laplace{g} of a field of bores with walls and ends, at each p of a curve for the given times (s), from that of
/// the `lines` on their axes.
///
/// `sources` are as given, before [`below_surface`]. Slender bores are unchanged. In a field, the difference between a
/// bore and its line is larger than for a single bore in the ratio of their drops: with the ends, heat enters over a
/// greater length. With uniform heat the length is only that of the wall, and the difference is that of a single bore.
pub fn with_walls(
    lines: Vec<f64>,
    diffusivity: f64,
    sources: &[LineSource],
    times: &RangeInclusive<f64>,
    condition: Condition,
    token: &CancelToken,
) -> Result<Vec<f64>, Error> {
    let points = LaplaceCurve::sample_points(times);
    let length: f64 = sources.iter().map(|source| source.depth).sum();
    let kinds = kinds(sources);
    let above = |(source, depth): &(LineSource, f64)| -> Result<Vec<f64>, Error> {
        token.check();
        let weight = wall_share(source) * depth / length;
        let nodes = Nodes::down_to(source.radius / DOWN_TO, diffusivity, times, token);
        let wall = Wall::new(source).response(&nodes, &points, condition)?;
        let line = line(&nodes, source, &points, condition)?;
        let above = |((wall, line), lines): ((&f64, &f64), &f64)| {
            let more = match condition {
                // Relative to the wall and not to the line, which vanishes at short times: the inversion tolerates no
                // kink over p.
                Condition::UniformWallTemperature => (lines - line) / wall,
                Condition::UniformHeatFlux => 0.0,
            };
            weight * (wall - line) * (1.0 + more)
        };
        Ok(wall.iter().zip(&line).zip(&lines).map(above).collect())
    };
    let parts = kinds.par_iter().map(above).collect::<Result<Vec<_>, Error>>()?;
    let add = |sum: Vec<f64>, part: Vec<f64>| sum.iter().zip(&part).map(|(a, b)| a + b).collect();
    Ok(parts.into_iter().fold(lines.clone(), add))
}

/// The kinds of bores whose walls matter, each with the total depth of its kind (m).
///
/// If there are many, bores of similar depth are treated as one kind.
fn kinds(sources: &[LineSource]) -> Vec<(LineSource, f64)> {
    let mut stubby: Vec<LineSource> =
        sources.iter().filter(|source| wall_share(source) > 0.0).copied().collect();
    let order = |a: &LineSource, b: &LineSource| {
        a.depth
            .total_cmp(&b.depth)
            .then(a.buried_depth.total_cmp(&b.buried_depth))
            .then(a.radius.total_cmp(&b.radius))
    };
    stubby.sort_by(order);
    let alike: Vec<(LineSource, f64)> = stubby
        .chunk_by(|a, b| a == b)
        .map(|alike| (alike[0], alike.iter().map(|source| source.depth).sum()))
        .collect();
    let together = alike.len().div_ceil(KINDS).max(1);
    let one = |some: &[(LineSource, f64)]| (some[some.len() / 2].0, some.iter().map(|kind| kind.1).sum());
    alike.chunks(together).map(one).collect()
}

/// The line as in the field.
fn line(nodes: &Nodes, source: &LineSource, points: &[f64], condition: Condition) -> Result<Vec<f64>, Error> {
    let line = below_surface(*source);
    let edges = match condition {
        Condition::UniformWallTemperature => line.edges(),
        Condition::UniformHeatFlux => edges([line.depth, line.buried_depth], &[1.0]),
    };
    let matrix = |&s: &f64| -> Mat<f64> {
        nodes.kernel(s, &edges, &edges) * faer::Scale((-(source.radius * s).powi(2)).exp())
    };
    let lengths: Vec<f64> = edges.windows(2).map(|ends| ends[1] - ends[0]).collect();
    drops(nodes, matrix, &lengths, source.depth, points)
}

/// p x Laplace{g} with one temperature for unknowns weighted by their `lengths`, from the matrix of each node.
fn drops(
    nodes: &Nodes,
    matrix: impl Fn(&f64) -> Mat<f64> + Sync,
    lengths: &[f64],
    depth: f64,
    points: &[f64],
) -> Result<Vec<f64>, Error> {
    let size = lengths.len();
    let columns = |s: &f64| -> Vec<f64> {
        nodes.token().check();
        matrix(s).col_iter().flat_map(|column| column.iter().copied().collect::<Vec<_>>()).collect()
    };
    let at_nodes = nodes.s().par_iter().map(columns).collect::<Vec<_>>().concat();
    let load = Mat::from_fn(size, 1, |row, _| lengths[row]);
    System::of_matrices(nodes, at_nodes, load, depth, Mat::identity(size, size)).drops_at_uniform_wall(points)
}

/// A bore's wall and ends.
struct Wall {
    depth: f64,
    radius: f64,
    /// Depths of the edges of the wall's rings (m).
    edges: Vec<f64>,
    ends: Vec<Ring>,
}

/// A flat ring of an end.
struct Ring {
    /// Its depth (m).
    depth: f64,
    /// Radii of representative circles (m), and the length of wall (m) with the area of each.
    circles: [(f64, f64); ACROSS],
}

impl Ring {
    /// Length of wall with its area (m).
    fn length(&self) -> f64 {
        self.circles.iter().map(|circle| circle.1).sum()
    }
}

impl Wall {
    fn new(source: &LineSource) -> Self {
        let LineSource { depth, buried_depth, radius } = *source;
        let at_surface = buried_depth == 0.0;
        let first = if at_surface { radius } else { SHORTEST * radius.min(buried_depth) };
        let (mut upper, mut lower) = (vec![first], vec![SHORTEST * radius]);
        while upper.iter().chain(&lower).sum::<f64>() < depth {
            let shorter =
                if upper[upper.len() - 1] <= lower[lower.len() - 1] { &mut upper } else { &mut lower };
            shorter.push(GROWTH * shorter[shorter.len() - 1]);
        }
        lower.reverse();
        let lengths = [upper, lower].concat();
        let sum: f64 = lengths.iter().sum();
        let parts: Vec<f64> = lengths.iter().map(|length| length / sum).collect();
        let ends =
            if at_surface { vec![buried_depth + depth] } else { vec![buried_depth, buried_depth + depth] };
        let rim = |ring: usize| radius * (1.0 - (1.0 - ring as f64 / RINGS as f64).powf(TO_RIM));
        let ring = |depth: f64, ring: usize| {
            let (inner, outer) = (rim(ring), rim(ring + 1));
            let circle = |(x, weight): (f64, f64)| {
                let (middle, half) = (0.5 * (inner + outer), 0.5 * (outer - inner));
                let at = middle + half * x;
                (at, half * weight * at / radius)
            };
            Ring { depth, circles: gauss_legendre::<ACROSS>().map(circle) }
        };
        Self {
            depth,
            radius,
            edges: edges([depth, buried_depth], &parts),
            ends: ends.into_iter().flat_map(|end| (0..RINGS).map(move |number| ring(end, number))).collect(),
        }
    }

    fn response(&self, nodes: &Nodes, points: &[f64], condition: Condition) -> Result<Vec<f64>, Error> {
        match condition {
            Condition::UniformWallTemperature => {
                let wall = self.edges.windows(2).map(|ends| ends[1] - ends[0]);
                let lengths: Vec<f64> = wall.chain(self.ends.iter().map(Ring::length)).collect();
                drops(nodes, |&s| self.matrix(nodes, s), &lengths, self.depth, points)
            }
            // Only over the wall.
            Condition::UniformHeatFlux => {
                let edges = [self.edges[0], self.edges[self.edges.len() - 1]];
                let matrix = |&s: &f64| -> Mat<f64> {
                    nodes.kernel(s, &edges, &edges) * faer::Scale(rings(self.radius, self.radius, s))
                };
                drops(nodes, matrix, &[self.depth], self.depth, points)
            }
        }
    }

    /// The matrix of a node: rings of the wall, then those of the ends.
    fn matrix(&self, nodes: &Nodes, s: f64) -> Mat<f64> {
        let along = nodes.kernel(s, &self.edges, &self.edges);
        let (walls, radius) = (along.nrows(), self.radius);
        let on_wall = rings(radius, radius, s);
        let end_to_wall: Vec<f64> = self
            .ends
            .iter()
            .map(|end| end.circles.iter().map(|&(at, length)| length * rings(at, radius, s)).sum())
            .collect();
        let edge_to_end = |edge: f64, end: f64| libm::erf(s * (edge - end)) - libm::erf(s * (edge + end));
        let to_end = |wall: usize, end: usize| {
            let depth = self.ends[end].depth;
            let [upper, lower] = [wall, wall + 1].map(|edge| edge_to_end(self.edges[edge], depth));
            0.5 * STEP * (lower - upper) * end_to_wall[end]
        };
        let between_ends = |a: usize, b: usize| {
            let (a, b) = (&self.ends[a], &self.ends[b]);
            let gaussian = |length: f64| (-(s * length).powi(2)).exp();
            let depths = STEP * s / std::f64::consts::PI.sqrt()
                * (gaussian(a.depth - b.depth) - gaussian(a.depth + b.depth));
            if depths == 0.0 {
                return 0.0;
            }
            let pairs = a.circles.iter().flat_map(|from| b.circles.iter().map(move |to| (from, to)));
            depths * pairs.map(|(from, to)| from.1 * to.1 * rings(from.0, to.0, s)).sum::<f64>()
        };
        let size = walls + self.ends.len();
        let mut matrix = Mat::zeros(size, size);
        for column in 0..size {
            for row in column..size {
                let value = match (column.checked_sub(walls), row.checked_sub(walls)) {
                    (None, None) => on_wall * along[(row, column)],
                    (None, Some(end)) => to_end(column, end),
                    (Some(a), Some(b)) => between_ends(a, b),
                    (Some(_), None) => continue,
                };
                matrix[(row, column)] = value;
                matrix[(column, row)] = value;
            }
        }
        matrix
    }
}

/// exp(-(a^2 + b^2) s^2) I0(2 a b s^2), for circles of radii a and b (m) and s (1/m).
fn rings(a: f64, b: f64, s: f64) -> f64 {
    let scaled = besseli_seq(0.0, c64::new(2.0 * a * b * s * s, 0.0), 1, Scaling::Exponential);
    scaled.map_or(f64::NAN, |found| found.values[0].re) * (-((a - b) * s).powi(2)).exp()
}
