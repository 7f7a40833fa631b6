//! What each bore does to itself, segment by segment.

use faer::linalg::matmul::matmul;
use faer::{Accum, Mat, Par};
use multiversion::multiversion;
use rayon::prelude::*;

use super::Placed;
use super::kernel::{Nodes, STEP};
use super::lattice::{LANES, Lanes};
use super::segments::edges;

/// Points that the kernel is interpolated between.
const POINTS: usize = 6;

/// Lower triangle of a matrix, row by row.
pub fn triangle(size: usize) -> impl Iterator<Item = (usize, usize)> {
    (0..size).flat_map(|row| (0..=row).map(move |column| (row, column)))
}

/// Place of an entry in a lower triangle.
fn place(row: usize, column: usize) -> usize {
    row * (row + 1) / 2 + column
}

/// The kernels F of bores with themselves between their segments.
///
/// Without the mirror image, s F depends on s x depth alone: it is interpolated between points of its logarithm. The
/// image is worked out as far as it reaches.
pub struct Alone<'a> {
    nodes: &'a Nodes,
    bores: &'a [Placed],
    segments: &'a [f64],
    /// ln(s x depth) at the first point, and lower triangles of s F at the points, each by STEP after the one before.
    first: f64,
    points: Vec<Vec<f64>>,
}

impl<'a> Alone<'a> {
    /// The kernels of some bores with segments of the given relative lengths.
    pub fn new(nodes: &'a Nodes, bores: &'a [Placed], segments: &'a [f64]) -> Self {
        let depths = bores.iter().map(|bore| bore.source.depth.ln());
        let (least, most) = depths.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), x| (a.min(x), b.max(x)));
        let s = nodes.s();
        let first = s[0].ln() + least - POINTS as f64 * STEP;
        let count = s.len() + ((most - least) / STEP).ceil() as usize + 2 * POINTS;
        let edges = edges([1.0, 0.0], segments);
        let point = |point: usize| -> Vec<f64> {
            let x = (first + STEP * point as f64).exp();
            let value = |(a, b): (usize, usize)| {
                let apart = x * (edges[a] - edges[b]);
                apart + nodes.ierfc(apart)
            };
            let values: Vec<f64> = triangle(edges.len()).map(value).collect();
            let mut differences = vec![0.0; place(segments.len(), 0)];
            add_differences(&values, &mut differences, segments.len());
            differences
        };
        Self { nodes, bores, segments, first, points: (0..count).into_par_iter().map(point).collect() }
    }

    /// Number of segments.
    pub fn size(&self) -> usize {
        self.segments.len()
    }

    /// Calls `f` with each node and the lower triangle of what a bore does to itself there.
    pub fn for_each_node(&self, bore: usize, mut f: impl FnMut(usize, &[f64])) {
        let source = self.bores[bore].source;
        let edges = edges([source.depth, source.top], self.segments);
        let s = self.nodes.s();
        let at = ((s[0] * source.depth).ln() - self.first) / STEP;
        let start = at.floor() as usize - (POINTS / 2 - 1);
        let weights: [f64; POINTS] = std::array::from_fn(|one| {
            let others = (0..POINTS).filter(|other| *other != one).map(|other| other as f64);
            others.map(|other| (at - start as f64 - other) / (one as f64 - other)).product()
        });
        let mut kernel = vec![0.0; self.points[0].len()];
        let mut images = Vec::with_capacity(place(edges.len(), 0));
        for (node, &s) in s.iter().enumerate() {
            interpolate(&mut kernel, &weights, &self.points[start + node..][..POINTS]);
            // Edges that the image of the top reaches, and one more.
            let reached = edges.partition_point(|edge| self.nodes.ierfc(s * (edge + source.top)) > 0.0);
            let reached = reached.min(self.size());
            images.clear();
            for (a, b) in triangle(reached + 1) {
                images.push(self.nodes.ierfc(s * (edges[a] + edges[b])));
            }
            add_differences(&images, &mut kernel[..place(reached, 0)], reached);
            let scale = (-(source.radius * s).powi(2)).exp() / s;
            kernel.iter_mut().for_each(|kernel| *kernel *= scale);
            f(node, &kernel);
        }
    }

    /// The matrices of each bore at some values of p: lower triangle by lower triangle.
    pub fn at(&self, points: &[f64; LANES]) -> Vec<Lanes> {
        let decay = self.nodes.decay(points);
        let size = place(self.size(), 0);
        let mut matrices = vec![[0.0; LANES]; self.bores.len() * size];
        matrices.par_chunks_mut(size).enumerate().for_each(|(bore, matrix)| {
            let mut sums = vec![[0.0_f64; LANES]; size];
            self.for_each_node(bore, |node, kernel| {
                accumulate(&mut sums, kernel, &std::array::from_fn(|lane| decay[(node, lane)]));
            });
            matrix.iter_mut().zip(sums).for_each(|(entry, sum)| *entry = sum.map(|value| value as f32));
        });
        matrices
    }

    /// The sum over the bores, node by node, projected onto vectors over all bores' segments.
    pub fn project(&self, basis: &Mat<f64>) -> Vec<Mat<f64>> {
        let (size, count) = (self.size(), basis.ncols());
        let block = |bores: &[Placed], first: usize| -> Vec<Mat<f64>> {
            let mut sums = vec![Mat::<f64>::zeros(count, count); self.nodes.s().len()];
            let mut matrix = Mat::<f64>::zeros(size, size);
            let mut image = Mat::<f64>::zeros(size, count);
            for bore in first..first + bores.len() {
                let own = basis.subrows(bore * size, size).to_owned();
                self.for_each_node(bore, |node, kernel| {
                    for ((row, column), kernel) in triangle(size).zip(kernel) {
                        matrix[(row, column)] = *kernel;
                        matrix[(column, row)] = *kernel;
                    }
                    matmul(&mut image, Accum::Replace, &matrix, &own, 1.0, Par::Seq);
                    matmul(&mut sums[node], Accum::Add, own.transpose(), &image, 1.0, Par::Seq);
                });
            }
            sums
        };
        let blocks: Vec<Vec<Mat<f64>>> = self
            .bores
            .par_chunks(BLOCK)
            .enumerate()
            .map(|(number, bores)| block(bores, number * BLOCK))
            .collect();
        let mut sums = vec![Mat::zeros(count, count); self.nodes.s().len()];
        for block in blocks {
            sums.iter_mut().zip(block).for_each(|(sum, part)| *sum += part);
        }
        sums
    }
}

/// Bores that are summed up together.
const BLOCK: usize = 64;

/// Adds STEP / 2 x the second differences, over the edges of both segments, of a symmetric function of two edges; both
/// by their lower triangles.
fn add_differences(values: &[f64], sums: &mut [f64], segments: usize) {
    for row in 0..segments {
        let (upper, lower) = (&values[place(row, 0)..][..=row], &values[place(row + 1, 0)..][..row + 2]);
        let sums = &mut sums[place(row, 0)..][..=row];
        for column in 0..row {
            let difference = upper[column + 1] - upper[column] - (lower[column + 1] - lower[column]);
            sums[column] += 0.5 * STEP * difference;
        }
        // On the diagonal, the function between a segment's two edges stands twice.
        sums[row] += 0.5 * STEP * (2.0 * lower[row] - upper[row] - lower[row + 1]);
    }
}

#[multiversion(targets("x86_64+avx+avx2+fma"))]
fn interpolate(kernel: &mut [f64], weights: &[f64; POINTS], points: &[Vec<f64>]) {
    kernel.fill(0.0);
    for (weight, point) in weights.iter().zip(points) {
        kernel.iter_mut().zip(point).for_each(|(kernel, point)| *kernel += weight * point);
    }
}

#[multiversion(targets("x86_64+avx+avx2+fma"))]
fn accumulate(sums: &mut [[f64; LANES]], kernel: &[f64], decay: &[f64; LANES]) {
    for (sum, kernel) in sums.iter_mut().zip(kernel) {
        for lane in 0..LANES {
            sum[lane] += kernel * decay[lane];
        }
    }
}

/// Adds what the matrices, lower triangle by lower triangle, make of the heat of each bore.
#[multiversion(targets("x86_64+avx+avx2+fma"))]
pub fn add_products(matrices: &[Lanes], size: usize, heat: &[Lanes], image: &mut [Lanes]) {
    let bores = image.chunks_mut(size).zip(heat.chunks(size)).zip(matrices.chunks(size * (size + 1) / 2));
    for ((image, heat), matrix) in bores {
        for row in 0..size {
            let entries = &matrix[place(row, 0)..][..=row];
            let (own, mut sum) = (heat[row], [0.0; LANES]);
            for ((entry, heat), image) in entries[..row].iter().zip(heat).zip(image.iter_mut()) {
                for lane in 0..LANES {
                    sum[lane] += entry[lane] * heat[lane];
                    image[lane] += entry[lane] * own[lane];
                }
            }
            for lane in 0..LANES {
                image[row][lane] += sum[lane] + entries[row][lane] * own[lane];
            }
        }
    }
}

/// Cholesky factors of matrices that are given by their lower triangles; on the diagonal stands the inverse.
pub fn factors(matrices: &[Lanes], size: usize) -> Vec<Lanes> {
    let mut factors = matrices.to_vec();
    factors.par_chunks_mut(size * (size + 1) / 2).for_each(|matrix| factorise(matrix, size));
    factors
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
