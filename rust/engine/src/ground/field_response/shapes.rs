//! How bores are cut into segments, and the few shapes of bore that stand for all depths and tops.

use faer::Mat;

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
    /// Depths of the edges of the segments of each shape [m].
    pub edges: Vec<Vec<f64>>,
    /// Weights of the shapes, in columns, for each bore.
    pub weights: Mat<f64>,
}

impl Shapes {
    /// The shapes of bores that are cut into segments of the given relative lengths.
    ///
    /// `knots` is how many depths, and how many tops, may be interpolated between: Chebyshev's points over the field's
    /// range. A field of no more kinds of depth and top has those kinds for shapes, and nothing is interpolated.
    pub fn new(bores: &[Placed], segments: &[f64], knots: [usize; 2]) -> Self {
        let kinds = kinds(bores);
        let edges = |[depth, top]: [f64; 2]| {
            let mut edge = top;
            let below = segments.iter().map(|length| {
                edge += depth * length;
                edge
            });
            std::iter::once(top).chain(below).collect()
        };
        if kinds.len() <= knots[0] * knots[1] {
            let weights = Mat::from_fn(bores.len(), kinds.len(), |bore, kind| {
                f64::from(kind_of(&bores[bore]) == kinds[kind])
            });
            return Self { edges: kinds.into_iter().map(edges).collect(), weights };
        }
        let depths = knots_over(kinds.iter().map(|kind| kind[0]), knots[0]);
        let tops = knots_over(kinds.iter().map(|kind| kind[1]), knots[1]);
        let weights = Mat::from_fn(bores.len(), depths.len() * tops.len(), |bore, shape| {
            let [depth, top] = kind_of(&bores[bore]);
            lagrange(&depths, shape / tops.len(), depth) * lagrange(&tops, shape % tops.len(), top)
        });
        let shapes = depths.iter().flat_map(|&depth| tops.iter().map(move |&top| [depth, top]));
        Self { edges: shapes.map(edges).collect(), weights }
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
