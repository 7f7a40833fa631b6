//! How bores are cut into segments, and the few shapes of bore that stand for all depths and tops.

use super::Placed;

/// Segments of a bore, and how much longer each is than the one nearer the end.
const SEGMENTS: usize = 24;
const GROWTH: f64 = 1.4;

/// Relative lengths of the segments of a bore: from each end, each is longer than the one nearer the end.
pub fn graded_segments() -> Vec<f64> {
    let from_end = |segment: usize| GROWTH.powi(segment.min(SEGMENTS - 1 - segment) as i32);
    let whole: f64 = (0..SEGMENTS).map(from_end).sum();
    (0..SEGMENTS).map(|segment| from_end(segment) / whole).collect()
}

/// Shapes of bore, between which a field's bores are interpolated: what a bore does is the sum over shapes of weight x
/// what the shape does.
pub struct Shapes {
    /// Depth and top of each shape [m].
    pub kinds: Vec<[f64; 2]>,
    /// The depths and tops that are interpolated between, where they are.
    knots: Option<[Vec<f64>; 2]>,
}

impl Shapes {
    /// The shapes of some bores.
    ///
    /// `knots` is how many depths, and how many tops, may be interpolated between: Chebyshev's points over the field's
    /// range. A field of no more kinds of depth and top has those kinds for shapes, and nothing is interpolated.
    pub fn new(bores: &[Placed], knots: [usize; 2]) -> Self {
        let kinds = kinds(bores);
        if kinds.len() <= knots[0] * knots[1] {
            return Self { kinds, knots: None };
        }
        let knots = [0, 1].map(|axis| knots_over(kinds.iter().map(|kind| kind[axis]), knots[axis]));
        let [depths, tops] = &knots;
        let kinds = depths.iter().flat_map(|&depth| tops.iter().map(move |&top| [depth, top])).collect();
        Self { kinds, knots: Some(knots) }
    }

    /// Weights of the shapes for a bore of some depth and top [m].
    pub fn weights(&self, kind: [f64; 2]) -> Vec<f64> {
        match &self.knots {
            None => self.kinds.iter().map(|shape| f64::from(*shape == kind)).collect(),
            Some([depths, tops]) => (0..self.kinds.len())
                .map(|shape| {
                    lagrange(depths, shape / tops.len(), kind[0])
                        * lagrange(tops, shape % tops.len(), kind[1])
                })
                .collect(),
        }
    }
}

/// Depths of the edges of the segments [m] of a bore of some depth and top, which have the given relative lengths.
pub fn edges([depth, top]: [f64; 2], segments: &[f64]) -> Vec<f64> {
    let mut edge = top;
    let below = segments.iter().map(|length| {
        edge += depth * length;
        edge
    });
    std::iter::once(top).chain(below).collect()
}

/// The different depths and tops, in rising order.
fn kinds(bores: &[Placed]) -> Vec<[f64; 2]> {
    let mut kinds: Vec<[f64; 2]> = bores.iter().map(kind_of).collect();
    kinds.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    kinds.dedup();
    kinds
}

/// Depth and top [m].
pub fn kind_of(bore: &Placed) -> [f64; 2] {
    [bore.source.depth, bore.source.top]
}

/// Chebyshev's points over the range of some values; one where they are all the same.
fn knots_over(values: impl Iterator<Item = f64>, count: usize) -> Vec<f64> {
    let (least, most) =
        values.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), value| (a.min(value), b.max(value)));
    if least == most {
        return vec![least];
    }
    let angle = |knot: usize| std::f64::consts::PI * (knot as f64 + 0.5) / count as f64;
    (0..count).map(|knot| 0.5 * (least + most) - 0.5 * (most - least) * angle(knot).cos()).collect()
}

/// Lagrange's polynomial that is 1 at one of the knots and 0 at the others.
fn lagrange(knots: &[f64], one: usize, x: f64) -> f64 {
    let others = knots.iter().enumerate().filter(|(knot, _)| *knot != one);
    others.map(|(_, knot)| (x - knot) / (knots[one] - knot)).product()
}
