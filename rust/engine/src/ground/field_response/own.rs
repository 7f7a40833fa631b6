//! What each bore does to itself, segment by segment.
//!
//! F (see [`Nodes`]) is made of differences, over the edges of segments, of a function of one length: the distance of two
//! edges, and that of one from the image of the other. It is interpolated between lengths that go on by the same factor.

use faer::Mat;
use multiversion::multiversion;
use rayon::prelude::*;

use super::interplay::Segmented;
use super::kernel::{Nodes, STEP};
use super::lattice::{LANES, Lanes};
use super::segments::SEGMENTS;
use crate::chebyshev::ChebyshevSeries;

/// Step of the logarithm of the lengths, and the least of them over the least radius, below which all is as at none.
const FINENESS: f64 = 0.07;
const LEAST: f64 = 0.01;

/// Lengths that are interpolated between.
const POINTS: usize = 4;

/// Bores that are summed up together.
const TOGETHER: usize = 32;

/// Bores by themselves.
pub struct Own<'a> {
    nodes: &'a Nodes,
    field: &'a Segmented<'a>,
    /// No length at all, and the others [m].
    lengths: Vec<f64>,
    /// Logarithms of the radii that those of the bores are interpolated between.
    radii: Vec<f64>,
}

impl<'a> Own<'a> {
    /// The bores of a field.
    pub fn new(nodes: &'a Nodes, field: &'a Segmented<'a>) -> Self {
        let radii = field.bores.iter().map(|bore| bore.source.radius);
        let (least, most) =
            radii.fold((f64::INFINITY, 0.0_f64), |(a, b), radius| (a.min(radius), b.max(radius)));
        let count = ((2.0 * field.deepest / (LEAST * least)).ln() / FINENESS).ceil() as usize + POINTS;
        let length = |step: usize| LEAST * least * (FINENESS * step as f64).exp();
        let range = (most / least).ln();
        let radii = if range > 1e-9 { 3 + (2.0 * range).ceil() as usize } else { 1 };
        Self {
            nodes,
            field,
            lengths: std::iter::once(0.0).chain((0..count).map(length)).collect(),
            radii: ChebyshevSeries::points(least.ln(), most.ln(), radii).collect(),
        }
    }

    /// The function of a length at a node, without the factor of the radius, which differences leave the same whatever is
    /// added that is constant or linear: it begins with the square of the length.
    fn function(&self, s: f64, length: f64) -> f64 {
        STEP / (2.0 * s) * (s * length + self.nodes.ierfc(s * length) - self.nodes.ierfc(0.0))
    }

    /// First of the lengths that one is interpolated between, and their weights.
    fn between(&self, length: f64) -> (usize, [f64; POINTS]) {
        if length < self.lengths[1] {
            return (0, [1.0, 0.0, 0.0, 0.0]);
        }
        let place = (length / self.lengths[1]).ln() / FINENESS;
        let first = (place.floor() as usize).clamp(1, self.lengths.len() - POINTS) - 1;
        let x = place - first as f64;
        let [a, b, c, d] = [x, x - 1.0, x - 2.0, x - 3.0];
        (first + 1, [-b * c * d / 6.0, a * c * d / 2.0, -a * b * d / 2.0, a * b * c / 6.0])
    }

    /// Lagrange's weights of the radii, for a bore.
    fn weights(&self, bore: usize) -> Vec<f64> {
        let radius = self.field.bores[bore].source.radius.ln();
        let weight = |one: usize| -> f64 {
            let others = (0..self.radii.len()).filter(|other| *other != one);
            others.map(|other| (radius - self.radii[other]) / (self.radii[one] - self.radii[other])).product()
        };
        (0..self.radii.len()).map(weight).collect()
    }

    /// exp(-r^2 s^2) at each of the radii.
    fn bells(&self, s: f64) -> Vec<f64> {
        self.radii.iter().map(|radius| (-(radius.exp() * s).powi(2)).exp()).collect()
    }

    /// The matrices of each bore at some values of p: lower triangle by lower triangle.
    pub fn at(&self, points: &[f64; LANES]) -> Vec<Lanes> {
        let decay = self.nodes.decay(points);
        let bells: Vec<Vec<f64>> = self.nodes.s().iter().map(|&s| self.bells(s)).collect();
        let values = |&length: &f64| -> Vec<[f64; LANES]> {
            let mut values = vec![[0.0; LANES]; self.radii.len()];
            for (node, &s) in self.nodes.s().iter().enumerate() {
                let function = self.function(s, length);
                for (values, bell) in values.iter_mut().zip(&bells[node]) {
                    (0..LANES).for_each(|lane| values[lane] += decay[(node, lane)] * bell * function);
                }
            }
            values
        };
        let table: Vec<Vec<[f64; LANES]>> = self.lengths.par_iter().map(values).collect();
        let size = place(SEGMENTS, 0);
        let mut matrices = vec![[0.0; LANES]; self.field.bores.len() * size];
        matrices.par_chunks_mut(size).enumerate().with_min_len(TOGETHER).for_each(|(bore, matrix)| {
            let (edges, weights) = (&self.field.edges[bore], self.weights(bore));
            let value = |(a, b): (usize, usize)| {
                let mut sum = [0.0; LANES];
                for length in [edges[a] - edges[b], edges[a] + edges[b]] {
                    let (first, shares) = self.between(length);
                    for (row, share) in table[first..].iter().zip(shares) {
                        for (values, weight) in row.iter().zip(&weights) {
                            (0..LANES).for_each(|lane| sum[lane] += share * weight * values[lane]);
                        }
                    }
                }
                sum
            };
            let values: Vec<[f64; LANES]> = triangle(SEGMENTS + 1).map(value).collect();
            differences(&values, matrix, SEGMENTS);
        });
        matrices
    }

    /// The sum over the bores, node by node, projected onto vectors over all bores' segments (columns).
    ///
    /// What counts is by how much the heat changes from segment to segment: for each length, the products of the changes
    /// at all edges that are so far apart are summed up before the function of the length comes in.
    pub fn project(&self, basis: &Mat<f64>) -> Vec<Mat<f64>> {
        let count = basis.ncols();
        let groups = count.div_ceil(LANES);
        let rows = self.lengths.len() * self.radii.len();
        let part = |bores: std::ops::Range<usize>| -> Vec<Square> {
            let mut sums = vec![[[0.0; LANES]; LANES]; rows * groups * groups];
            for bore in bores {
                let (edges, weights) = (&self.field.edges[bore], self.weights(bore));
                let heat = |edge: usize, column: usize| {
                    let inside = edge < SEGMENTS && column < count;
                    if inside { basis[(bore * SEGMENTS + edge, column)] } else { 0.0 }
                };
                let change = |edge: usize, column: usize| {
                    heat(edge, column) - if edge > 0 { heat(edge - 1, column) } else { 0.0 }
                };
                let changes: Vec<Lanes> = (0..=SEGMENTS)
                    .flat_map(|edge| (0..groups).map(move |group| (edge, group)))
                    .map(|(edge, group)| {
                        std::array::from_fn(|lane| change(edge, group * LANES + lane) as f32)
                    })
                    .collect();
                for (a, b) in triangle(SEGMENTS + 1) {
                    for length in [edges[a] - edges[b], edges[a] + edges[b]] {
                        let (first, shares) = self.between(length);
                        for (radius, weight) in weights.iter().enumerate() {
                            // Each two edges stand for both orders of them.
                            let weight = if a == b { -0.5 * weight } else { -weight };
                            for (at, share) in shares.iter().enumerate().filter(|(_, share)| **share != 0.0) {
                                let row = (first + at) * self.radii.len() + radius;
                                let [from, to] = [a, b].map(|edge| &changes[edge * groups..][..groups]);
                                let sums = &mut sums[row * groups * groups..][..groups * groups];
                                add_products((weight * share) as f32, from, to, sums);
                            }
                        }
                    }
                }
            }
            sums
        };
        let bores = self.field.bores.len();
        let blocks: Vec<usize> = (0..bores).step_by(TOGETHER).collect();
        let parts = blocks.into_par_iter().map(|first| part(first..bores.min(first + TOGETHER)));
        let mut sums = vec![[[0.0_f64; LANES]; LANES]; rows * groups * groups];
        for part in parts.collect::<Vec<_>>() {
            for (sum, part) in
                sums.as_flattened_mut().as_flattened_mut().iter_mut().zip(part.as_flattened().as_flattened())
            {
                *sum += f64::from(*part);
            }
        }
        let along = |&s: &f64| -> Mat<f64> {
            let bells = self.bells(s);
            let functions: Vec<f64> = self
                .lengths
                .iter()
                .flat_map(|&length| bells.iter().map(move |bell| bell * self.function(s, length)))
                .collect();
            let mut sum = vec![[[0.0; LANES]; LANES]; groups * groups];
            for (row, function) in functions.iter().enumerate() {
                let squares = &sums[row * groups * groups..][..groups * groups];
                let values = squares.as_flattened().as_flattened();
                sum.as_flattened_mut()
                    .as_flattened_mut()
                    .iter_mut()
                    .zip(values)
                    .for_each(|(sum, value)| *sum += function * value);
            }
            let entry = |row: usize, column: usize| {
                sum[row / LANES * groups + column / LANES][row % LANES][column % LANES]
            };
            Mat::from_fn(count, count, |row, column| entry(row, column) + entry(column, row))
        };
        self.nodes.s().par_iter().map(along).collect()
    }
}

/// Products of the lanes of two groups.
type Square = [Lanes; LANES];

/// Adds a factor times the products of all lanes of all groups.
#[multiversion(targets("x86_64+avx+avx2+fma"))]
fn add_products(factor: f32, from: &[Lanes], to: &[Lanes], sums: &mut [Square]) {
    for (from, sums) in from.iter().zip(sums.chunks_mut(to.len())) {
        for (to, sums) in to.iter().zip(sums) {
            for (from, sums) in from.iter().zip(sums) {
                let scaled = factor * from;
                for lane in 0..LANES {
                    sums[lane] += scaled * to[lane];
                }
            }
        }
    }
}

/// Lower triangle of a matrix, row by row.
pub fn triangle(size: usize) -> impl Iterator<Item = (usize, usize)> {
    (0..size).flat_map(|row| (0..=row).map(move |column| (row, column)))
}
/// Place of an entry in a lower triangle.
fn place(row: usize, column: usize) -> usize {
    row * (row + 1) / 2 + column
}

/// Second differences, over the edges of both segments, of a symmetric function of two edges; both by their lower
/// triangles.
fn differences(values: &[[f64; LANES]], differences: &mut [Lanes], segments: usize) {
    for (row, column) in triangle(segments) {
        // On the diagonal, the function between a segment's two edges stands twice.
        let across = values[place((row).max(column + 1), row.min(column + 1))];
        let [upper, lower] = [values[place(row, column)], values[place(row + 1, column + 1)]];
        let down = values[place(row + 1, column)];
        differences[place(row, column)] =
            std::array::from_fn(|lane| (across[lane] - upper[lane] + down[lane] - lower[lane]) as f32);
    }
}

/// Cholesky factors of matrices that are given by their lower triangles; on the diagonal stands the inverse.
pub fn factors(mut matrices: Vec<Lanes>, size: usize) -> Vec<Lanes> {
    matrices.par_chunks_mut(size * (size + 1) / 2).for_each(|matrix| factorise(matrix, size));
    matrices
}

#[multiversion(targets("x86_64+avx+avx2+fma"))]
fn factorise(matrix: &mut [Lanes], size: usize) {
    for row in 0..size {
        for column in 0..=row {
            let mut sum = matrix[place(row, column)];
            for before in 0..column {
                let (a, b) = (matrix[place(row, before)], matrix[place(column, before)]);
                for lane in 0..LANES {
                    sum[lane] -= a[lane] * b[lane];
                }
            }
            let inverse = matrix[place(column, column)];
            for lane in 0..LANES {
                sum[lane] = if row == column { sum[lane].sqrt().recip() } else { sum[lane] * inverse[lane] };
            }
            matrix[place(row, column)] = sum;
        }
    }
}

/// Solves for each bore by itself, in place.
pub fn solve(factors: &[Lanes], size: usize, values: &mut [Lanes]) {
    let bores = values.par_chunks_mut(size).zip(factors.par_chunks(size * (size + 1) / 2));
    bores.for_each(|(values, factors)| substitute(factors, values));
}

#[multiversion(targets("x86_64+avx+avx2+fma"))]
fn substitute(factors: &[Lanes], values: &mut [Lanes]) {
    for row in 0..values.len() {
        let mut sum = values[row];
        for column in 0..row {
            for lane in 0..LANES {
                sum[lane] -= factors[place(row, column)][lane] * values[column][lane];
            }
        }
        for lane in 0..LANES {
            values[row][lane] = sum[lane] * factors[place(row, row)][lane];
        }
    }
    for row in (0..values.len()).rev() {
        for lane in 0..LANES {
            values[row][lane] *= factors[place(row, row)][lane];
        }
        let solved = values[row];
        for column in 0..row {
            for lane in 0..LANES {
                values[column][lane] -= factors[place(row, column)][lane] * solved[lane];
            }
        }
    }
}
