//! Temperature drops due to the heat of the other bores, at a few values of p side by side.

use multiversion::multiversion;
use rayon::prelude::*;

use super::coarse::{interval, start};
use super::interaction::{Neighbours, Part, Ranges, Segmented};
use super::kernel::Nodes;
use super::lattice::{F32Lanes, Grade, LANES, Lattice};
use crate::cancel_token::CancelToken;

/// The error is some hundredths of the interaction between bores; that of the heat is smaller, and that of the result
/// of second order.
const GRADE: Grade = Grade { step: 0.75, cut: 3.5 };
const WINDOW: usize = 4;

/// Most sines of the depth.
const MOST: usize = 600;

/// Stride of the nodes in s that are used; the error is about exp(-pi^2 / 2 / step) = 1.5e-4.
const SPARSE: usize = 4;

/// Smaller values are neglected, as are their products with larger ones (1/m).
const NOTHING: f64 = 1e-15;

/// The drops at some values of p.
pub struct Drops<'a> {
    parts: Vec<PartAt<'a>>,
}

struct PartAt<'a> {
    part: &'a Part,
    ranges: Ranges,
    kernel: Kernel<'a>,
    /// Projection of the heat onto the sines, and the drops at the sines.
    taken: Vec<F32Lanes>,
    met: Vec<F32Lanes>,
    token: &'a CancelToken,
}

enum Kernel<'a> {
    Near {
        near: &'a Neighbours,
        table: SineTable,
    },
    /// A lattice; for each sine, the transfer factor of each wave number (wave number along x, lane, wave number along
    /// y); and the correction for a bore's action on itself on lattices.
    Far {
        lattice: Box<Lattice<WINDOW>>,
        factors: Vec<Vec<f32>>,
        own: Vec<F32Lanes>,
    },
}

/// A node s (1/m) with the factor of each sine in each lane.
struct SineTerm {
    s: f64,
    values: Vec<F32Lanes>,
}

impl<'a> Drops<'a> {
    /// The drops at some values of p.
    pub fn new(nodes: &'a Nodes, field: &Segmented<'_>, parts: &'a [Part], points: &[f64; LANES]) -> Self {
        let token = nodes.token();
        let decay = nodes.decay(points);
        let at = |part: &'a Part| -> PartAt<'a> {
            let layers = part.layers;
            let count = layers.within(GRADE, 0.0).min(MOST);
            let term = |node: usize| {
                let s = nodes.s()[node];
                let value = |layer: usize| {
                    let weight = SPARSE as f64 * layers.weight(layer, s);
                    std::array::from_fn(|lane| rounded(weight * decay[(node, lane)]))
                };
                SineTerm { s, values: (0..count).map(value).collect() }
            };
            let used = part.nodes.clone().filter(|node| node.is_multiple_of(SPARSE));
            let terms: Vec<SineTerm> = used.map(term).collect();
            let kernel = if let Some(near) = &part.near {
                let table =
                    SineTable::new(near, |distance| layers.within(GRADE, distance).min(MOST), &terms, token);
                Kernel::Near { near, table }
            } else {
                let s = |node: usize| nodes.s()[node];
                let lattice =
                    Lattice::new(&field.positions, GRADE, s(part.nodes.start), s(part.nodes.end - 1), token);
                let factors = (0..count).into_par_iter().map(|layer| factors(&lattice, &terms, layer));
                let factors = factors.collect();
                Kernel::Far { lattice: Box::new(lattice), factors, own: kernel(&terms, 0.0, count) }
            };
            let ranges = part.ranges(GRADE, MOST);
            PartAt { part, taken: ranges.zeros(), met: ranges.zeros(), ranges, kernel, token }
        };
        Self { parts: parts.par_iter().map(at).collect() }
    }

    /// Adds the drop of each segment, times its length, due to the given heat of the other bores.
    pub fn add(&mut self, heat: &[F32Lanes], image: &mut [F32Lanes]) {
        self.parts.par_iter_mut().for_each(|part| part.meet(heat));
        self.parts.iter().for_each(|part| part.part.give(&part.ranges, &part.met, image));
    }
}

impl PartAt<'_> {
    /// Computes the drops at the sines of each bore.
    fn meet(&mut self, heat: &[F32Lanes]) {
        self.part.take(&self.ranges, heat, &mut self.taken);
        match &self.kernel {
            Kernel::Far { lattice, factors, own } => {
                let width = factors.len();
                let of_layer = |layer: usize| -> Vec<F32Lanes> {
                    let values: Vec<F32Lanes> =
                        self.taken.iter().skip(layer).step_by(width).copied().collect();
                    let less = |value: &F32Lanes| std::array::from_fn(|lane| -own[layer][lane] * value[lane]);
                    let mut sums: Vec<F32Lanes> = values.iter().map(less).collect();
                    lattice.convolve(&values, &factors[layer], &mut sums);
                    sums
                };
                let layers: Vec<Vec<F32Lanes>> = (0..width).into_par_iter().map(of_layer).collect();
                self.ranges.for_each(&mut self.met, |bore, met| {
                    met.iter_mut().zip(&layers).for_each(|(met, layer)| *met = layer[bore]);
                });
            }
            Kernel::Near { near, table } => {
                let (ranges, taken) = (&self.ranges, &self.taken);
                ranges.for_each(&mut self.met, |bore, met| {
                    self.token.check();
                    met.fill([0.0; LANES]);
                    for (other, square) in near.of(bore, table.most) {
                        let [low, high] = table.rows(square);
                        add_between(low, high, interval(square).1, &taken[ranges.of(other)], met);
                    }
                });
            }
        }
    }
}

/// In single precision, with negligible values set to zero: arithmetic on subnormal numbers is very slow.
fn rounded(value: f64) -> f32 {
    if value < NOTHING { 0.0 } else { value as f32 }
}

/// The sum over some nodes, at the square of a distance (m2), for each of the first sines.
fn kernel(terms: &[SineTerm], square: f64, count: usize) -> Vec<F32Lanes> {
    let mut sums = vec![[0.0; LANES]; count];
    for term in terms {
        let factor = rounded((-square * term.s * term.s).exp());
        for (sum, value) in sums.iter_mut().zip(&term.values) {
            (0..LANES).for_each(|lane| sum[lane] += factor * value[lane]);
        }
    }
    sums
}

/// The transfer factor of each wave number of a lattice for a sine: wave number along x, lane, wave number along y.
fn factors(lattice: &Lattice<WINDOW>, terms: &[SineTerm], layer: usize) -> Vec<f32> {
    let [wide, tall] = lattice.rates();
    let mut factors = vec![0.0; wide * LANES * tall];
    for term in terms {
        let [along_x, along_y] = [0, 1].map(|axis| lattice.gaussian(term.s, axis));
        for (at, factors) in factors.chunks_mut(tall).enumerate() {
            lattice.token().check();
            let value = term.values[layer][at % LANES] * along_x[at / LANES];
            factors.iter_mut().zip(&along_y).for_each(|(factor, along_y)| *factor += value * along_y);
        }
    }
    factors
}

/// The kernel of each sine as a function of the square of a distance (m2); fewer sines are needed at larger distances.
struct SineTable {
    first: usize,
    starts: Vec<usize>,
    values: Vec<F32Lanes>,
    /// Largest square of a distance that is considered (m2).
    most: f64,
}

impl SineTable {
    fn new(
        near: &Neighbours,
        count: impl Fn(f64) -> usize + Sync,
        terms: &[SineTerm],
        token: &CancelToken,
    ) -> Self {
        let [least, farthest] = near.squares();
        let most = terms.first().map_or(0.0, |term| GRADE.reach(term.s).powi(2)).min(farthest);
        let (first, last) = (interval(0.99 * least).0, interval(1.01 * most.max(least)).0 + 1);
        let row = |index: usize| {
            token.check();
            kernel(terms, start(index), count(start(index).sqrt()))
        };
        let rows: Vec<Vec<F32Lanes>> = (first..=last).into_par_iter().map(row).collect();
        let mut starts = vec![0];
        starts.extend(rows.iter().scan(0, |start, row| {
            *start += row.len();
            Some(*start)
        }));
        Self { first, starts, values: rows.concat(), most }
    }

    /// The values at both ends of the interval that contains the square of a distance (m2).
    fn rows(&self, square: f64) -> [&[F32Lanes]; 2] {
        let index = interval(square).0 - self.first;
        [index, index + 1].map(|row| &self.values[self.starts[row]..self.starts[row + 1]])
    }
}

/// Adds heat times the interpolated value between two rows of a table.
#[multiversion(targets("x86_64+avx+avx2+fma"))]
fn add_between(low: &[F32Lanes], high: &[F32Lanes], place: f32, heat: &[F32Lanes], met: &mut [F32Lanes]) {
    for (((low, high), heat), met) in low.iter().zip(high).zip(heat).zip(met) {
        for lane in 0..LANES {
            met[lane] += (low[lane] + place * (high[lane] - low[lane])) * heat[lane];
        }
    }
}
