//! Interaction of bores, by groups of nodes s and sines of the depth.
//!
//! For small s, all bores interact through few sines, and lattices are used. For larger s, only neighbouring bores
//! interact; the farther apart two bores are, the fewer sines they need.

use std::ops::Range;

use rayon::prelude::*;

use super::Placed;
use super::kernel::Nodes;
use super::lattice::{F32Lanes, Grade, LANES};
use super::layers::{Layers, MOST};
use super::segments::SEGMENTS;
use super::sines::Sines;
use super::split::split;
use crate::cancel_token::CancelToken;
use crate::ground::strips::Strips;

/// The error is about 1e-4 of the interaction between bores.
pub const GRADE: Grade = Grade { step: 0.4, cut: 10.0 };

/// Work per lattice point relative to that per pair of neighbouring bores.
const POINT: f64 = 20.0;

/// Nodes s that share sines, and a lattice or pairs, unless s x depth of the lowest end exceeds `SHORT`.
const TOGETHER: usize = 8;
const SHORT: f64 = 4.0;

/// Bores with their segments.
pub struct Segmented<'a> {
    pub bores: &'a [Placed],
    /// Depths of the segments' edges of each bore (m).
    pub edges: Vec<Vec<f64>>,
    pub positions: Vec<[f64; 2]>,
    /// Depth of the lowest end of a bore (m).
    pub deepest: f64,
}

impl<'a> Segmented<'a> {
    /// Bores, each with its own segments.
    pub fn new(bores: &'a [Placed]) -> Self {
        Self {
            bores,
            edges: bores.iter().map(|bore| bore.source.edges()).collect(),
            positions: bores.iter().map(|bore| bore.position).collect(),
            deepest: bores
                .iter()
                .map(|bore| bore.source.buried_depth + bore.source.depth)
                .fold(0.0, f64::max),
        }
    }
}

/// Some nodes s, their sines, and the relation of each bore to them.
pub struct Part {
    bores: usize,
    pub nodes: Range<usize>,
    pub layers: Layers,
    /// The sines of each bore, and storage for as many as it needs.
    sines: Vec<Sines>,
    pub ranges: Ranges,
    /// The neighbours of each bore; `None` if a lattice is used for all.
    pub near: Option<Neighbours>,
}

/// The groups of nodes for which any bores interact.
pub fn parts(nodes: &Nodes, field: &Segmented<'_>) -> Vec<Part> {
    let (s, token) = (nodes.s(), nodes.token());
    let split = split(field.bores, GRADE, POINT, token);
    let far = s.partition_point(|&s| s < split);
    let long = s.partition_point(|&s| s * field.deepest < SHORT).max(far);
    let mut groups: Vec<Range<usize>> =
        (0..far).rev().step_by(TOGETHER).map(|last| (last + 1).saturating_sub(TOGETHER)..last + 1).collect();
    groups.extend((far..long).step_by(TOGETHER).map(|first| first..(first + TOGETHER).min(long)));
    groups.push(long..s.len());
    let part = |nodes: Range<usize>| -> Option<Part> {
        let (least, greatest) = (*s.get(nodes.start)?, s[nodes.end - 1]);
        let layers = Layers::new(field.deepest, GRADE, least, greatest);
        let near = if nodes.start < far {
            None
        } else {
            let near = Neighbours::new(&field.positions, GRADE.reach(least), token);
            if near.others.is_empty() {
                return None;
            }
            Some(near)
        };
        let part = Part {
            bores: field.bores.len(),
            nodes,
            layers,
            sines: field.edges.iter().map(|edges| Sines::new(layers.rate(), edges)).collect(),
            ranges: Ranges::default(),
            near,
        };
        Some(Part { ranges: part.ranges(GRADE, MOST), ..part })
    };
    groups.into_par_iter().filter_map(part).collect()
}

/// For each bore, those within some reach of it.
pub struct Neighbours {
    ranges: Ranges,
    /// Their indices, with the squares of their distances (m2), the smallest first.
    others: Vec<(u32, f64)>,
}

impl Neighbours {
    fn new(positions: &[[f64; 2]], reach: f64, token: &CancelToken) -> Self {
        let strips = Strips::new(positions, reach, token);
        let mut pairs = Vec::new();
        let mut starts = vec![0; positions.len() + 1];
        strips.for_each_window(reach, |place, windows| {
            for window in windows {
                for (other, square) in window.clone().zip(strips.squares(place, window)) {
                    if square <= reach * reach {
                        let [bore, other] = [place, other].map(|place| strips.order[place] as usize);
                        pairs.push((bore, other, square));
                        starts[bore + 1] += 1;
                        starts[other + 1] += 1;
                    }
                }
            }
        });
        (0..positions.len()).for_each(|bore| starts[bore + 1] += starts[bore]);
        let mut ends = starts.clone();
        let mut others = vec![(0, 0.0); 2 * pairs.len()];
        for (bore, other, square) in pairs {
            for (bore, other) in [(bore, other), (other, bore)] {
                others[ends[bore]] = (other as u32, square);
                ends[bore] += 1;
            }
        }
        let ranges = Ranges { starts };
        ranges.for_each(&mut others, |_, others| {
            token.check();
            others.sort_unstable_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)));
        });
        Self { ranges, others }
    }

    /// The neighbours of a bore, with the squares of their distances (m2), up to a largest square.
    pub fn of(&self, bore: usize, most: f64) -> impl Iterator<Item = (usize, f64)> {
        let others = self.others[self.ranges.of(bore)].iter().take_while(move |(_, square)| *square <= most);
        others.map(|&(other, square)| (other as usize, square))
    }

    /// Distance to the closest bore (m).
    fn closest(&self, bore: usize) -> Option<f64> {
        self.others[self.ranges.of(bore)].first().map(|(_, square)| square.sqrt())
    }

    /// Smallest and largest square of a distance (m2).
    pub fn squares(&self) -> [f64; 2] {
        let squares = self.others.iter().map(|other| other.1);
        squares.fold([f64::INFINITY, 0.0], |[a, b], square| [a.min(square), b.max(square)])
    }
}

/// Range of each bore's values among those of all.
#[derive(Default)]
pub struct Ranges {
    starts: Vec<usize>,
}

impl Ranges {
    fn new(counts: impl Iterator<Item = usize>) -> Self {
        let mut starts = vec![0];
        starts.extend(counts.scan(0, |start, count| {
            *start += count;
            Some(*start)
        }));
        Self { starts }
    }

    /// Number of bores.
    pub fn count(&self) -> usize {
        self.starts.len() - 1
    }

    /// The range of a bore's values.
    pub fn of(&self, bore: usize) -> Range<usize> {
        self.starts[bore]..self.starts[bore + 1]
    }

    /// Zero for each value.
    pub fn zeros(&self) -> Vec<F32Lanes> {
        vec![[0.0; LANES]; self.starts[self.count()]]
    }

    /// Calls `f` with each bore and its values.
    pub fn for_each<T: Send>(&self, values: &mut [T], f: impl Fn(usize, &mut [T]) + Sync) {
        let mut rest = values;
        let mut bores = Vec::with_capacity(self.count());
        for bore in 0..self.count() {
            let (own, others) = rest.split_at_mut(self.of(bore).len());
            bores.push(own);
            rest = others;
        }
        bores.into_par_iter().enumerate().with_min_len(BORES).for_each(|(bore, own)| f(bore, own));
    }
}

impl Part {
    /// As many sines for each bore as a grade needs, at most `most`.
    pub fn ranges(&self, grade: Grade, most: usize) -> Ranges {
        let all = self.layers.within(grade, 0.0);
        let count = |bore: usize| match &self.near {
            None => all,
            Some(near) => near.closest(bore).map_or(0, |distance| self.layers.within(grade, distance)),
        };
        Ranges::new((0..self.bores).map(|bore| count(bore).min(most)))
    }

    /// Projection of the heat of all segments onto the sines.
    pub fn take(&self, ranges: &Ranges, heat: &[F32Lanes], taken: &mut [F32Lanes]) {
        ranges.for_each(taken, |bore, taken| {
            self.sines[bore].take(&heat[bore * SEGMENTS..][..SEGMENTS], taken);
        });
    }

    /// Adds the drops at the sines to those of all segments, times their lengths.
    pub fn give(&self, ranges: &Ranges, met: &[F32Lanes], image: &mut [F32Lanes]) {
        image.par_chunks_mut(SEGMENTS).enumerate().with_min_len(BORES).for_each(|(bore, image)| {
            self.sines[bore].give(&met[ranges.of(bore)], image);
        });
    }
}

/// Fewest bores whose sines are processed by one thread.
const BORES: usize = 32;
