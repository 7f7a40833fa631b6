//! What bores do to each other, at a few values of p side by side.

use multiversion::multiversion;
use rayon::prelude::*;

use super::Placed;
use super::crude::{interval, start};
use super::kernel::Nodes;
use super::lattice::{Grade, LANES, Lanes, Lattice};
use super::layers::Layers;
use super::segments::edges;
use super::split::split;
use crate::ground::closest;
use crate::ground::strips::Strips;

/// How closely pairs of bores are looked at.
#[derive(Clone, Copy)]
pub struct Fineness {
    pub grade: Grade,
    /// Sines of the depth at most.
    pub layers: usize,
}

/// Work of a point of a lattice over that of a pair of bores nearby.
const POINT: f64 = 20.0;

/// Of the nodes in s, every so manyth is used, which errs by about exp(-pi^2 / 2 / step) = 6e-5.
const SPARSE: usize = 3;

/// Nodes s that share sines, and a lattice or pairs.
const TOGETHER: usize = 3;

/// Bores with their segments.
pub struct Segmented<'a> {
    pub bores: &'a [Placed],
    /// Relative lengths of the segments of a bore.
    pub segments: &'a [f64],
    /// Depths of the segments' edges of each bore [m].
    pub edges: Vec<Vec<f64>>,
    pub positions: Vec<[f64; 2]>,
    /// Depth of the lowest end of a bore [m].
    pub deepest: f64,
}

impl<'a> Segmented<'a> {
    /// Bores with segments of the given relative lengths.
    pub fn new(bores: &'a [Placed], segments: &'a [f64]) -> Self {
        Self {
            bores,
            segments,
            edges: bores.iter().map(|bore| edges([bore.source.depth, bore.source.top], segments)).collect(),
            positions: bores.iter().map(|bore| bore.position).collect(),
            deepest: bores.iter().map(|bore| bore.source.top + bore.source.depth).fold(0.0, f64::max),
        }
    }
}

/// The interplay of bores, a few nodes s at a time; lattices have windows of W points.
pub struct Interplay<'a, const W: usize> {
    field: &'a Segmented<'a>,
    parts: Vec<Part<W>>,
}

struct Part<const W: usize> {
    layers: Layers,
    way: Way<W>,
}

enum Way<const W: usize> {
    Pairs {
        strips: Strips,
        most: f64,
        table: Table,
    },
    /// A lattice; for each sine, what each rate brings (rate along x, lane, rate along y); and what must be taken out
    /// again, as on lattices a bore meets itself.
    Lattice {
        lattice: Box<Lattice<W>>,
        factors: Vec<Vec<f32>>,
        own: Vec<Lanes>,
    },
}

/// A node s [1/m] with what each sine brings in each lane.
struct Term {
    s: f64,
    values: Vec<Lanes>,
}

impl<'a, const W: usize> Interplay<'a, W> {
    /// The interplay at some values of p.
    pub fn new(nodes: &Nodes, field: &'a Segmented<'a>, points: &[f64; LANES], fineness: Fineness) -> Self {
        let grade = fineness.grade;
        let decay = nodes.decay(points);
        let split = split(field.bores, grade, POINT);
        let least = closest(&field.positions).powi(2);
        let used: Vec<usize> = (0..nodes.s().len()).step_by(SPARSE).collect();
        let (far, near) = used.split_at(used.partition_point(|&node| nodes.s()[node] < split));
        let groups: Vec<&[usize]> = far.rchunks(TOGETHER).chain(near.chunks(TOGETHER)).collect();
        let part = |group: &&[usize]| -> Option<Part<W>> {
            let s = |at: usize| nodes.s()[group[at]];
            let (first, last) = (s(0), s(group.len() - 1));
            let layers = Layers::new(field.deepest, grade, first, last).at_most(fineness.layers);
            let term = |&node: &usize| {
                let s = nodes.s()[node];
                let value = |layer: usize| {
                    let weight = SPARSE as f64 * layers.weight(layer, s);
                    std::array::from_fn(|lane| (weight * decay[(node, lane)]) as f32)
                };
                Term { s, values: (0..layers.count).map(value).collect() }
            };
            let terms: Vec<Term> = group.iter().map(term).collect();
            let way = if first < split {
                let lattice = Lattice::new(&field.positions, grade, first, last);
                let factors = (0..layers.count).map(|layer| factors(&lattice, &terms, layer)).collect();
                Way::Lattice { lattice: Box::new(lattice), factors, own: kernel(&terms, 0.0) }
            } else {
                let reach = grade.reach(first);
                let strips = Strips::new(&field.positions, reach);
                let any = any_pair(&strips, reach);
                if !any {
                    return None;
                }
                let most = strips.greatest_square();
                let table = Table::new(least.min(most), most, layers.count, |square| kernel(&terms, square));
                Way::Pairs { strips, most: reach * reach, table }
            };
            Some(Part { layers, way })
        };
        let parts = groups.par_iter().filter_map(part).collect();
        Self { field, parts }
    }

    /// Adds the drop of each segment, times its length, that the given heat of the other bores causes.
    pub fn add(&self, heat: &[Lanes], image: &mut [Lanes]) {
        let part = |part: &Part<W>| part.image(self.field, heat);
        for part in self.parts.par_iter().map(part).collect::<Vec<_>>() {
            for (image, part) in image.iter_mut().zip(part) {
                (0..LANES).for_each(|lane| image[lane] += part[lane]);
            }
        }
    }
}

impl<const W: usize> Part<W> {
    fn image(&self, field: &Segmented<'_>, heat: &[Lanes]) -> Vec<Lanes> {
        let (width, count, size) = (self.layers.count, field.bores.len(), field.segments.len());
        let order: Vec<u32> = match &self.way {
            Way::Pairs { strips, .. } => strips.order.clone(),
            Way::Lattice { .. } => (0..count as u32).collect(),
        };
        let mut layered = vec![[0.0; LANES]; count * width];
        for (layered, &bore) in layered.chunks_mut(width).zip(&order) {
            let bore = bore as usize;
            let heat = &heat[bore * size..][..size];
            self.layers
                .for_each_integral(&field.edges[bore], |layer, ends| layered[layer] = taken(ends, heat));
        }
        let met = match &self.way {
            Way::Pairs { strips, most, table } => {
                let mut met = vec![[0.0; LANES]; layered.len()];
                meet(strips, *most, table, &layered, &mut met);
                met
            }
            Way::Lattice { lattice, factors, own } => on_lattice(lattice, factors, own, &layered),
        };
        let mut image = vec![[0.0; LANES]; heat.len()];
        for (met, &bore) in met.chunks(width).zip(&order) {
            let bore = bore as usize;
            let image = &mut image[bore * size..][..size];
            self.layers.for_each_integral(&field.edges[bore], |layer, ends| give(ends, met[layer], image));
        }
        image
    }
}

/// The drops of each bore's sines that the given heat of the others' causes.
fn on_lattice<const W: usize>(
    lattice: &Lattice<W>,
    factors: &[Vec<f32>],
    own: &[Lanes],
    layered: &[Lanes],
) -> Vec<Lanes> {
    let width = factors.len();
    let mut met = vec![[0.0; LANES]; layered.len()];
    for (layer, factors) in factors.iter().enumerate() {
        let values: Vec<Lanes> = layered.iter().skip(layer).step_by(width).copied().collect();
        let less = |value: &Lanes| std::array::from_fn(|lane| -own[layer][lane] * value[lane]);
        let mut sums: Vec<Lanes> = values.iter().map(less).collect();
        lattice.convolve(&values, factors, &mut sums);
        met.iter_mut().skip(layer).step_by(width).zip(sums).for_each(|(met, sum)| *met = sum);
    }
    met
}

fn any_pair(strips: &Strips, reach: f64) -> bool {
    let mut any = false;
    strips.for_each_window(reach, |place, windows| {
        any = any
            || windows
                .into_iter()
                .any(|window| strips.squares(place, window).any(|square| square <= reach * reach));
    });
    any
}

/// The sum over some nodes, at the square of a distance [m2], for each sine.
fn kernel(terms: &[Term], square: f64) -> Vec<Lanes> {
    let mut sums = vec![[0.0; LANES]; terms[0].values.len()];
    for term in terms {
        let factor = (-square * term.s * term.s).exp() as f32;
        for (sum, value) in sums.iter_mut().zip(&term.values) {
            (0..LANES).for_each(|lane| sum[lane] += factor * value[lane]);
        }
    }
    sums
}

/// What each rate of a lattice brings to some sine: rate along x, lane, rate along y.
fn factors<const W: usize>(lattice: &Lattice<W>, terms: &[Term], layer: usize) -> Vec<f32> {
    let [wide, tall] = lattice.rates();
    let mut factors = vec![0.0; wide * LANES * tall];
    for term in terms {
        let [along_x, along_y] = [0, 1].map(|axis| lattice.bell(term.s, axis));
        for (at, factors) in factors.chunks_mut(tall).enumerate() {
            let value = term.values[layer][at % LANES] * along_x[at / LANES];
            factors.iter_mut().zip(&along_y).for_each(|(factor, along_y)| *factor += value * along_y);
        }
    }
    factors
}

/// Functions of the square of a distance [m2], several side by side.
struct Table {
    first: usize,
    width: usize,
    values: Vec<Lanes>,
}

impl Table {
    fn new(least: f64, most: f64, width: usize, value: impl Fn(f64) -> Vec<Lanes>) -> Self {
        let ((first, _), (last, _)) = (interval(0.9 * least), interval(1.1 * most.max(least)));
        Self { first, width, values: (first..=last + 1).flat_map(|index| value(start(index))).collect() }
    }

    /// The values at the two ends of an interval, and the place between them.
    #[inline(always)]
    fn at(&self, square: f64) -> (&[Lanes], &[Lanes], f32) {
        let (index, part) = interval(square);
        let both = &self.values[(index - self.first) * self.width..][..2 * self.width];
        let (low, high) = both.split_at(self.width);
        (low, high, part)
    }
}

/// Adds what bores nearby cause to each other; values stand by place and sine.
#[multiversion(targets("x86_64+avx+avx2+fma"))]
fn meet(strips: &Strips, most: f64, table: &Table, heat: &[Lanes], image: &mut [Lanes]) {
    let width = table.width;
    strips.for_each_window(most.sqrt(), |place, windows| {
        let own = &heat[place * width..][..width];
        for window in windows {
            for (other, square) in window.clone().zip(strips.squares(place, window)) {
                if square <= most {
                    let (low, high, part) = table.at(square);
                    let (before, after) = image.split_at_mut(other * width);
                    let (here, there) = (&mut before[place * width..][..width], &mut after[..width]);
                    let met = &heat[other * width..][..width];
                    for layer in 0..width {
                        for lane in 0..LANES {
                            let kernel = low[layer][lane] + part * (high[layer][lane] - low[layer][lane]);
                            here[layer][lane] += kernel * met[layer][lane];
                            there[layer][lane] += kernel * own[layer][lane];
                        }
                    }
                }
            }
        }
    });
}

/// What a sine takes of the heat of a bore's segments.
#[multiversion(targets("x86_64+avx+avx2+fma"))]
fn taken(ends: &[f64], heat: &[Lanes]) -> Lanes {
    let mut sum = [0.0; LANES];
    for (ends, heat) in ends.windows(2).zip(heat) {
        let integral = (ends[1] - ends[0]) as f32;
        for lane in 0..LANES {
            sum[lane] += integral * heat[lane];
        }
    }
    sum
}

/// Adds a sine's drop to the drops of a bore's segments.
#[multiversion(targets("x86_64+avx+avx2+fma"))]
fn give(ends: &[f64], met: Lanes, image: &mut [Lanes]) {
    for (ends, image) in ends.windows(2).zip(image) {
        let integral = (ends[1] - ends[0]) as f32;
        for lane in 0..LANES {
            image[lane] += integral * met[lane];
        }
    }
}
