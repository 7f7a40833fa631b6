//! A coarse form of a field: one segment per bore, and the mean bore's kernel between any two.

use multiversion::multiversion;
use rayon::prelude::*;

use super::Placed;
use super::kernel::Nodes;
use super::lattice::{F32Lanes, Grade, LANES, Lattice};
use super::split::split;
use crate::cancel_token::CancelToken;
use crate::ground::strips::Strips;

/// The error is about 1e-3.
const GRADE: Grade = Grade { step: 0.5, cut: 7.0 };
const WINDOW: usize = 4;

/// Work per lattice point relative to that per pair of neighbouring bores.
const POINT: f64 = 20.0;

/// Stride of the nodes in s that are used.
const SPARSE: usize = 3;

/// Nodes s that share a lattice.
const TOGETHER: usize = 3;

/// Conjugate gradients stop at this fraction of the first residual, or after this many steps.
const RESIDUAL: f64 = 5e-3;
const STEPS: usize = 12;

/// S x = L for a few values of p side by side.
pub struct CoarseField {
    /// The field's index of each bore here: neighbouring bores are stored together.
    order: Vec<u32>,
    /// Depths relative to their mean.
    lengths: Vec<f32>,
    own: F32Lanes,
    strips: Strips,
    most: f64,
    near: KernelTable,
    /// Lattices with the transfer factor of each wave number.
    far: Vec<(Lattice<WINDOW>, Vec<f32>)>,
}

impl CoarseField {
    /// A field at some values of p.
    pub fn new(nodes: &Nodes, bores: &[Placed], points: &[f64; LANES]) -> Self {
        let count = bores.len() as f64;
        let mean = |value: fn(&Placed) -> f64| bores.iter().map(value).sum::<f64>() / count;
        let (depth, buried_depth) = (mean(|bore| bore.source.depth), mean(|bore| bore.source.buried_depth));
        let radius = mean(|bore| bore.source.radius);
        let terms = terms(nodes, [buried_depth, buried_depth + depth], points);
        let split = split(bores, GRADE, POINT, nodes.token());
        let (far, close) = terms.split_at(terms.partition_point(|term| term.s < split));
        let reach = close.first().map_or(1.0, |term| GRADE.reach(term.s));
        let positions: Vec<[f64; 2]> = bores.iter().map(|bore| bore.position).collect();
        let strips = Strips::new(&positions, reach, nodes.token());
        let positions: Vec<[f64; 2]> = strips.order.iter().map(|&bore| positions[bore as usize]).collect();
        let least = bores.iter().map(|bore| bore.source.radius).fold(f64::INFINITY, f64::min);
        let near =
            KernelTable::new((2.0 * least).powi(2), strips.greatest_square(), |square| kernel(close, square));
        // On lattices a bore also acts on itself.
        let (whole, itself) = (kernel(&terms, radius * radius), kernel(far, 0.0));
        Self {
            lengths: strips
                .order
                .iter()
                .map(|&bore| (bores[bore as usize].source.depth / depth) as f32)
                .collect(),
            own: std::array::from_fn(|lane| whole[lane] - itself[lane]),
            most: reach * reach,
            near,
            far: far.par_rchunks(TOGETHER).map(|terms| laid(&positions, terms, nodes.token())).collect(),
            order: strips.order.clone(),
            strips,
        }
    }

    /// Heat of each bore per metre for a drop of 1 everywhere, in each lane, by conjugate gradients.
    pub fn solve(&self) -> Vec<F32Lanes> {
        let count = self.lengths.len();
        let mut heat = vec![[0.0; LANES]; count];
        let mut residual: Vec<F32Lanes> = self.lengths.iter().map(|&length| [length; LANES]).collect();
        let mut direction = residual.clone();
        let first = products(&residual, &residual);
        let mut square = first;
        for _ in 0..STEPS {
            let image = self.image(&direction);
            let step = ratio(&square, &products(&direction, &image));
            add(&mut heat, step, &direction);
            add(&mut residual, step.map(|step| -step), &image);
            let next = products(&residual, &residual);
            if next.iter().zip(&first).all(|(next, first)| *next <= RESIDUAL * RESIDUAL * first) {
                break;
            }
            let turn = ratio(&next, &square);
            square = next;
            turned(&mut direction, turn, &residual);
        }
        let mut sorted = vec![[0.0; LANES]; count];
        self.order.iter().zip(heat).for_each(|(&bore, heat)| sorted[bore as usize] = heat);
        sorted
    }

    /// The drop of each bore, times its length, that the given heat causes.
    fn image(&self, heat: &[F32Lanes]) -> Vec<F32Lanes> {
        let scaled: Vec<F32Lanes> =
            heat.iter().zip(&self.lengths).map(|(heat, length)| heat.map(|value| value * length)).collect();
        let near = || {
            let mut image = vec![[0.0; LANES]; heat.len()];
            meet(&self.strips, self.most, &self.near, &scaled, &mut image);
            image
        };
        let far = || {
            let mut image = vec![[0.0; LANES]; heat.len()];
            self.far.iter().for_each(|(lattice, factors)| lattice.convolve(&scaled, factors, &mut image));
            image
        };
        let (mut near, far) = rayon::join(near, far);
        for (bore, image) in near.iter_mut().enumerate() {
            for lane in 0..LANES {
                let sum = image[lane] + far[bore][lane] + self.own[lane] * scaled[bore][lane];
                image[lane] = self.lengths[bore] * sum;
            }
        }
        near
    }
}

/// A node s (1/m) with the kernel at r = 0 in each lane.
struct KernelTerm {
    s: f64,
    values: F32Lanes,
}

/// The nodes for the mean bore, so few that the error is about exp(-pi^2 / 2 / step) = 6e-5.
fn terms(nodes: &Nodes, edges: [f64; 2], points: &[f64; LANES]) -> Vec<KernelTerm> {
    let decay = nodes.decay(points);
    let term = |node: usize| {
        let value = SPARSE as f64 * nodes.kernel(nodes.s()[node], &edges, &edges)[(0, 0)];
        KernelTerm {
            s: nodes.s()[node],
            values: std::array::from_fn(|lane| (value * decay[(node, lane)]) as f32),
        }
    };
    (0..nodes.s().len()).step_by(SPARSE).map(term).collect()
}

/// The sum over some nodes, at the square of a distance (m2).
fn kernel(terms: &[KernelTerm], square: f64) -> F32Lanes {
    let mut sum = [0.0; LANES];
    for term in terms {
        let factor = (-square * term.s * term.s).exp() as f32;
        sum.iter_mut().zip(&term.values).for_each(|(sum, value)| *sum += factor * value);
    }
    sum
}

/// A lattice for some nodes, with the transfer factor of each wave number: wave number along x, lane, wave number along
/// y.
fn laid(positions: &[[f64; 2]], terms: &[KernelTerm], token: &CancelToken) -> (Lattice<WINDOW>, Vec<f32>) {
    let lattice = Lattice::new(positions, GRADE, terms[0].s, terms[terms.len() - 1].s, token);
    let [_, tall] = lattice.rates();
    let gaussians: Vec<[Vec<f32>; 2]> =
        terms.iter().map(|term| [0, 1].map(|axis| lattice.gaussian(term.s, axis))).collect();
    let mut factors = vec![0.0; lattice.rates()[0] * LANES * tall];
    for (at, factors) in factors.chunks_mut(tall).enumerate() {
        token.check();
        let (rate, lane) = (at / LANES, at % LANES);
        for (term, [along_x, along_y]) in terms.iter().zip(&gaussians) {
            let value = term.values[lane] * along_x[rate];
            factors.iter_mut().zip(along_y).for_each(|(factor, along_y)| *factor += value * along_y);
        }
    }
    (lattice, factors)
}

/// A function of the square of a distance (m2), with a power of 2 of intervals per doubling.
struct KernelTable {
    first: usize,
    values: Vec<F32Lanes>,
}

const BITS: u32 = 4;

impl KernelTable {
    fn new(least: f64, most: f64, value: impl Fn(f64) -> F32Lanes) -> Self {
        let ((first, _), (last, _)) = (interval(0.9 * least), interval(1.1 * most.max(least)));
        Self { first, values: (first..=last + 1).map(|index| value(start(index))).collect() }
    }

    #[inline(always)]
    fn at(&self, square: f64) -> F32Lanes {
        let (index, part) = interval(square);
        let (low, high) = (self.values[index - self.first], self.values[index - self.first + 1]);
        std::array::from_fn(|lane| low[lane] + part * (high[lane] - low[lane]))
    }
}

/// Interval of a table that contains a square of a distance (m2), and the coordinate in it from 0 to 1: exponent and
/// first digits of the binary number give the interval, the other digits the coordinate.
#[inline(always)]
pub fn interval(square: f64) -> (usize, f32) {
    let bits = square.to_bits();
    let rest = bits & ((1 << (52 - BITS)) - 1);
    ((bits >> (52 - BITS)) as usize, rest as f32 / (1_u64 << (52 - BITS)) as f32)
}

/// Square of the distance (m2) at which an interval starts.
pub fn start(index: usize) -> f64 {
    f64::from_bits((index as u64) << (52 - BITS))
}

/// Adds the interaction of neighbouring bores.
#[multiversion(targets("x86_64+avx+avx2+fma"))]
fn meet(strips: &Strips, most: f64, table: &KernelTable, heat: &[F32Lanes], image: &mut [F32Lanes]) {
    strips.for_each_window(most.sqrt(), |place, windows| {
        let own = heat[place];
        let mut sum = image[place];
        for window in windows {
            let others = heat[window.clone()].iter().zip(&mut image[window.clone()]);
            for ((other, image), square) in others.zip(strips.squares(place, window)) {
                if square <= most {
                    let kernel = table.at(square);
                    for lane in 0..LANES {
                        sum[lane] += kernel[lane] * other[lane];
                        image[lane] += kernel[lane] * own[lane];
                    }
                }
            }
        }
        image[place] = sum;
    });
}

#[multiversion(targets("x86_64+avx+avx2+fma"))]
pub fn products(a: &[F32Lanes], b: &[F32Lanes]) -> [f64; LANES] {
    let mut sum = [0.0; LANES];
    for (a, b) in a.iter().zip(b) {
        for lane in 0..LANES {
            sum[lane] += f64::from(a[lane]) * f64::from(b[lane]);
        }
    }
    sum
}

/// Quotients; zero for a lane that is already solved.
pub fn ratio(a: &[f64; LANES], b: &[f64; LANES]) -> F32Lanes {
    std::array::from_fn(|lane| if b[lane] > 0.0 { (a[lane] / b[lane]) as f32 } else { 0.0 })
}

#[multiversion(targets("x86_64+avx+avx2+fma"))]
pub fn add(into: &mut [F32Lanes], factor: F32Lanes, values: &[F32Lanes]) {
    for (into, values) in into.iter_mut().zip(values) {
        for lane in 0..LANES {
            into[lane] += factor[lane] * values[lane];
        }
    }
}

#[multiversion(targets("x86_64+avx+avx2+fma"))]
pub fn turned(direction: &mut [F32Lanes], factor: F32Lanes, residual: &[F32Lanes]) {
    for (direction, residual) in direction.iter_mut().zip(residual) {
        for lane in 0..LANES {
            direction[lane] = residual[lane] + factor[lane] * direction[lane];
        }
    }
}
