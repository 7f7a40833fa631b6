//! Division of bores into segments.

/// Segments of a bore, and the ratio of the length of each to the one nearer the end.
pub const SEGMENTS: usize = 24;
const GROWTH: f64 = 1.4;

/// Ratio of active depth to radius below which a bore can't be divided into this many segments without some being much
/// shorter than its radius.
pub const LEAST_SLENDERNESS: f64 = 20.0;

/// Bisections that determine a growth to the last bit.
const HALVINGS: usize = 50;

/// Relative lengths of the segments of bores: from each end, each is longer than the one nearer the end.
///
/// A line on the axis can't maintain one temperature on the wall of a segment that is short relative to the radius: the
/// equations become ill-posed. Where the active depth is only a few radii, the `slenderness`, segments therefore grow
/// less, down to equal ones, so that the shortest is no shorter than the radius if possible.
pub fn graded_segments(slenderness: f64) -> [f64; SEGMENTS] {
    let mut growth = GROWTH;
    if are_limited(slenderness) {
        let (mut low, mut high) = (1.0, GROWTH);
        for _ in 0..HALVINGS {
            let middle = 0.5 * (low + high);
            if whole(middle) > slenderness { high = middle } else { low = middle }
        }
        growth = low;
    }
    let sum = whole(growth);
    std::array::from_fn(|segment| from_end(growth, segment) / sum)
}

/// Whether the radius limits the resolution of the segments of bores of a slenderness.
fn are_limited(slenderness: f64) -> bool {
    coarseness(slenderness) > 1.0
}

/// Ratio of the radius to the shortest segment that bores of a slenderness would have without this limit.
fn coarseness(slenderness: f64) -> f64 {
    whole(GROWTH) / slenderness
}

/// Weight of the wall's response in a bore's response, compared with a line: from 0 for slender bores to 1 for stubby
/// ones.
pub fn stubbiness(slenderness: f64) -> f64 {
    (coarseness(slenderness) - 1.0).clamp(0.0, 1.0)
}

/// Lengths over that of the shortest segment, of one segment and of the bore.
fn from_end(growth: f64, segment: usize) -> f64 {
    growth.powi(segment.min(SEGMENTS - 1 - segment) as i32)
}

fn whole(growth: f64) -> f64 {
    (0..SEGMENTS).map(|segment| from_end(growth, segment)).sum()
}

/// Depths of the edges of the segments (m) of a bore of some depth and buried depth, with the given relative lengths.
pub fn edges([depth, buried_depth]: [f64; 2], segments: &[f64]) -> Vec<f64> {
    let mut edge = buried_depth;
    let below = segments.iter().map(|length| {
        edge += depth * length;
        edge
    });
    std::iter::once(buried_depth).chain(below).collect()
}
