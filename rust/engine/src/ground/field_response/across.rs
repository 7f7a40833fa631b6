//! Vectors across the field: how the heat is shared among the bores, over all times.
//!
//! They come from a crude form of the problem, one segment to a bore and the mean bore's kernel between any two,
//! solved for a few late p's side by side by conjugate gradients. What is crude there costs little: the result that is
//! built on them errs by the square.

use std::ops::RangeInclusive;

use faer::{Mat, Side};
use rayon::prelude::*;

use crate::error::Error;
use crate::ground::LaplaceCurve;

use super::Placed;
use super::kernel::{Nodes, jumps};
use super::lattice::{Lattice, greatest_s, lattices, serving};
use super::near::Near;

/// Values of p that are solved side by side.
const LANES: usize = 8;

/// Vectors at most, beside the constant and those of the bores' depths and tops.
const MOST: usize = 8;

/// Vectors at most for bores that are looked at one by one.
const MOST_OF_EACH_BORE: usize = 20;

/// A vector is left out when less than this part of it is new.
const LEAST: f64 = 2e-4;

/// Conjugate gradients stop at this part of the first residual, or after so many steps.
const RESIDUAL: f64 = 2e-3;
const STEPS: usize = 40;

/// Intervals in each doubling of r^2 of the crude kernel's table, as a power of 2.
const BITS: u32 = 5;

/// Pairs nearby whose exp(-r^2 s^2) is below exp(-CUT) are left out.
const CUT: f64 = 14.0;

/// Of the nodes in s, every so manyth is used.
const SPARSE: usize = 3;

/// Greatest of these p's over the least.
const LATE: f64 = 1e4;

type Lanes = [f64; LANES];

/// Orthonormal vectors over the bores, one to a column.
pub fn vectors(nodes: &Nodes, bores: &[Placed], times: &RangeInclusive<f64>) -> Mat<f64> {
    let count = bores.len();
    let mut basis: Vec<Vec<f64>> = Vec::new();
    let depths: Vec<f64> = bores.iter().map(|bore| bore.source.depth).collect();
    let tops = bores.iter().map(|bore| bore.source.top).collect();
    for vector in [vec![1.0; count], depths.clone(), tops] {
        extend(&mut basis, vector);
    }
    let late = late_points(times);
    let shares = CrudeField::new(nodes, bores, &late).solve();
    let mut candidates: Vec<Vec<f64>> =
        (0..LANES).map(|lane| shares.iter().map(|share| share[lane]).collect()).collect();
    // Bores that are deeper than others take another share in each of them.
    let of_depth = candidates
        .iter()
        .map(|shares| shares.iter().zip(&depths).map(|(share, depth)| share * depth).collect());
    candidates.extend(of_depth.collect::<Vec<_>>());
    for _ in 0..MOST {
        let news: Vec<f64> =
            candidates.iter().map(|candidate| norm(&new_part(&basis, candidate)) / norm(candidate)).collect();
        let Some(best) = (0..candidates.len()).max_by(|&a, &b| news[a].total_cmp(&news[b])) else { break };
        extend(&mut basis, candidates.swap_remove(best));
    }
    Mat::from_fn(count, basis.len(), |bore, vector| basis[vector][bore])
}

/// Orthonormal vectors that span nearly all of what the bores of a field do one by one, as well as `crude` does.
///
/// `snapshots` are solutions, in columns, of a system that has a vector for each bore and a few modes, whose
/// coefficients are what varies across the field. All count alike, however small: it is the later modes that tell a
/// bore among shallower ones from one among deeper ones.
pub fn of_each_bore(crude: &Mat<f64>, snapshots: &Mat<f64>) -> Result<Mat<f64>, Error> {
    let (count, modes) = (crude.nrows(), snapshots.nrows() / crude.nrows());
    let mut candidates = Mat::from_fn(count, modes * snapshots.ncols(), |bore, column| {
        snapshots[(bore * modes + column % modes, column / modes)]
    });
    for mut column in candidates.col_iter_mut() {
        let length = column.norm_l2();
        column /= faer::Scale(length);
    }
    let squares = &candidates * candidates.transpose() + crude * crude.transpose();
    let decomposed = squares.self_adjoint_eigen(Side::Lower).map_err(|_| {
        let allowed = "must let what the bores do be told apart";
        Error::invalid("BoreField", "bores", "as given", "", allowed)
    })?;
    let kept = count.min(MOST_OF_EACH_BORE);
    Ok(Mat::from_fn(count, kept, |bore, vector| decomposed.U()[(bore, count - 1 - vector)]))
}

/// Adds what is new in a vector, unless that is too little.
fn extend(basis: &mut Vec<Vec<f64>>, vector: Vec<f64>) {
    let new = new_part(basis, &vector);
    let length = norm(&new);
    if length > LEAST * norm(&vector) {
        // Twice is enough: the second pass takes out what rounding left of the first.
        let clean = new_part(basis, &new);
        let length = norm(&clean);
        basis.push(clean.into_iter().map(|value| value / length).collect());
    }
}

fn new_part(basis: &[Vec<f64>], vector: &[f64]) -> Vec<f64> {
    let mut new = vector.to_vec();
    for known in basis {
        let part = dot(known, &new);
        new.iter_mut().zip(known).for_each(|(value, known)| *value -= part * known);
    }
    new
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

fn norm(vector: &[f64]) -> f64 {
    dot(vector, vector).sqrt()
}

/// Values of p from the latest time over four decades back.
fn late_points(times: &RangeInclusive<f64>) -> Lanes {
    let points = LaplaceCurve::sample_points(times);
    let (least, most) = points.iter().fold((f64::INFINITY, 0.0_f64), |(a, b), &p| (a.min(p), b.max(p)));
    let most = most.min(LATE * least);
    std::array::from_fn(|lane| least * (most / least).powf(lane as f64 / (LANES - 1) as f64))
}

/// One segment to a bore.
///
/// The kernel is a table in r^2 for what reaches bores nearby, and the rest is summed on lattices.
struct CrudeField<'a> {
    bores: &'a [Placed],
    lengths: Vec<f64>,
    own: Lanes,
    near: Near<'a>,
    first: usize,
    table: Vec<Lanes>,
    split: f64,
    /// Nodes s [1/m] below the split, with the kernel in each lane where bores stand together.
    far: Vec<(f64, Lanes)>,
}

impl<'a> CrudeField<'a> {
    fn new(nodes: &Nodes, bores: &'a [Placed], points: &Lanes) -> Self {
        let count = bores.len() as f64;
        let mean = |value: fn(&Placed) -> f64| bores.iter().map(value).sum::<f64>() / count;
        let (depth, top) = (mean(|bore| bore.source.depth), mean(|bore| bore.source.top));
        let radius = mean(|bore| bore.source.radius);
        let decay = nodes.decay(points);
        let (edges, whole) = ([top, top + depth], jumps(&Mat::full(1, 1, 1.0)));
        let kernels: Vec<f64> =
            nodes.s().iter().map(|&s| nodes.kernel(s, &edges, &edges, &whole)[(0, 0)]).collect();
        // So few nodes err by exp(-pi^2 / 2 / step) = 1e-5.
        let terms: Vec<(f64, Lanes)> = (0..nodes.s().len())
            .step_by(SPARSE)
            .map(|node| {
                let value = SPARSE as f64 * kernels[node];
                (nodes.s()[node], std::array::from_fn(|lane| value * decay[(node, lane)]))
            })
            .collect();
        let split = greatest_s(bores);
        let (far, close): (Vec<_>, Vec<_>) = terms.iter().copied().partition(|(s, _)| *s < split);
        let kernel = |terms: &[(f64, Lanes)], square: f64| -> Lanes {
            let mut sum = [0.0; LANES];
            for (s, values) in terms {
                let factor = (-square * s * s).exp();
                sum.iter_mut().zip(values).for_each(|(sum, value)| *sum += factor * value);
            }
            sum
        };
        let near = Near::new(bores, CUT.sqrt() / split);
        let least = bores.iter().map(|bore| bore.source.radius).fold(f64::INFINITY, f64::min);
        let (first, _) = interval((2.0 * least).powi(2) * 0.5);
        let (last, _) = interval(near.greatest_square() * 2.0);
        let table = (first..=last + 1).map(|index| kernel(&close, start(index))).collect();
        // On lattices a bore meets itself as well.
        let (whole, itself) = (kernel(&terms, radius * radius), kernel(&far, 0.0));
        let own = std::array::from_fn(|lane| whole[lane] - itself[lane]);
        let lengths = bores.iter().map(|bore| bore.source.depth / depth).collect();
        Self { bores, lengths, own, near, first, table, split, far }
    }

    /// Heat of each bore per metre for a drop of 1 everywhere, in each lane.
    fn solve(&self) -> Vec<Lanes> {
        let count = self.bores.len();
        let mut heat = vec![[0.0; LANES]; count];
        let mut residual: Vec<Lanes> = self.lengths.iter().map(|&length| [length; LANES]).collect();
        let mut direction = residual.clone();
        let first = squares(&residual, &residual);
        let mut square = first;
        for _ in 0..STEPS {
            let image = self.image(&direction);
            let step = ratio(&square, &squares(&direction, &image));
            for bore in 0..count {
                for lane in 0..LANES {
                    heat[bore][lane] += step[lane] * direction[bore][lane];
                    residual[bore][lane] -= step[lane] * image[bore][lane];
                }
            }
            let next = squares(&residual, &residual);
            if next.iter().zip(&first).all(|(next, first)| *next <= RESIDUAL * RESIDUAL * first) {
                break;
            }
            let turn = ratio(&next, &square);
            square = next;
            for (direction, residual) in direction.iter_mut().zip(&residual) {
                for lane in 0..LANES {
                    direction[lane] = residual[lane] + turn[lane] * direction[lane];
                }
            }
        }
        heat
    }

    /// The drop of each bore, times its length, that the given heat causes.
    fn image(&self, heat: &[Lanes]) -> Vec<Lanes> {
        let scaled: Vec<Lanes> =
            heat.iter().zip(&self.lengths).map(|(heat, length)| heat.map(|value| value * length)).collect();
        let mut image = self.far_image(&scaled);
        self.near.for_each_pair(|i, j, square| {
            let (index, part) = interval(square);
            let [low, high] = [&self.table[index - self.first], &self.table[index - self.first + 1]];
            for lane in 0..LANES {
                let kernel = low[lane] + part * (high[lane] - low[lane]);
                image[i][lane] += kernel * scaled[j][lane];
                image[j][lane] += kernel * scaled[i][lane];
            }
        });
        for (bore, image) in image.iter_mut().enumerate() {
            for lane in 0..LANES {
                image[lane] = self.lengths[bore] * image[lane] + self.own[lane] * scaled[bore][lane];
            }
        }
        image
    }
}

impl CrudeField<'_> {
    /// What some heat causes through the nodes below the split.
    fn far_image(&self, heat: &[Lanes]) -> Vec<Lanes> {
        let mut image = vec![[0.0; LANES]; heat.len()];
        let Some((least, _)) = self.far.first() else { return image };
        let lattices = lattices(self.bores, heat.as_flattened(), LANES, *least, self.split);
        let smoothed = |(level, lattice): (usize, &Lattice)| {
            let mut sum = vec![0.0; lattice.values().len()];
            for (s, kernel) in self.far.iter().filter(|(s, _)| serving(self.split, *s) == Some(level)) {
                for (sum, point) in sum.chunks_mut(LANES).zip(lattice.smoothed(*s).chunks(LANES)) {
                    (0..LANES).for_each(|lane| sum[lane] += kernel[lane] * point[lane]);
                }
            }
            sum
        };
        let mut levels: Vec<_> = lattices.par_iter().enumerate().map(smoothed).collect();
        while let Some(values) = levels.pop() {
            let level = levels.len();
            let lattice = &lattices[level];
            match levels.last_mut() {
                Some(finer) => lattice.refine(&values, &lattices[level - 1], finer),
                None => image
                    .par_iter_mut()
                    .zip(self.bores)
                    .for_each(|(image, bore)| lattice.gather(&values, bore.position, image)),
            }
        }
        image
    }
}

fn squares(a: &[Lanes], b: &[Lanes]) -> Lanes {
    let mut sum = [0.0; LANES];
    for (a, b) in a.iter().zip(b) {
        for lane in 0..LANES {
            sum[lane] += a[lane] * b[lane];
        }
    }
    sum
}

/// Quotients, zero for a lane that is solved already.
fn ratio(a: &Lanes, b: &Lanes) -> Lanes {
    std::array::from_fn(|lane| if b[lane] > 0.0 { a[lane] / b[lane] } else { 0.0 })
}

/// Interval of the table that holds a square of a distance [m2], and the place in it from 0 to 1: the exponent and
/// the first digits of the binary number are the interval, the other digits the place.
fn interval(square: f64) -> (usize, f64) {
    let bits = square.to_bits();
    let index = (bits >> (52 - BITS)) as usize;
    let rest = bits & ((1 << (52 - BITS)) - 1);
    (index, rest as f64 / (1_u64 << (52 - BITS)) as f64)
}

/// Square of the distance [m2] at which an interval of the table starts.
fn start(index: usize) -> f64 {
    f64::from_bits((index as u64) << (52 - BITS))
}
