//! The boundary between sums over pairs of bores and sums on lattices.

use super::Placed;
use super::lattice::Grade;
use crate::cancel_token::CancelToken;
use crate::ground::strips::Strips;

/// Fields with no more bores need no lattice.
const FEW: usize = 100;

/// Smallest s x mean spacing of the bores at which the two methods are compared, and how often it is doubled at most.
const FIRST: f64 = 0.6;
const DOUBLINGS: usize = 24;

/// A lattice at the split covers s down to this fraction of its largest s.
const SERVES: f64 = 0.25;

/// The s (1/m) below which lattices are less work than pairs; 0 for a field of a few bores.
///
/// `point` is the work per lattice point relative to that per pair.
pub fn split(bores: &[Placed], grade: Grade, point: f64, token: &CancelToken) -> f64 {
    if bores.len() <= FEW {
        return 0.0;
    }
    let positions: Vec<[f64; 2]> = bores.iter().map(|bore| bore.position).collect();
    let [width, height] = [0, 1].map(|axis| {
        let values = positions.iter().map(|position| position[axis]);
        let ends = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)));
        ends.1 - ends.0
    });
    let count = bores.len() as f64;
    let work = |s: f64| {
        let [columns, rows] = grade.counts(&positions, SERVES * s, s, token);
        Strips::new(&positions, grade.reach(s), token).pairs() as f64 + point * columns as f64 * rows as f64
    };
    let mut s = FIRST / (width * height / count).sqrt().max(width.max(height) / count);
    let mut least = work(s);
    for _ in 0..DOUBLINGS {
        let next = work(2.0 * s);
        if next >= least {
            break;
        }
        (s, least) = (2.0 * s, next);
    }
    s
}
