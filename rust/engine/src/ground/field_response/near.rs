//! Pairs of bores that are near each other.

use std::collections::HashMap;
use std::ops::Range;

use super::Placed;

/// Pairs whose exp(-r^2 s^2) is below exp(-CUT) are left out.
const CUT: f64 = 27.0;

/// Bores in square cells, so that each need be compared with those in the cells around it only.
pub struct Near<'a> {
    bores: &'a [Placed],
    reach: f64,
    order: Vec<([i64; 2], usize)>,
    cells: HashMap<[i64; 2], Range<usize>>,
}

impl<'a> Near<'a> {
    /// Bores to be paired where exp(-r^2 s^2) counts.
    pub fn new(bores: &'a [Placed], s: f64) -> Self {
        let reach = CUT.sqrt() / s;
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

    /// Calls `f` with the two bores of each pair, once, and the square of their distance [m2].
    pub fn for_each_pair(&self, mut f: impl FnMut(usize, usize, f64)) {
        for (place, &([column, row], bore)) in self.order.iter().enumerate() {
            let own = self.cells[&[column, row]].end;
            let around = [[column, row + 1], [column + 1, row - 1], [column + 1, row], [column + 1, row + 1]];
            let ranges = around.iter().filter_map(|cell| self.cells.get(cell).cloned());
            for range in std::iter::once(place + 1..own).chain(ranges) {
                for &(_, other) in &self.order[range] {
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
