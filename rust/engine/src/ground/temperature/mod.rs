//! Temperature of the ground around a bore field, and the sources of its heat.
//!
//! A bore segment that has extracted heat q per metre lowers the temperature at a distance r and a depth z by
//!
//! ```text
//! drop = 1 / (4 pi k) x integral over ln s of q(t - 1 / (4 a s^2)) exp(-r^2 s^2) E(s),
//! E = [erf(s (z - u)) + erf(s (z + u))] from the segment's upper end u to its lower one, upper minus lower
//! ```
//!
//! (point sources with their mirror images above a surface of constant temperature: Carslaw & Jaeger 1959, section
//! 10.4; s as in Claesson & Javed 2011). Horizontal position and depth separate in it, and so do x and y: maps are sums
//! of products of matrices, one for each node in s.
//!
//! Groundwater carries heat of age 1 / (4 a s^2) along by U / (4 a s^2), where U is its thermal velocity: with
//! c = U / (4 a), exp(-|s r - c / s|^2) takes the place of exp(-r^2 s^2) (see `moving_response`).

mod lags;

use std::f64::consts::{FRAC_2_SQRT_PI, PI};

use complex_bessel::{Scaling, besseli_seq};
use faer::linalg::matmul::matmul;
use faer::{Accum, Mat, Par, c64};
use rayon::prelude::*;

use crate::cancel_token::{CancelToken, cancellable};
use crate::error::Error;
use crate::ground::{Ground, HeatSpread, Placed};

/// Exponentials below exp(-FAR) are neglected.
const FAR: f64 = 37.0;

/// Places, and bores, that are processed together, and groups of nodes over which a plan is summed separately.
const TOGETHER: usize = 64;
const GROUPS: usize = 4;

/// Pairs of a place and a bore between two checks of the token, at most.
const AT_ONCE: usize = 1 << 21;

/// Largest number of values that a node's heat by bore and depth may take.
const ROOM: usize = 1 << 23;

/// The heat that a field has extracted, as it affects the ground at one moment.
pub struct Snapshot<'a> {
    ground: &'a Ground,
    spread: &'a HeatSpread,
    /// c to the east and to the north (1/m).
    drift: [f64; 2],
    nodes: Vec<HeatNode>,
}

/// A node s (1/m) with the heat per metre, modes x bores (W/m), assigned to it.
struct HeatNode {
    s: f64,
    heat: Mat<f64>,
}

impl<'a> Snapshot<'a> {
    /// The moment before which each pattern of a spread has extracted `heat` (W), constant in each piece between the
    /// `lags` (s) before the moment, which rise from 0.
    ///
    /// With energy extracted (J) instead of heat, temperatures and flows become their integrals over time.
    #[must_use]
    pub fn new(ground: &'a Ground, spread: &'a HeatSpread, lags: &[f64], heat: &[Vec<f64>]) -> Self {
        let least_radius = spread.bores.iter().map(|bore| bore.source.radius).fold(f64::INFINITY, f64::min);
        let drift = ground.thermal_velocity().map(|velocity| velocity / (4.0 * ground.diffusivity()));
        let most = FAR.sqrt() / least_radius;
        let nodes = lags::nodes(ground.diffusivity(), drift[0].hypot(drift[1]), most, lags, heat);
        let node = |felt: &lags::SeriesNode| {
            let zeros = Mat::zeros(spread.along.ncols(), spread.across.ncols());
            let patterns = spread.patterns.iter().zip(&felt.heat);
            let sum = patterns.fold(zeros, |sum, (pattern, &heat)| sum + pattern * faer::Scale(heat));
            HeatNode { s: felt.s, heat: sum * spread.across.transpose() }
        };
        Self { ground, spread, drift, nodes: nodes.iter().map(node).collect() }
    }

    /// Temperature drops (K) at places x, y (m) and depths (m): depths x places.
    ///
    /// Closer to a bore's axis than its radius, the drop is the mean around the radius.
    ///
    /// # Errors
    /// [`Error::Stopped`] if `token` was cancelled.
    pub fn drops(&self, places: &[[f64; 2]], depths: &[f64], token: &CancelToken) -> Result<Mat<f64>, Error> {
        let few = (AT_ONCE / self.spread.bores.len().max(1)).clamp(1, TOGETHER);
        let together = (ROOM / (self.nodes.len() * self.spread.bores.len()).max(1)).max(1);
        cancellable(|| {
            let mut drops = Mat::zeros(depths.len(), places.len());
            for (part, depths) in depths.chunks(together).enumerate() {
                let drawn = self.drawn_at(depths, token);
                let blocks: Vec<Mat<f64>> =
                    places.par_chunks(few).map(|places| self.block(places, &drawn, token)).collect();
                for (block, values) in blocks.iter().enumerate() {
                    let mut into =
                        drops.submatrix_mut(part * together, block * few, depths.len(), values.ncols());
                    into.copy_from(values);
                }
            }
            Ok(drops)
        })
    }

    /// Temperature drops (K) at one depth (m), for each y each x (m).
    ///
    /// # Errors
    /// [`Error::Stopped`] if `token` was cancelled.
    pub fn plan(&self, x: &[f64], y: &[f64], depth: f64, token: &CancelToken) -> Result<Vec<f64>, Error> {
        let bores = &self.spread.bores;
        let group = |first: usize, drawn: &[Mat<f64>]| {
            let mut drops = Mat::zeros(x.len(), y.len());
            for (node, drawn) in self.nodes.iter().zip(drawn).skip(first).step_by(GROUPS) {
                for (few, bores) in bores.chunks(TOGETHER).enumerate() {
                    token.check();
                    let gaussians = |places: &[f64], axis: usize| {
                        Mat::from_fn(places.len(), bores.len(), |place, bore| {
                            let distance = places[place] - bores[bore].position[axis];
                            let (drift, carried) = (self.drift[axis], 2.0 * distance * self.drift[axis]);
                            gaussian(distance.powi(2), drift.powi(2), carried, node.s)
                        })
                    };
                    let (across, mut down) = (gaussians(x, 0), gaussians(y, 1));
                    for (bore, mut column) in down.col_iter_mut().enumerate() {
                        column *= faer::Scale(drawn[(0, few * TOGETHER + bore)]);
                    }
                    matmul(&mut drops, Accum::Add, &across, down.transpose(), 1.0, Par::Seq);
                }
            }
            drops
        };
        let groups: Vec<Mat<f64>> = cancellable(|| {
            let drawn = self.drawn_at(&[depth], token);
            Ok((0..GROUPS).into_par_iter().map(|first| group(first, &drawn)).collect())
        })?;
        let sum = groups.into_iter().fold(Mat::zeros(x.len(), y.len()), |sum, group| sum + group);
        let mut drops: Vec<f64> = sum.col_iter().flat_map(|column| column.iter().copied()).collect();
        let inside: Vec<usize> = bores
            .iter()
            .flat_map(|bore| within(x, y, bore.position, bore.source.radius))
            .map(|[column, row]| row * x.len() + column)
            .collect();
        let places: Vec<[f64; 2]> = inside.iter().map(|at| [x[at % x.len()], y[at / x.len()]]).collect();
        let walls = self.drops(&places, &[depth], token)?;
        inside.iter().enumerate().for_each(|(place, &at)| drops[at] = walls[(0, place)]);
        Ok(drops)
    }

    /// Heat released by the ground (W s), integrated over the whole ground.
    #[must_use]
    pub fn from_ground(&self) -> f64 {
        let capacity = self.ground.volumetric_heat_capacity / (4.0 * PI * self.ground.conductivity);
        // exp(-r^2 s^2) over a plane is pi / s^2, and E from the surface down 2 / s x ierf(s u), lower end minus upper.
        capacity * self.sum(|s, edge| -PI / (s * s) * 2.0 / s * ierf(s * edge))
    }

    /// Heat that flows in through the surface (W).
    #[must_use]
    pub fn through_surface(&self) -> f64 {
        // The slope of E at the surface is 4 s / sqrt pi exp(-s^2 u^2), upper end minus lower.
        0.25 / PI * self.sum(|s, edge| PI / (s * s) * 2.0 * FRAC_2_SQRT_PI * s * (-(s * edge).powi(2)).exp())
    }

    /// The sum over nodes, bores and segments of heat x a function of s and a segment's end, upper end minus lower.
    fn sum(&self, f: impl Fn(f64, f64) -> f64) -> f64 {
        self.nodes.iter().map(|node| self.drawn(node, |edge| f(node.s, edge)).iter().sum::<f64>()).sum()
    }

    /// For each node, the drop at the axis of each bore: depths x bores (K).
    fn drawn_at(&self, depths: &[f64], token: &CancelToken) -> Vec<Mat<f64>> {
        let factor = 0.25 / (PI * self.ground.conductivity);
        let at = |node: &HeatNode| {
            let mut drawn = Mat::zeros(depths.len(), self.spread.bores.len());
            for (row, &depth) in depths.iter().enumerate() {
                token.check();
                let of_bores = self.drawn(node, |edge| {
                    libm::erf(node.s * (depth - edge)) + libm::erf(node.s * (depth + edge))
                });
                of_bores.iter().enumerate().for_each(|(bore, value)| drawn[(row, bore)] = factor * value);
            }
            drawn
        };
        self.nodes.par_iter().map(at).collect()
    }

    /// For each bore, the sum over its segments of heat x a function of the segment's ends, upper end minus lower.
    fn drawn(&self, node: &HeatNode, f: impl Fn(f64) -> f64) -> Vec<f64> {
        let along = &self.spread.along;
        let modes = |edges: &Vec<f64>| -> Vec<f64> {
            let values: Vec<f64> = edges.iter().map(|&edge| f(edge)).collect();
            let mode = |mode: usize| {
                let segments = values.windows(2).enumerate();
                segments.map(|(segment, ends)| along[(segment, mode)] * (ends[0] - ends[1])).sum()
            };
            (0..along.ncols()).map(mode).collect()
        };
        let by_kind: Vec<Vec<f64>> = self.spread.edges.iter().map(modes).collect();
        let bores = self.spread.kinds.iter().zip(node.heat.col_iter());
        bores.map(|(&kind, heat)| by_kind[kind].iter().zip(heat.iter()).map(|(a, b)| a * b).sum()).collect()
    }

    /// The drops at a few places, from those at the bores' axes.
    fn block(&self, places: &[[f64; 2]], drawn: &[Mat<f64>], token: &CancelToken) -> Mat<f64> {
        let (bores, [east, north]) = (&self.spread.bores, self.drift);
        let drift = east.hypot(north);
        // Square of the distance, and 2 r . c: within a bore ln of the mean of exp(2 r . c) around the wall, ln I0(2 r c).
        let apart = Mat::from_fn(bores.len(), places.len(), |bore, place| {
            let Placed { position, source } = &bores[bore];
            let [x, y] = [0, 1].map(|axis| places[place][axis] - position[axis]);
            let (square, wall) = (x * x + y * y, source.radius.powi(2));
            if square < wall {
                (wall, ln_i0(2.0 * source.radius * drift))
            } else {
                (square, 2.0 * (x * east + y * north))
            }
        });
        let mut drops = Mat::zeros(drawn.first().map_or(0, Mat::nrows), places.len());
        for (node, drawn) in self.nodes.iter().zip(drawn) {
            token.check();
            let gaussians = Mat::from_fn(apart.nrows(), apart.ncols(), |bore, place| {
                let (square, carried) = apart[(bore, place)];
                gaussian(square, drift * drift, carried, node.s)
            });
            matmul(&mut drops, Accum::Add, drawn, &gaussians, 1.0, Par::Seq);
        }
        drops
    }
}

/// Places of x and of y in their lists that together are closer to a point than some reach (m).
pub fn within(x: &[f64], y: &[f64], point: [f64; 2], reach: f64) -> Vec<[usize; 2]> {
    let near = |values: &[f64], axis: usize| -> Vec<usize> {
        (0..values.len()).filter(|&at| (values[at] - point[axis]).abs() < reach).collect()
    };
    let rows = near(y, 1);
    if rows.is_empty() {
        return Vec::new();
    }
    let cells = near(x, 0).into_iter().flat_map(|column| rows.iter().map(move |&row| [column, row]));
    cells.filter(|&[column, row]| (x[column] - point[0]).hypot(y[row] - point[1]) < reach).collect()
}

/// exp(-|s r - c / s|^2), by the squares of r and c and by 2 r . c.
fn gaussian(distance_squared: f64, drift_squared: f64, carried: f64, s: f64) -> f64 {
    let exponent = distance_squared * s * s + drift_squared / (s * s) - carried;
    if exponent < FAR { (-exponent).exp() } else { 0.0 }
}

/// Logarithm of the modified Bessel function I0.
fn ln_i0(x: f64) -> f64 {
    let scaled = besseli_seq(0.0, c64::new(x, 0.0), 1, Scaling::Exponential);
    x + scaled.map_or(f64::NAN, |found| found.values[0].re).ln()
}

/// Integral of erf from zero.
fn ierf(x: f64) -> f64 {
    x * libm::erf(x) + 0.5 * FRAC_2_SQRT_PI * (-x * x).exp_m1()
}
