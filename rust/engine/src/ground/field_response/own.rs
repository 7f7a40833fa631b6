//! Action of each bore on itself, segment by segment.
//!
//! F (see [`Nodes`]) consists of differences, over the edges of segments, of a function of one length: the distance
//! between two edges, and that between one and the image of the other. It is interpolated between lengths in geometric
//! progression.

use faer::Mat;
use multiversion::multiversion;
use rayon::prelude::*;

use super::exponential::logarithm;
use super::interaction::Segmented;
use super::kernel::{Nodes, STEP};
use super::lattice::{F32Lanes, LANES};
use super::segments::SEGMENTS;
use crate::chebyshev::ChebyshevSeries;

/// Step of the logarithm of the lengths, and the ratio of the smallest of them to the smallest radius, below which the
/// length counts as zero.
const FINENESS: f64 = 0.07;
const LEAST: f64 = 0.01;

/// Lengths that are interpolated between.
const POINTS: usize = 4;

/// Bores that are summed together.
const TOGETHER: usize = 32;

/// Action of bores on themselves.
pub struct Own<'a> {
    nodes: &'a Nodes,
    field: &'a Segmented<'a>,
    /// Zero length, and the others (m).
    lengths: Vec<f64>,
    /// Logarithms of the radii between which those of the bores are interpolated.
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

    /// The function of a length at a node, without the factor of the radius; differences don't depend on added terms
    /// that are constant or linear, so it begins with the square of the length.
    fn function(&self, s: f64, length: f64) -> f64 {
        STEP / (2.0 * s) * (s * length + self.nodes.ierfc(s * length) - self.nodes.ierfc(0.0))
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
    fn gaussians(&self, s: f64) -> Vec<f64> {
        self.radii.iter().map(|radius| (-(radius.exp() * s).powi(2)).exp()).collect()
    }

    /// The matrices of each bore at some values of p: lower triangle by lower triangle.
    pub fn at(&self, points: &[f64; LANES]) -> Vec<F32Lanes> {
        let decay = self.nodes.decay(points);
        let gaussians: Vec<Vec<f64>> = self.nodes.s().iter().map(|&s| self.gaussians(s)).collect();
        let token = self.nodes.token();
        let values = |&length: &f64| -> Vec<[f64; LANES]> {
            token.check();
            let mut values = vec![[0.0; LANES]; self.radii.len()];
            for (node, &s) in self.nodes.s().iter().enumerate() {
                let function = self.function(s, length);
                for (values, gaussian) in values.iter_mut().zip(&gaussians[node]) {
                    (0..LANES).for_each(|lane| values[lane] += decay[(node, lane)] * gaussian * function);
                }
            }
            values
        };
        let table: Vec<[f64; LANES]> = self.lengths.par_iter().flat_map_iter(values).collect();
        let size = triangle_size(SEGMENTS);
        let mut matrices = vec![[0.0; LANES]; self.field.bores.len() * size];
        let scratch = || (Places::default(), [[0.0; LANES]; PAIRS]);
        let bores = matrices.par_chunks_mut(size).enumerate().with_min_len(TOGETHER);
        bores.for_each_init(scratch, |(places, values), (bore, matrix)| {
            token.check();
            places.find(&self.field.edges[bore], &self.lengths);
            interpolate(&table, places, &self.weights(bore), values);
            differences(values, matrix, SEGMENTS);
        });
        matrices
    }

    /// The sum over the bores, node by node, projected onto vectors over all bores' segments (columns).
    ///
    /// Only changes of the heat from segment to segment matter: for each length, the products of the changes at all
    /// edges at that distance are summed before the function of the length is applied.
    pub fn project(&self, basis: &Mat<f64>) -> Vec<Mat<f64>> {
        let count = basis.ncols();
        let groups = count.div_ceil(LANES);
        let width = self.radii.len() * groups * groups;
        let rows = self.lengths.len() * self.radii.len();
        let part = |bores: std::ops::Range<usize>| -> Vec<LaneProducts> {
            let mut sums = vec![[[0.0; LANES]; LANES]; rows * groups * groups];
            let mut places = Places::default();
            for bore in bores {
                self.nodes.token().check();
                places.find(&self.field.edges[bore], &self.lengths);
                let weights = self.weights(bore);
                let heat = |edge: usize, column: usize| {
                    let inside = edge < SEGMENTS && column < count;
                    if inside { basis[(bore * SEGMENTS + edge, column)] } else { 0.0 }
                };
                let change = |edge: usize, column: usize| {
                    heat(edge, column) - if edge > 0 { heat(edge - 1, column) } else { 0.0 }
                };
                let changes: Vec<F32Lanes> = (0..=SEGMENTS)
                    .flat_map(|edge| (0..groups).map(move |group| (edge, group)))
                    .map(|(edge, group)| {
                        std::array::from_fn(|lane| change(edge, group * LANES + lane) as f32)
                    })
                    .collect();
                for (pair, (a, b)) in triangle(SEGMENTS + 1).enumerate() {
                    // Each pair of edges represents both orders.
                    let sign = if a == b { -0.5 } else { -1.0 };
                    let [from, to] = [a, b].map(|edge| &changes[edge * groups..][..groups]);
                    for (first, shares) in places.of(pair) {
                        let rows = &mut sums[first * width..][..POINTS * width];
                        add_products(from, to, &shares.map(|share| sign * share), &weights, rows);
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
            let gaussians = self.gaussians(s);
            let functions: Vec<f64> = self
                .lengths
                .iter()
                .flat_map(|&length| gaussians.iter().map(move |gaussian| gaussian * self.function(s, length)))
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

/// Pairs of a bore's edges, and the lengths that they need.
const PAIRS: usize = triangle_size(SEGMENTS + 1);
const LENGTHS: usize = 2 * PAIRS;

/// Positions of a bore's lengths among those that are interpolated between: the first of a few of these, and their
/// weights. Each pair of edges needs their distance, and that between one and the image of the other.
struct Places {
    first: [u64; LENGTHS],
    shares: [[f64; LENGTHS]; POINTS],
}

impl Default for Places {
    fn default() -> Self {
        Self { first: [0; LENGTHS], shares: [[0.0; LENGTHS]; POINTS] }
    }
}

impl Places {
    /// Computes the positions of the lengths between a bore's edges.
    fn find(&mut self, edges: &[f64], lengths: &[f64]) {
        let mut needed = [0.0; LENGTHS];
        for ((a, b), needed) in triangle(SEGMENTS + 1).zip(needed.as_chunks_mut().0) {
            *needed = [edges[a] - edges[b], edges[a] + edges[b]];
        }
        find(&needed, lengths[1], (lengths.len() - POINTS) as f64, self);
    }

    /// For both lengths of a pair, the first of those between which it is interpolated, and their weights.
    #[inline(always)]
    fn of(&self, pair: usize) -> [(usize, [f64; POINTS]); 2] {
        [2 * pair, 2 * pair + 1]
            .map(|at| (self.first[at] as usize, std::array::from_fn(|point| self.shares[point][at])))
    }
}

/// Computes the positions of lengths; `least` is the first of the lengths in geometric progression, and `last` the
/// index of the last from which four can start. Shorter lengths count as zero.
#[multiversion(targets("x86_64+avx+avx2+fma+avx512f+avx512vl+avx512dq+avx512bw", "x86_64+avx+avx2+fma"))]
fn find(needed: &[f64; LENGTHS], least: f64, last: f64, places: &mut Places) {
    // Adding this leaves integers in the last digits.
    const WHOLE: f64 = (1_u64 << 52) as f64;
    let mut rests = [0.0; LENGTHS];
    for ((needed, number), rest) in needed.iter().zip(&mut places.first).zip(&mut rests) {
        let place = logarithm(needed.max(least) / least) / FINENESS;
        let first = place.floor().max(1.0).min(last);
        let (first, x) = if *needed < least { (0.0, 0.0) } else { (first, place - first + 1.0) };
        *number = (first + WHOLE).to_bits() - WHOLE.to_bits();
        *rest = x;
    }
    for (point, shares) in places.shares.iter_mut().enumerate() {
        for (share, x) in shares.iter_mut().zip(&rests) {
            let [a, b, c, d] = [*x, x - 1.0, x - 2.0, x - 3.0];
            *share = match point {
                0 => -b * c * d / 6.0,
                1 => a * c * d / 2.0,
                2 => -a * b * d / 2.0,
                _ => a * b * c / 6.0,
            };
        }
    }
}

/// Values for each pair of edges, from a table with the radii side by side for each length.
#[multiversion(targets("x86_64+avx+avx2+fma+avx512f+avx512vl+avx512dq+avx512bw", "x86_64+avx+avx2+fma"))]
fn interpolate(table: &[[f64; LANES]], places: &Places, radii: &[f64], values: &mut [[f64; LANES]; PAIRS]) {
    for (pair, value) in values.iter_mut().enumerate() {
        let mut sum = [0.0; LANES];
        for (first, shares) in places.of(pair) {
            let rows = table[first * radii.len()..].chunks_exact(radii.len());
            for (row, share) in rows.zip(shares) {
                for (values, weight) in row.iter().zip(radii) {
                    let weight = share * weight;
                    for lane in 0..LANES {
                        sum[lane] = weight.mul_add(values[lane], sum[lane]);
                    }
                }
            }
        }
        *value = sum;
    }
}

/// Products of the lanes of two groups.
type LaneProducts = [F32Lanes; LANES];

/// Adds the products of all lanes of all groups, times the weights of a few lengths and of each radius.
#[multiversion(targets("x86_64+avx+avx2+fma+avx512f+avx512vl+avx512dq+avx512bw", "x86_64+avx+avx2+fma"))]
fn add_products(
    from: &[F32Lanes],
    to: &[F32Lanes],
    shares: &[f64; POINTS],
    weights: &[f64],
    rows: &mut [LaneProducts],
) {
    let (groups, width) = (from.len(), rows.len() / POINTS);
    for (row, from) in from.iter().enumerate() {
        for (column, to) in to.iter().enumerate() {
            let mut products = [[0.0; LANES]; LANES];
            for (products, from) in products.iter_mut().zip(from) {
                for lane in 0..LANES {
                    products[lane] = from * to[lane];
                }
            }
            for (sums, share) in rows.chunks_exact_mut(width).zip(shares) {
                for (sums, weight) in sums.chunks_exact_mut(groups * groups).zip(weights) {
                    let factor = (share * weight) as f32;
                    for (sums, products) in sums[row * groups + column].iter_mut().zip(&products) {
                        for lane in 0..LANES {
                            sums[lane] = factor.mul_add(products[lane], sums[lane]);
                        }
                    }
                }
            }
        }
    }
}

/// Lower triangle of a matrix, row by row.
pub fn triangle(size: usize) -> impl Iterator<Item = (usize, usize)> {
    (0..size).flat_map(|row| (0..=row).map(move |column| (row, column)))
}

/// Number of entries of the lower triangle of a matrix.
pub const fn triangle_size(size: usize) -> usize {
    size * (size + 1) / 2
}

/// Index of an entry in a lower triangle.
fn place(row: usize, column: usize) -> usize {
    row * (row + 1) / 2 + column
}

/// Second differences, over the edges of both segments, of a symmetric function of two edges; both as lower triangles.
#[multiversion(targets("x86_64+avx+avx2+fma+avx512f+avx512vl+avx512dq+avx512bw", "x86_64+avx+avx2+fma"))]
fn differences(values: &[[f64; LANES]], differences: &mut [F32Lanes], segments: usize) {
    for (row, column) in triangle(segments) {
        // On the diagonal, the function between a segment's two edges occurs twice.
        let across = values[place((row).max(column + 1), row.min(column + 1))];
        let [upper, lower] = [values[place(row, column)], values[place(row + 1, column + 1)]];
        let down = values[place(row + 1, column)];
        differences[place(row, column)] =
            std::array::from_fn(|lane| (across[lane] - upper[lane] + down[lane] - lower[lane]) as f32);
    }
}

/// Cholesky factors of matrices given as lower triangles; the diagonal contains its inverse.
pub fn factors(mut matrices: Vec<F32Lanes>, size: usize) -> Vec<F32Lanes> {
    matrices.par_chunks_mut(triangle_size(size)).for_each(|matrix| factorise(matrix, size));
    matrices
}

#[multiversion(targets("x86_64+avx+avx2+fma"))]
fn factorise(matrix: &mut [F32Lanes], size: usize) {
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

/// Solves for each bore separately, in place.
pub fn solve(factors: &[F32Lanes], size: usize, values: &mut [F32Lanes]) {
    let bores = values.chunks_mut(size).zip(factors.chunks(triangle_size(size)));
    bores.for_each(|(values, factors)| substitute(factors, values));
}

#[multiversion(targets("x86_64+avx+avx2+fma"))]
fn substitute(factors: &[F32Lanes], values: &mut [F32Lanes]) {
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
