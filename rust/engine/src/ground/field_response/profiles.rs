//! Heat profiles of each bore, for fields that a few vectors across the field don't represent.
//!
//! The basis consists of the solutions at a few p, each of which contains the heat of every segment. Preconditioned
//! conjugate gradients compute them for several p's side by side. The gain of the last steps estimates what more steps
//! would gain, and the gain of the least significant solution what more p's would.

use std::ops::RangeInclusive;

use faer::Mat;
use rayon::prelude::*;

use super::across::orthonormal;
use super::between::between;
use super::coarse::{products, ratio};
use super::drops::Drops;
use super::gradients::{FewBores, TOGETHER};
use super::interaction::{Part, Segmented, parts};
use super::kernel::Nodes;
use super::lattice::{F32Lanes, LANES};
use super::own::{Own, factors};
use super::segments::SEGMENTS;
use super::system::System;
use super::{Placed, SAFETY, unsolved};
use crate::error::Error;
use crate::ground::LaplaceCurve;

/// Largest range of ln p that the solutions at eight p's represent.
const SPAN: f64 = 20.0;

/// Relative error due to neglected sines and distances of the kernel, which no gain reveals.
const KERNEL: f64 = 1e-4;

/// Conjugate gradients stop when less than this fraction remains to be gained, or after this many steps.
const GAIN: f64 = 8e-5;
const STEPS: usize = 60;

/// Fraction of the heat below which the gain of a step is ignored.
const SOLVED: f64 = 1e-8;

/// The equations of a field among solutions of it, and an estimate of their relative error.
pub fn equations<'a>(
    nodes: &'a Nodes,
    bores: &[Placed],
    times: &RangeInclusive<f64>,
) -> Result<(System<'a>, f64), Error> {
    let field = Bores::new(nodes, bores);
    let mut solutions = Vec::new();
    let mut left = 0.0_f64;
    for points in points(times) {
        let (heat, gain) = field.solutions(&points);
        solutions.push(heat);
        left = left.max(gain);
    }
    let candidates = Mat::from_fn(field.load.len(), solutions.len() * LANES, |row, column| {
        f64::from(solutions[column / LANES][row][column % LANES])
    });
    let system = field.among(&candidates)?;
    let Some(last) = system.count().checked_sub(1) else { return Err(unsolved()) };
    let gain = if last == 0 { 0.0 } else { system.gain(|at| at == last, times)? };
    Ok((system, KERNEL + SAFETY * (left + gain)))
}

/// The equations with the same heat per metre everywhere.
pub fn among_ones<'a>(nodes: &'a Nodes, bores: &[Placed]) -> Result<System<'a>, Error> {
    let field = Bores::new(nodes, bores);
    field.among(&Mat::full(field.load.len(), 1, 1.0))
}

/// Values of p over the whole range that the times need, in groups of eight.
fn points(times: &RangeInclusive<f64>) -> Vec<[f64; LANES]> {
    let all = LaplaceCurve::sample_points(times);
    let (least, most) = all.iter().fold((f64::INFINITY, 0.0_f64), |(a, b), &p| (a.min(p), b.max(p)));
    let times = ((most / least).ln() / SPAN).ceil().max(1.0) as usize;
    let step = 1.0 / (times * LANES - 1) as f64;
    let point = |at: usize| least * (most / least).powf(step * at as f64);
    (0..times).map(|first| std::array::from_fn(|lane| point(lane * times + first))).collect()
}

/// Bores with their segments and their interaction.
struct Bores<'a, 'b> {
    nodes: &'a Nodes,
    field: Segmented<'b>,
    parts: Vec<Part>,
    /// Lengths of all segments (m).
    load: Vec<f64>,
}

impl<'a, 'b> Bores<'a, 'b> {
    fn new(nodes: &'a Nodes, bores: &'b [Placed]) -> Self {
        let field = Segmented::new(bores);
        let length = |bore: &Placed| bore.source.segment_lengths();
        Self { nodes, parts: parts(nodes, &field), load: bores.iter().flat_map(length).collect(), field }
    }

    /// Heat per metre for a drop of 1 everywhere at some values of p, and an estimate of the relative gain of the
    /// field's heat from more steps.
    fn solutions(&self, points: &[f64; LANES]) -> (Vec<F32Lanes>, f64) {
        let factors = factors(Own::new(self.nodes, &self.field).at(points), SEGMENTS);
        let mut drops = Drops::new(self.nodes, &self.field, &self.parts, points);
        let mut bores = FewBores::all(&factors, &self.load);
        let mut direction = vec![[0.0; LANES]; self.load.len()];
        let mut image = direction.clone();
        let mut square = sum(bores.par_iter_mut().map(FewBores::solve));
        let mut turn = [0.0; LANES];
        // Gain of the field's heat in each step.
        let mut gains: Vec<[f64; LANES]> = Vec::new();
        for _ in 0..STEPS {
            self.nodes.token().check();
            let chunks = direction.par_chunks_mut(TOGETHER).zip(image.par_chunks_mut(TOGETHER));
            let turned = bores.par_iter_mut().zip(chunks);
            turned.for_each(|(bores, (direction, image))| bores.turn(turn, direction, image));
            drops.add(&direction, &mut image);
            let chunks = direction.par_chunks(TOGETHER).zip(image.par_chunks(TOGETHER));
            let along = sum(chunks.map(|(direction, image)| products(direction, image)));
            let step = ratio(&square, &along);
            gains.push(std::array::from_fn(|lane| f64::from(step[lane]) * square[lane]));
            let added = bores.par_iter_mut().zip(direction.par_chunks(TOGETHER));
            added.for_each(|(bores, direction)| bores.add_heat(step, direction));
            if left(&gains) < GAIN {
                break;
            }
            let solved = solved(&gains);
            let after = sum(bores.par_iter_mut().zip(image.par_chunks(TOGETHER)).map(|(bores, image)| {
                bores.take_off(step, image);
                bores.silence(&solved);
                bores.solve()
            }));
            turn = ratio(&after, &square);
            square = after;
        }
        (bores.iter().flat_map(FewBores::heat).copied().collect(), left(&gains))
    }

    /// The equations among vectors over all segments.
    fn among(&self, vectors: &Mat<f64>) -> Result<System<'a>, Error> {
        // Segments are weighted by their lengths.
        let roots: Vec<f64> = self.load.iter().map(|load| load.sqrt()).collect();
        let vectors =
            Mat::from_fn(vectors.nrows(), vectors.ncols(), |row, column| roots[row] * vectors[(row, column)]);
        let (mut basis, _) = orthonormal(&vectors, 0, vectors.ncols());
        for vector in basis.col_iter_mut() {
            vector.iter_mut().zip(&roots).for_each(|(value, root)| *value /= root);
        }
        let between = between(self.nodes, &self.field, &self.parts, &basis);
        let matrix = |(own, between): (Mat<f64>, Mat<f64>)| -> Vec<f64> {
            let sum = own + between;
            sum.col_iter().flat_map(|column| column.iter().copied()).collect()
        };
        let own = Own::new(self.nodes, &self.field).project(&basis);
        let at_nodes = own.into_iter().zip(between).flat_map(matrix).collect();
        let load = basis.transpose() * Mat::from_fn(self.load.len(), 1, |row, _| self.load[row]);
        Ok(System::of_matrices(self.nodes, at_nodes, load, self.load.iter().sum(), basis))
    }
}

/// Sums over parts of the bores, added in order.
fn sum(parts: impl IndexedParallelIterator<Item = [f64; LANES]>) -> [f64; LANES] {
    let add = |sum: [f64; LANES], part: [f64; LANES]| std::array::from_fn(|lane| sum[lane] + part[lane]);
    parts.collect::<Vec<_>>().into_iter().fold([0.0; LANES], add)
}

/// The lanes in which the last step gained a negligible amount.
fn solved(gains: &[[f64; LANES]]) -> [bool; LANES] {
    let whole = |lane: usize| gains.iter().map(|gains| gains[lane]).sum::<f64>();
    std::array::from_fn(|lane| gains.last().is_some_and(|last| last[lane] < SOLVED * whole(lane)))
}

/// The estimated remaining gain, relative to all gains: pair by pair, they continue to fall as before.
fn left(gains: &[[f64; LANES]]) -> f64 {
    let [.., a, b, c, d] = gains else { return f64::INFINITY };
    let left = |lane: usize| {
        let whole: f64 = gains.iter().map(|gains| gains[lane]).sum();
        let (before, last) = (a[lane] + b[lane], c[lane] + d[lane]);
        let ratio = (last / before).min(0.9);
        last * ratio / (1.0 - ratio) / whole
    };
    (0..LANES).map(left).fold(0.0, f64::max)
}
