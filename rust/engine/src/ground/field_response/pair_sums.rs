//! Sums over pairs of bores of exp(-r^2 s^2), between columns across the field.

use std::ops::Range;

use faer::linalg::matmul::matmul;
use faer::{Accum, Mat, MatRef, Par};
use multiversion::multiversion;
use rayon::prelude::*;
use realfft::num_complex::Complex32;

use super::Placed;
use super::exponential::exponential;
use super::lattice::{F32Lanes, Grade, LANES, Lattice};
use super::split::split;
use crate::cancel_token::CancelToken;
use crate::ground::strips::Strips;

/// The error is about 1e-6 of the largest sum.
const GRADE: Grade = Grade { step: 0.3, cut: 14.0 };
pub const WINDOW: usize = 6;

/// Work per lattice point relative to that per pair of neighbouring bores.
const POINT: f64 = 4.0;

/// Nodes s that share a lattice.
const TOGETHER: usize = 8;

/// Most bores whose pairs are collected before they are multiplied, and rows of them.
const BLOCK: usize = 256;
const ROWS: usize = 4096;

/// For each s (1/m), in ascending order: for each pair of the columns y over the bores, the sum over bores i and j, i
/// different from j, of y_i exp(-r_ij^2 s^2) y_j. `None` if no two bores are close enough.
pub fn pair_sums(
    bores: &[Placed],
    columns: &Mat<f64>,
    s: &[f64],
    token: &CancelToken,
) -> Vec<Option<Mat<f64>>> {
    let split = split(bores, GRADE, POINT, token);
    let far = s.partition_point(|&s| s < split);
    let (far, near) = s.split_at(far);
    let (mut far, near) =
        rayon::join(|| far_sums(bores, columns, far, token), || near_sums(bores, columns, near, token));
    far.extend(near);
    far
}

/// By pairs.
fn near_sums(bores: &[Placed], columns: &Mat<f64>, s: &[f64], token: &CancelToken) -> Vec<Option<Mat<f64>>> {
    let positions: Vec<[f64; 2]> = bores.iter().map(|bore| bore.position).collect();
    let shared: Vec<&[f64]> = s.chunk_by(|a, b| a.log2().floor() == b.log2().floor()).collect();
    let sums = |s: &[f64]| -> Vec<Option<Mat<f64>>> {
        let strips = Strips::new(&positions, GRADE.reach(s[0]), token);
        let rows = rows(columns, &strips.order);
        s.par_iter().map(|&s| near_sum(&strips, &rows, columns.ncols(), s)).collect()
    };
    shared.into_par_iter().flat_map_iter(sums).collect()
}

/// Values of some columns for each bore, a few columns side by side.
type LaneRow = [f64; LANES];

/// Sorted bores, for each few columns.
fn rows(columns: &Mat<f64>, order: &[u32]) -> Vec<Vec<LaneRow>> {
    let value = |bore: u32, column: usize| {
        if column < columns.ncols() { columns[(bore as usize, column)] } else { 0.0 }
    };
    let few = |first: usize| {
        order.iter().map(|&bore| std::array::from_fn(|lane| value(bore, first + lane))).collect()
    };
    (0..columns.ncols()).step_by(LANES).map(few).collect()
}

fn near_sum(strips: &Strips, rows: &[Vec<LaneRow>], count: usize, s: f64) -> Option<Mat<f64>> {
    let width = rows.len() * LANES;
    let mut sum = Mat::<f64>::zeros(width, width);
    let mut any = false;
    let mut add = |own: &[LaneRow], met: &[LaneRow]| {
        any = true;
        let [own, met] = [own, met]
            .map(|rows| MatRef::from_row_major_slice(rows.as_flattened(), rows.len() * LANES / width, width));
        matmul(&mut sum, Accum::Add, own.transpose(), met, 1.0, Par::Seq);
    };
    meet(strips, rows, s, &mut add);
    any.then(|| Mat::from_fn(count, count, |row, column| sum[(row, column)] + sum[(column, row)]))
}

/// Calls `add` with the rows of some bores, and the sums over their neighbours of exp(-r^2 s^2) x their rows.
#[multiversion(targets("x86_64+avx+avx2+fma"))]
fn meet(strips: &Strips, rows: &[Vec<LaneRow>], s: f64, add: &mut impl FnMut(&[LaneRow], &[LaneRow])) {
    let full = BLOCK.min(ROWS / rows.len() + 1) * rows.len();
    let (mut own, mut met) = (Vec::with_capacity(full), Vec::with_capacity(full));
    let mut factors: Vec<f64> = Vec::new();
    strips.for_each_window(GRADE.reach(s), |place, windows| {
        if windows.iter().all(Range::is_empty) {
            return;
        }
        factors.clear();
        for window in windows.clone() {
            factors.extend(strips.squares(place, window).map(|square| exponential(-square * s * s)));
        }
        let (first, second) = factors.split_at(windows[0].len());
        for rows in rows {
            let mut sums = [0.0; LANES];
            for (window, factors) in windows.iter().zip([first, second]) {
                for (row, factor) in rows[window.clone()].iter().zip(factors) {
                    for lane in 0..LANES {
                        sums[lane] += factor * row[lane];
                    }
                }
            }
            own.push(rows[place]);
            met.push(sums);
        }
        if own.len() == full {
            add(&own, &met);
            own.clear();
            met.clear();
        }
    });
    if !own.is_empty() {
        add(&own, &met);
    }
}

/// On lattices.
fn far_sums(bores: &[Placed], columns: &Mat<f64>, s: &[f64], token: &CancelToken) -> Vec<Option<Mat<f64>>> {
    let positions: Vec<[f64; 2]> = bores.iter().map(|bore| bore.position).collect();
    let count = columns.ncols();
    let group = |group: usize| -> Vec<F32Lanes> {
        let value = |bore: usize, column: usize| {
            if column < count { columns[(bore, column)] as f32 } else { 0.0 }
        };
        let row = |bore: usize| std::array::from_fn(|lane| value(bore, group * LANES + lane));
        (0..bores.len()).map(row).collect()
    };
    let groups: Vec<Vec<F32Lanes>> = (0..count.div_ceil(LANES)).map(group).collect();
    let sums = |s: &[f64]| -> Vec<Option<Mat<f64>>> {
        let lattice = Lattice::<WINDOW>::new(&positions, GRADE, s[0], s[s.len() - 1], token);
        let sums = lattice_sums(&lattice, &groups, s);
        sums.into_iter().map(|sum| Some(sum.submatrix(0, 0, count, count).to_owned())).collect()
    };
    s.par_rchunks(TOGETHER).rev().flat_map_iter(sums).collect()
}

/// Sums for each of at most [`TOGETHER`] s, between all columns of some groups of lanes.
pub fn lattice_sums(lattice: &Lattice<WINDOW>, groups: &[Vec<F32Lanes>], s: &[f64]) -> Vec<Mat<f64>> {
    let gaussians = |axis: usize| -> Vec<Vec<f32>> { s.iter().map(|&s| lattice.gaussian(s, axis)).collect() };
    let (along_x, along_y) = (gaussians(0), padded(&gaussians(1)));
    let size = groups.len() * LANES;
    let height = lattice.counts()[1];
    let tall = lattice.rates()[1];
    let few = |rates: Range<usize>, spectra: &[Vec<Complex32>]| {
        let mut sums = vec![0.0; s.len() * size * size];
        for (index, rate) in rates.enumerate() {
            let column = |at: usize| {
                let start = (index * LANES + at % LANES) * height;
                Folded::new(&spectra[at / LANES][start..start + height], tall)
            };
            let columns: Vec<Folded> = (0..size).map(column).collect();
            // Along x, each wave number also represents its negative.
            let times = if rate == 0 { 1.0 } else { 2.0 };
            let along_x: Vec<f64> =
                along_x.iter().map(|gaussian| times * f64::from(gaussian[rate])).collect();
            for (row, from) in columns.iter().enumerate() {
                lattice.token().check();
                for (column, to) in columns.iter().enumerate().skip(row) {
                    let products = products(from, to, &along_y);
                    for node in 0..s.len() {
                        sums[(node * size + row) * size + column] +=
                            along_x[node] * f64::from(products[node]);
                    }
                }
            }
        }
        sums
    };
    let mut sums = vec![0.0; s.len() * size * size];
    for part in lattice.spectra(groups, few) {
        sums.iter_mut().zip(part).for_each(|(sum, part)| *sum += part);
    }
    // Lattices also contain the sum over i = j.
    let value = |bore: usize, column: usize| f64::from(groups[column / LANES][bore][column % LANES]);
    let columns = Mat::from_fn(groups[0].len(), size, value);
    let own = columns.transpose() * &columns;
    let entry = |node: usize, row: usize, column: usize| {
        sums[(node * size + row.min(column)) * size + row.max(column)] - own[(row, column)]
    };
    (0..s.len()).map(|node| Mat::from_fn(size, size, |row, column| entry(node, row, column))).collect()
}

/// Real and imaginary parts at the wave numbers along y, and those at their negatives, eight wave numbers side by side.
struct Folded {
    parts: Vec<[F32Lanes; 4]>,
}

impl Folded {
    fn new(column: &[Complex32], tall: usize) -> Self {
        let mut parts = vec![[[0.0; LANES]; 4]; tall.div_ceil(LANES)];
        for rate in 0..tall {
            let above = column[rate];
            let below = if rate == 0 { Complex32::ZERO } else { column[column.len() - rate] };
            let values = [above.re, above.im, below.re, below.im];
            values.into_iter().enumerate().for_each(|(part, value)| {
                parts[rate / LANES][part][rate % LANES] = value;
            });
        }
        Self { parts }
    }
}

/// Factors at the wave numbers along y, eight side by side, for each of the nodes that share a lattice.
fn padded(gaussians: &[Vec<f32>]) -> Vec<[F32Lanes; TOGETHER]> {
    let tall = gaussians.first().map_or(0, Vec::len);
    let value = |node: usize, rate: usize| {
        gaussians.get(node).and_then(|gaussian| gaussian.get(rate)).copied().unwrap_or(0.0)
    };
    let block = |block: usize| {
        std::array::from_fn(|node| std::array::from_fn(|lane| value(node, block * LANES + lane)))
    };
    (0..tall.div_ceil(LANES)).map(block).collect()
}

/// Sums over the wave numbers along y of factor x product of two columns, for each node.
#[multiversion(targets("x86_64+avx+avx2+fma"))]
fn products(from: &Folded, to: &Folded, factors: &[[F32Lanes; TOGETHER]]) -> [f32; TOGETHER] {
    let mut sums = [[0.0; LANES]; TOGETHER];
    for ((from, to), factors) in from.parts.iter().zip(&to.parts).zip(factors) {
        let mut product = [0.0; LANES];
        for (from, to) in from.iter().zip(to) {
            for lane in 0..LANES {
                product[lane] += from[lane] * to[lane];
            }
        }
        for (sum, factor) in sums.iter_mut().zip(factors) {
            for lane in 0..LANES {
                sum[lane] += product[lane] * factor[lane];
            }
        }
    }
    sums.map(|lanes| lanes.iter().sum())
}
#[cfg(test)]
mod tests {
    use super::super::LineSource;
    use super::*;

    /// Cross-method: lattices and cells against every pair.
    #[test]
    fn equal_the_sums_over_all_pairs() {
        let source = LineSource { depth: 100.0, buried_depth: 4.0, radius: 0.075 };
        let fraction = |index: usize, step: f64| (index as f64 * step).fract();
        let mut bores: Vec<Placed> = (0..400)
            .map(|i| {
                let position = [120.0 * fraction(i, 0.754_877_67), 90.0 * fraction(i, 0.569_840_29)];
                Placed { source, position }
            })
            .collect();
        bores.sort_by(|a, b| a.position[0].total_cmp(&b.position[0]));
        let columns =
            Mat::from_fn(
                400,
                2,
                |bore, column| {
                    if column == 0 { 1.0 } else { fraction(bore, 0.618_033_99) - 0.5 }
                },
            );
        let nodes = [1e-3, 5e-3, 0.02, 0.06, 0.1, 0.114, 0.13, 0.5];
        for (s, sum) in nodes.into_iter().zip(pair_sums(&bores, &columns, &nodes, &CancelToken::default())) {
            let sum = sum.unwrap();
            let mut direct = Mat::<f64>::zeros(2, 2);
            for (i, j) in (0..400).flat_map(|i| (0..400).filter(move |&j| j != i).map(move |j| (i, j))) {
                let [dx, dy] = [0, 1].map(|axis| bores[i].position[axis] - bores[j].position[axis]);
                let factor = (-(dx * dx + dy * dy) * s * s).exp();
                for (a, b) in [(0, 0), (0, 1), (1, 0), (1, 1)] {
                    direct[(a, b)] += factor * columns[(i, a)] * columns[(j, b)];
                }
            }
            // Relative to the sums' size, to which the second column contributes almost nothing.
            let error = (&sum - &direct).norm_max() / direct.norm_max();
            assert!(error < 2e-6, "{s}: {error:e}");
        }
    }
}
