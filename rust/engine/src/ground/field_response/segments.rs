//! How bores are cut into segments.

/// Segments of a bore, and how much longer each is than the one nearer the end.
pub const SEGMENTS: usize = 24;
const GROWTH: f64 = 1.4;

/// Relative lengths of the segments of a bore: from each end, each is longer than the one nearer the end.
pub fn graded_segments() -> Vec<f64> {
    let from_end = |segment: usize| GROWTH.powi(segment.min(SEGMENTS - 1 - segment) as i32);
    let whole: f64 = (0..SEGMENTS).map(from_end).sum();
    (0..SEGMENTS).map(|segment| from_end(segment) / whole).collect()
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
