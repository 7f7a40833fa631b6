//! The equations of a field in moving ground.

use std::ops::RangeInclusive;

use complex_bessel::{Scaling, besseli_seq};
use faer::linalg::solvers::Solve;
use faer::{Mat, c64};
use rayon::prelude::*;

use super::reduced::Reduced;
use crate::cancel_token::CancelToken;
use crate::error::Error;
use crate::ground::field_response::kernel::{Nodes, STEP};
use crate::ground::field_response::{kinds, orthonormal, unsolved};
use crate::ground::{Ground, LaplaceCurve, LineSource, Placed};

/// Nodes in s between two of those that serve real p: the complex p of the inversion are so close to the imaginary
/// axis that the sum needs the others too.
const FINER: usize = 4;

/// Values of p whose solutions represent those at all p.
const SOLUTIONS: usize = 12;

/// S(p) x = L, with profiles of heat along each bore as unknowns: that of profile `a` of a bore has index
/// bore x profiles + a.
pub struct Equations {
    nodes: Nodes,
    /// The bores, sorted by position.
    pub bores: Vec<Placed>,
    /// U / (4 a): displacement at node s times s (1/m x m).
    drift: [f64; 2],
    /// Factor of a bore's own wall at each node, for each kind of bore.
    own: Vec<Vec<f64>>,
    /// F between the profiles of two kinds of bores at each node: receiver x kinds + source.
    along: Vec<Vec<Mat<f64>>>,
    kind_of: Vec<usize>,
    profiles: usize,
    load: Mat<f64>,
    /// Total active depth (m).
    length: f64,
    token: CancelToken,
}

impl Equations {
    /// The equations of bores with profiles of heat along them, in columns over their segments.
    pub fn new(
        ground: &Ground,
        drift: [f64; 2],
        bores: Vec<Placed>,
        profiles: &Mat<f64>,
        times: &RangeInclusive<f64>,
        token: &CancelToken,
    ) -> Self {
        let diffusivity = ground.diffusivity();
        let least_radius = bores.iter().map(|bore| bore.source.radius).fold(f64::INFINITY, f64::min);
        let nodes = Nodes::with_step(STEP / FINER as f64, least_radius, diffusivity, times, token);
        let (kinds, kind_of) = kinds(&bores);
        let drift = drift.map(|velocity| velocity / (4.0 * diffusivity));
        let own = nodes
            .s()
            .iter()
            .map(|&s| {
                kinds.iter().map(|kind| own_wall(kind.radius * s, drift[0].hypot(drift[1]) / s)).collect()
            })
            .collect();
        let edges: Vec<Vec<f64>> = kinds.iter().map(LineSource::edges).collect();
        let between = |s: &f64| -> Vec<Mat<f64>> {
            token.check();
            let pairs = edges.iter().flat_map(|to| edges.iter().map(move |from| (to, from)));
            pairs.map(|(to, from)| profiles.transpose() * nodes.kernel(*s, to, from) * profiles).collect()
        };
        let along = nodes.s().par_iter().map(between).collect();
        let of_kind = |kind: &LineSource| {
            let lengths = kind.segment_lengths();
            profiles.transpose() * Mat::from_fn(lengths.len(), 1, |segment, _| lengths[segment])
        };
        let loads: Vec<Mat<f64>> = kinds.iter().map(of_kind).collect();
        let width = profiles.ncols();
        let load = Mat::from_fn(bores.len() * width, 1, |at, _| loads[kind_of[at / width]][(at % width, 0)]);
        let length = bores.iter().map(|bore| bore.source.depth).sum();
        Self { nodes, bores, drift, own, along, kind_of, profiles: width, load, length, token: token.clone() }
    }

    /// The factor of the horizontal distance at a node, receiver by source.
    fn across(&self, node: usize) -> Mat<f64> {
        let s = self.nodes.s()[node];
        let moved = self.drift.map(|drift| drift / s);
        Mat::from_fn(self.bores.len(), self.bores.len(), |to, from| {
            if to == from {
                return self.own[node][self.kind_of[to]];
            }
            let apart = |axis: usize| {
                let distance = self.bores[to].position[axis] - self.bores[from].position[axis];
                (s * distance - moved[axis]).powi(2)
            };
            (-apart(0) - apart(1)).exp()
        })
    }

    /// F between the profiles of two bores at a node.
    fn along(&self, node: usize, to: usize, from: usize) -> &Mat<f64> {
        let kinds = self.own[node].len();
        &self.along[node][self.kind_of[to] * kinds + self.kind_of[from]]
    }

    /// S at a real p (1/s).
    fn at(&self, p: f64) -> Mat<f64> {
        let (bores, width) = (self.bores.len(), self.profiles);
        let mut matrix = Mat::zeros(bores * width, bores * width);
        for (node, exponent) in self.nodes.exponents().enumerate().step_by(FINER) {
            let decay = FINER as f64 * (-p * exponent).exp();
            if decay < f64::EPSILON * f64::EPSILON {
                continue;
            }
            self.token.check();
            let across = self.across(node);
            for (from, to) in (0..bores).flat_map(|from| (0..bores).map(move |to| (from, to))) {
                let (weight, along) = (decay * across[(to, from)], self.along(node, to, from));
                if weight < f64::EPSILON * f64::EPSILON {
                    continue;
                }
                for (b, a) in (0..width).flat_map(|b| (0..width).map(move |a| (b, a))) {
                    matrix[(to * width + a, from * width + b)] += weight * along[(a, b)];
                }
            }
        }
        matrix
    }

    fn solution(&self, p: f64) -> Solution {
        let factors = self.at(p).partial_piv_lu();
        let mut weights = self.load.clone();
        factors.solve_transpose_in_place(&mut weights);
        Solution { heat: factors.solve(&self.load), weights }
    }

    /// Share of the heat (1/m) of each profile of each bore, in one column for each real p (1/s).
    pub fn shares(&self, points: &[f64]) -> Mat<f64> {
        let share = |&p: &f64| {
            let heat = self.at(p).partial_piv_lu().solve(&self.load);
            let total = (self.load.transpose() * &heat)[(0, 0)];
            heat * faer::Scale(total.recip())
        };
        let columns: Vec<Mat<f64>> = points.par_iter().map(share).collect();
        Mat::from_fn(self.load.nrows(), columns.len(), |row, column| columns[column][(row, 0)])
    }

    /// The equations among the solutions at a few p, weighted with those of the transposed equations.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] if bores are too close for the equations to be solved.
    pub fn among_solutions(&self, times: &RangeInclusive<f64>) -> Result<Reduced, Error> {
        let all = LaplaceCurve::sample_points(times);
        let (least, most) = all.iter().fold((f64::INFINITY, 0.0_f64), |(a, b), &p| (a.min(p), b.max(p)));
        let point = |at: usize| least * (most / least).powf(at as f64 / (SOLUTIONS - 1) as f64);
        let solve = |at: usize| self.solution(point(at));
        let solutions: Vec<Solution> = (0..SOLUTIONS).into_par_iter().map(solve).collect();
        let columns = |which: &dyn Fn(&Solution, usize) -> f64| {
            let all = Mat::from_fn(self.load.nrows(), SOLUTIONS, |row, at| which(&solutions[at], row));
            orthonormal(&all, 0, SOLUTIONS).0
        };
        let heat = columns(&|solution, row| solution.heat[(row, 0)]);
        let weights = columns(&|solution, row| solution.weights[(row, 0)]);
        let count = heat.ncols().min(weights.ncols());
        if count == 0 {
            return Err(unsolved());
        }
        let size = self.load.nrows();
        let (heat, weights) =
            (heat.submatrix(0, 0, size, count).to_owned(), weights.submatrix(0, 0, size, count).to_owned());
        let at_nodes = (0..self.nodes.s().len())
            .into_par_iter()
            .map(|node| self.projected(node, &heat, &weights))
            .collect();
        let reduced = Reduced {
            exponents: self.nodes.exponents().collect(),
            at_nodes,
            right: weights.transpose() * &self.load,
            left: heat.transpose() * &self.load,
            length: self.length,
            heat,
        };
        if reduced.complex_drop(c64::new(least, 0.0)).re.is_finite() { Ok(reduced) } else { Err(unsolved()) }
    }

    /// weights^T x (the matrix of a node) x heat.
    fn projected(&self, node: usize, heat: &Mat<f64>, weights: &Mat<f64>) -> Mat<f64> {
        self.token.check();
        let (bores, width, count) = (self.bores.len(), self.profiles, heat.ncols());
        let across = self.across(node);
        let mut sum = Mat::zeros(count, count);
        for kind in 0..self.own[node].len() {
            let Some(example) = self.kind_of.iter().position(|&other| other == kind) else { continue };
            // Drops that the heat of each bore would cause along a bore of this kind without any distance.
            let near = Mat::from_fn(bores, width * count, |from, at| {
                let (along, column) = (self.along(node, example, from), at / width);
                (0..width).map(|b| along[(at % width, b)] * heat[(from * width + b, column)]).sum::<f64>()
            });
            let drops = &across * near;
            let alike: Vec<usize> = (0..bores).filter(|&bore| self.kind_of[bore] == kind).collect();
            sum += Mat::from_fn(count, count, |row, column| {
                let of_bore = |&bore: &usize| -> f64 {
                    (0..width)
                        .map(|a| weights[(bore * width + a, row)] * drops[(bore, column * width + a)])
                        .sum()
                };
                alike.iter().map(of_bore).sum::<f64>()
            });
        }
        sum
    }
}

/// Solution of the equations, and of the transposed ones.
struct Solution {
    heat: Mat<f64>,
    weights: Mat<f64>,
}

/// Mean of exp(-|s r - c|^2) around a wall at s r = x from the source, where c is the displacement times s:
/// exp(-(x^2 + c^2)) I0(2 x c).
fn own_wall(x: f64, c: f64) -> f64 {
    let scaled = besseli_seq(0.0, c64::new(2.0 * x * c, 0.0), 1, Scaling::Exponential);
    scaled.map_or(f64::NAN, |found| found.values[0].re) * (-(x - c).powi(2)).exp()
}
