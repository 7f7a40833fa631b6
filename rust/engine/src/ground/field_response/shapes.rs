//! How bores are cut into segments, and how many kinds of bores a field is taken to have.

use std::collections::BTreeMap;

use super::{LineSource, Placed};

/// Segments of a bore, and how much longer each is than the one nearer the end.
const SEGMENTS: usize = 24;
const GROWTH: f64 = 1.4;

/// Classes of the tops where bores of many kinds are classed.
const TOP_CLASSES: usize = 3;

/// Relative lengths of the segments of a bore: from each end, each is longer than the one nearer the end.
pub fn graded_segments() -> Vec<f64> {
    let from_end = |segment: usize| GROWTH.powi(segment.min(SEGMENTS - 1 - segment) as i32);
    let whole: f64 = (0..SEGMENTS).map(from_end).sum();
    (0..SEGMENTS).map(|segment| from_end(segment) / whole).collect()
}

/// The shapes of the bores of a field.
pub struct Shapes {
    /// Depths of the edges of the segments of each shape [m].
    pub edges: Vec<Vec<f64>>,
    /// Number of the shape of each bore.
    pub of_bore: Vec<usize>,
}

impl Shapes {
    /// The shapes of bores that are cut into segments of the given relative lengths.
    pub fn new(bores: &[Placed], segments: &[f64]) -> Self {
        let kinds = kinds(bores);
        let edges = |[depth, top]: [f64; 2]| {
            let mut edge = top;
            let below = segments.iter().map(|length| {
                edge += depth * length;
                edge
            });
            std::iter::once(top).chain(below).collect()
        };
        let shape = |bore: &Placed| kinds.partition_point(|kind| before(kind, &kind_of(bore)));
        Self { edges: kinds.iter().copied().map(edges).collect(), of_bore: bores.iter().map(shape).collect() }
    }
}

/// The bores themselves where they are of no more than `most` kinds of depth and top; else bores of no more kinds,
/// each with the mean depth and top of its class.
///
/// The field keeps its total length. What is lost is of second order in the width of a class.
pub fn classed(bores: &[Placed], most: usize) -> Vec<Placed> {
    if kinds(bores).len() <= most {
        return bores.to_vec();
    }
    let tops = Classes::new(bores, |bore| bore.source.top, TOP_CLASSES);
    let depths = Classes::new(bores, |bore| bore.source.depth, (most / tops.count).max(1));
    let class = |bore: &Placed| (depths.of(bore.source.depth), tops.of(bore.source.top));
    let mut members: BTreeMap<(usize, usize), Vec<LineSource>> = BTreeMap::new();
    for bore in bores {
        members.entry(class(bore)).or_default().push(bore.source);
    }
    let mean = |bore: &Placed| {
        let members = &members[&class(bore)];
        let mean =
            |value: fn(&LineSource) -> f64| members.iter().map(value).sum::<f64>() / members.len() as f64;
        let source = LineSource { depth: mean(|one| one.depth), top: mean(|one| one.top), ..bore.source };
        Placed { source, ..*bore }
    };
    bores.iter().map(mean).collect()
}

/// Classes of equal width over the values of a field.
struct Classes {
    least: f64,
    most: f64,
    count: usize,
}

impl Classes {
    fn new(bores: &[Placed], value: fn(&Placed) -> f64, count: usize) -> Self {
        let values = bores.iter().map(value);
        let (least, most) =
            values.fold((f64::INFINITY, 0.0_f64), |(a, b), value| (a.min(value), b.max(value)));
        Self { least, most, count: if least < most { count } else { 1 } }
    }

    fn of(&self, value: f64) -> usize {
        if self.count == 1 {
            return 0;
        }
        let place = (value - self.least) / (self.most - self.least) * self.count as f64;
        (place as usize).min(self.count - 1)
    }
}

/// The different depths and tops, in rising order.
fn kinds(bores: &[Placed]) -> Vec<[f64; 2]> {
    let mut kinds: Vec<[f64; 2]> = bores.iter().map(kind_of).collect();
    kinds.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    kinds.dedup();
    kinds
}

fn kind_of(bore: &Placed) -> [f64; 2] {
    [bore.source.depth, bore.source.top]
}

fn before(a: &[f64; 2], b: &[f64; 2]) -> bool {
    a[0] < b[0] || (a[0] == b[0] && a[1] < b[1])
}
