//! Pairs of bores that are near each other.

use std::collections::HashMap;
use std::ops::Range;

use super::Placed;

/// Bores in square cells, so that each need be compared with those in the cells around it only.
pub struct Near<'a> {
    bores: &'a [Placed],
    reach: f64,
    order: Vec<([i64; 2], usize)>,
    cells: HashMap<[i64; 2], Range<usize>>,
}

impl<'a> Near<'a> {
    /// Bores to be paired where they are no farther from each other than `reach` [m].
    pub fn new(bores: &'a [Placed], reach: f64) -> Self {
        let cell = |bore: &Placed| bore.position.map(|value| (value / reach).floor() as i64);
        let mut order: Vec<([i64; 2], usize)> =
            bores.iter().enumerate().map(|(index, bore)| (cell(bore), index)).collect();
        order.sort_unstable();
        let mut cells = HashMap::new();
        let mut start = 0;
        for members in order.chunk_by(|a, b| a.0 == b.0) {
            cells.insert(members[0].0, start..start + members.len());
            start += members.len();
        }
        Self { bores, reach, order, cells }
    }

    /// Square of the greatest distance of two bores that are a pair, or a bound of it [m2].
    pub fn greatest_square(&self) -> f64 {
        let span = |axis: usize| {
            let values = self.bores.iter().map(|bore| bore.position[axis]);
            let ends =
                values.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), value| (a.min(value), b.max(value)));
            ends.1 - ends.0
        };
        (self.reach * self.reach).min(span(0).powi(2) + span(1).powi(2))
    }

    /// Calls `f` with the two bores of each pair, once, and the square of their distance [m2].
    pub fn for_each_pair(&self, mut f: impl FnMut(usize, usize, f64)) {
        for members in self.order.chunk_by(|a, b| a.0 == b.0) {
            let [column, row] = members[0].0;
            let around = [[column, row + 1], [column + 1, row - 1], [column + 1, row], [column + 1, row + 1]];
            let around =
                around.map(|cell| self.cells.get(&cell).map_or(&[][..], |range| &self.order[range.clone()]));
            for (place, &(_, bore)) in members.iter().enumerate() {
                for &(_, other) in members[place + 1..].iter().chain(around.into_iter().flatten()) {
                    let [dx, dy] =
                        [0, 1].map(|axis| self.bores[bore].position[axis] - self.bores[other].position[axis]);
                    let square = dx * dx + dy * dy;
                    if square <= self.reach * self.reach {
                        f(bore, other, square);
                    }
                }
            }
        }
    }
}
