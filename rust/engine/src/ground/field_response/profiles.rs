//! Heat of each bore along itself, for bores that no few vectors across the field stand for.
//!
//! The basis is made of solutions: each of its vectors holds the heat of every segment. Preconditioned conjugate gradients
//! find them for a few p, with the interplay of the bores looked at coarsely. What they leave of the equations, looked at
//! closely, gives as many vectors again, which correct the solutions and tell how far they were off; if too far, so do the
//! corrected ones.

use std::ops::RangeInclusive;

use faer::Mat;
use rayon::prelude::*;

use super::across::orthonormal;
use super::alone::{Alone, add_products, factors, solve};
use super::crude::{add, products, ratio, turned};
use super::interplay::{Fineness, Interplay, Segmented};
use super::kernel::Nodes;
use super::lattice::{Grade, LANES, Lanes};
use super::layers::Layers;
use super::pair_sums::{self, Layer, pair_sums};
use super::system::System;
use super::{Placed, SAFETY, TOLERANCE};
use crate::error::Error;
use crate::ground::strips::Strips;
use crate::ground::{LaplaceCurve, closest};

const COARSE: Fineness = Fineness { grade: Grade { step: 0.5, cut: 7.0 }, layers: 24 };
const CLOSE: Fineness = Fineness { grade: Grade { step: 0.4, cut: 10.0 }, layers: 400 };

/// Conjugate gradients stop at this part of the first residual, or after so many steps.
const RESIDUAL: f64 = 3e-3;
const STEPS: usize = 40;

/// Times that the solutions are corrected, at most.
const ROUNDS: usize = 6;

/// Closest distance over the reach of the heat, sqrt(a / p), above which bores are alone.
const APART: f64 = 8.0;

/// Work of a pair of bores looked at by itself, and of a sine for a pair and for a bore, for so many vectors as there
/// mostly are.
const WORK_OF_PAIR: f64 = 20_000.0;
const WORK_OF_LAYER: [f64; 2] = [20.0, 400.0];

/// Sines that are less work in any case.
const FEW_LAYERS: f64 = 32.0;

/// The equations of a field among solutions of it, and an estimate of their relative error.
pub fn equations<'a>(
    nodes: &'a Nodes,
    bores: &[Placed],
    segments: &[f64],
    times: &RangeInclusive<f64>,
) -> Result<(System<'a>, f64), Error> {
    let field = Segmented::new(bores, segments);
    let alone = Alone::new(nodes, bores, segments);
    let (late, early) = points(nodes, &field, times);
    let load: Vec<f64> =
        bores.iter().flat_map(|bore| segments.iter().map(|segment| bore.source.depth * segment)).collect();
    let mut by_themselves = spread(&load);
    solve(&factors(&alone.at(&early), segments.len()), segments.len(), &mut by_themselves);

    let own = alone.at(&late);
    let bores = Bores { field: &field, load: spread(&load), factors: factors(&own, segments.len()), own };
    let mut solutions = bores.solutions(&Interplay::<4>::new(nodes, &field, &late, COARSE));
    let close = Interplay::<6>::new(nodes, &field, &late, CLOSE);
    let mut vectors = vec![solutions.clone(), by_themselves];
    loop {
        vectors.push(bores.corrections(&close, &solutions));
        let candidates = Mat::from_fn(load.len(), vectors.len() * LANES, |row, column| {
            f64::from(vectors[column / LANES][row][column % LANES])
        });
        let given = candidates.ncols() - LANES;
        let (basis, plain) = orthonormal(&candidates, given, candidates.ncols());
        let system = project(nodes, &field, &alone, &load, &basis);
        let error = SAFETY * system.gain(|at| at >= plain, times)?;
        if error < TOLERANCE || vectors.len() >= 2 + ROUNDS {
            return Ok((system, error));
        }
        let corrected = system.solve(&late)?;
        let value = |row: usize, lane: usize| {
            (0..basis.ncols()).map(|column| basis[(row, column)] * corrected[lane][(column, 0)]).sum::<f64>()
                as f32
        };
        solutions = (0..load.len()).map(|row| std::array::from_fn(|lane| value(row, lane))).collect();
    }
}

/// The equations with the same heat per metre everywhere.
pub fn among_ones<'a>(nodes: &'a Nodes, bores: &[Placed], segments: &[f64]) -> System<'a> {
    let field = Segmented::new(bores, segments);
    let load: Vec<f64> =
        bores.iter().flat_map(|bore| segments.iter().map(|segment| bore.source.depth * segment)).collect();
    let ones = Mat::full(load.len(), 1, 1.0);
    project(nodes, &field, &Alone::new(nodes, bores, segments), &load, &ones)
}

/// Values of p at which the bores act on each other, and some at which they hardly do.
fn points(nodes: &Nodes, field: &Segmented<'_>, times: &RangeInclusive<f64>) -> ([f64; LANES], [f64; LANES]) {
    let all = LaplaceCurve::sample_points(times);
    let (least, most) = all.iter().fold((f64::INFINITY, 0.0_f64), |(a, b), &p| (a.min(p), b.max(p)));
    let apart = (nodes.diffusivity() * (APART / closest(&field.positions)).powi(2)).clamp(least, most);
    let between =
        |a: f64, b: f64| std::array::from_fn(|lane| a * (b / a).powf(lane as f64 / (LANES - 1) as f64));
    (between(least, apart), between((least * apart).sqrt(), most))
}

/// Bores at a few values of p.
struct Bores<'a> {
    field: &'a Segmented<'a>,
    load: Vec<Lanes>,
    /// What each does to itself, and the Cholesky factors of that.
    own: Vec<Lanes>,
    factors: Vec<Lanes>,
}

impl Bores<'_> {
    /// The drop of each segment, times its length, that the given heat causes.
    fn image<const W: usize>(&self, interplay: &Interplay<'_, W>, heat: &[Lanes]) -> Vec<Lanes> {
        let mut image = vec![[0.0; LANES]; heat.len()];
        add_products(&self.own, self.field.segments.len(), heat, &mut image);
        interplay.add(heat, &mut image);
        image
    }

    /// The heat that would cause the given drops if each bore were alone.
    fn preconditioned(&self, drops: &[Lanes]) -> Vec<Lanes> {
        let mut heat = drops.to_vec();
        solve(&self.factors, self.field.segments.len(), &mut heat);
        heat
    }

    /// Heat per metre for a drop of 1 everywhere, by conjugate gradients.
    fn solutions<const W: usize>(&self, interplay: &Interplay<'_, W>) -> Vec<Lanes> {
        let mut heat = vec![[0.0; LANES]; self.load.len()];
        let mut residual = self.load.clone();
        let mut direction = self.preconditioned(&residual);
        let first = products(&residual, &direction);
        let mut square = first;
        for _ in 0..STEPS {
            let image = self.image(interplay, &direction);
            let step = ratio(&square, &products(&direction, &image));
            add(&mut heat, step, &direction);
            add(&mut residual, step.map(|step| -step), &image);
            let next = self.preconditioned(&residual);
            let after = products(&residual, &next);
            if after.iter().zip(&first).all(|(after, first)| *after <= RESIDUAL * RESIDUAL * first) {
                break;
            }
            turned(&mut direction, ratio(&after, &square), &next);
            square = after;
        }
        heat
    }

    /// What corrects the given heat, as far as bores that act on each other a little are concerned.
    fn corrections<const W: usize>(&self, interplay: &Interplay<'_, W>, heat: &[Lanes]) -> Vec<Lanes> {
        let mut left = self.load.clone();
        add(&mut left, [-1.0; LANES], &self.image(interplay, heat));
        self.preconditioned(&left)
    }
}

fn spread(load: &[f64]) -> Vec<Lanes> {
    load.iter().map(|&load| [load as f32; LANES]).collect()
}

/// The equations projected onto vectors over the bores' segments.
fn project<'a>(
    nodes: &'a Nodes,
    field: &Segmented<'_>,
    alone: &Alone<'_>,
    load: &[f64],
    basis: &Mat<f64>,
) -> System<'a> {
    let own = alone.project(basis);
    let between = between(nodes, field, basis);
    let matrix = |(own, between): (Mat<f64>, Option<Mat<f64>>)| -> Vec<f64> {
        let sum = between.map_or(own.clone(), |between| own + between);
        sum.col_iter().flat_map(|column| column.iter().copied()).collect()
    };
    let at_nodes = own.into_iter().zip(between).flat_map(matrix).collect();
    let load = basis.transpose() * Mat::from_fn(load.len(), 1, |row, _| load[row]);
    let length = field.bores.iter().map(|bore| bore.source.depth).sum();
    System::of_matrices(nodes, at_nodes, load, length, basis.clone())
}

/// What the bores do to each other, node by node, projected onto vectors over their segments; `None` where no two are
/// near enough.
pub fn between(nodes: &Nodes, field: &Segmented<'_>, basis: &Mat<f64>) -> Vec<Option<Mat<f64>>> {
    let (count, size) = (basis.ncols(), field.segments.len());
    let grade = pair_sums::GRADE;
    let few = nodes.s().partition_point(|&s| {
        let layers = Layers::new(field.deepest, grade, s, s).count as f64;
        if layers < FEW_LAYERS {
            return true;
        }
        let pairs = Strips::new(&field.positions, grade.reach(s)).pairs() as f64;
        let [pair, bore] = WORK_OF_LAYER;
        layers * (pair * pairs + bore * field.bores.len() as f64) < WORK_OF_PAIR * pairs
    });
    let (layered, one_by_one) = nodes.s().split_at(few);
    let layers = |least: f64, greatest: f64| -> Vec<Layer<'_>> {
        let layers = Layers::new(field.deepest, grade, least, greatest);
        let of_bore = |bore: usize| -> Mat<f64> {
            let mut integrals = Mat::<f64>::zeros(layers.count, size);
            layers.for_each_integral(&field.edges[bore], |layer, ends| {
                (0..size).for_each(|segment| integrals[(layer, segment)] = ends[segment + 1] - ends[segment]);
            });
            integrals * basis.subrows(bore * size, size)
        };
        let taken: Vec<Mat<f64>> = (0..field.bores.len()).into_par_iter().map(of_bore).collect();
        let layer = |layer: usize| {
            let columns = Mat::from_fn(taken.len(), count, |bore, column| taken[bore][(layer, column)]);
            Layer::new(columns, move |s| layers.weight(layer, s))
        };
        (0..layers.count).map(layer).collect()
    };
    let mut sums = pair_sums(field.bores, layers, layered);
    let exact = one_by_one.par_iter().map(|&s| exact_sum(nodes, field, basis, s));
    sums.extend(exact.collect::<Vec<_>>());
    sums
}

/// At a node, pair by pair.
fn exact_sum(nodes: &Nodes, field: &Segmented<'_>, basis: &Mat<f64>, s: f64) -> Option<Mat<f64>> {
    let reach = pair_sums::GRADE.reach(s);
    let (count, size) = (basis.ncols(), field.segments.len());
    let strips = Strips::new(&field.positions, reach);
    let mut sum = Mat::<f64>::zeros(count, count);
    let mut any = false;
    strips.for_each_window(reach, |place, windows| {
        let bore = strips.order[place] as usize;
        let mut met = Mat::<f64>::zeros(size, count);
        let mut some = false;
        for window in windows {
            for (other, square) in window.clone().zip(strips.squares(place, window)) {
                if square <= reach * reach {
                    let other = strips.order[other] as usize;
                    let kernel = nodes.kernel(s, &field.edges[bore], &field.edges[other]);
                    met +=
                        faer::Scale((-square * s * s).exp()) * (kernel * basis.subrows(other * size, size));
                    some = true;
                }
            }
        }
        if some {
            sum += basis.subrows(bore * size, size).transpose() * met;
            any = true;
        }
    });
    any.then(|| &sum + sum.transpose())
}
