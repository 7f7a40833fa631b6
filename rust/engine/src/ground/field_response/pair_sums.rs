//! Sums over pairs of bores of exp(-r^2 s^2), between columns across the field.

use faer::{Mat, MatRef};

use super::Placed;
use super::lattice::{Lattice, greatest_s, lattices, serving};
use super::near::Near;

/// Pairs whose exp(-r^2 s^2) is below exp(-CUT) are left out.
const CUT: f64 = 27.0;

/// Columns y over the bores: for each two of them, the sum over bores i and j, i not j, of
/// y_i exp(-r_ij^2 s^2) y_j is wanted.
pub struct PairSums<'a> {
    bores: &'a [Placed],
    columns: usize,
    rows: Vec<f64>,
    split: f64,
    lattices: Vec<Lattice>,
}

impl<'a> PairSums<'a> {
    /// Sums for `columns`, bores in rows, at s from `least` [1/m].
    pub fn new(bores: &'a [Placed], columns: &Mat<f64>, least: f64) -> Self {
        let rows = (0..columns.nrows()).flat_map(|row| (0..columns.ncols()).map(move |c| columns[(row, c)]));
        let (rows, columns, split) = (rows.collect::<Vec<_>>(), columns.ncols(), greatest_s(bores));
        let lattices = lattices(bores, &rows, columns, least, split);
        Self { bores, columns, rows, split, lattices }
    }

    /// The sums at s, columns x columns; `None` where no two bores are near enough.
    pub fn at(&self, s: f64) -> Option<Mat<f64>> {
        if let Some(lattice) = serving(self.split, s).and_then(|level| self.lattices.get(level)) {
            // The lattice has the sum over i = j as well.
            let (values, own) = (self.matrix(lattice.values()), self.matrix(&self.rows));
            return Some(values.transpose() * self.matrix(&lattice.smoothed(s)) - own.transpose() * own);
        }
        let mut met = vec![0.0; self.rows.len()];
        let mut any = false;
        Near::new(self.bores, CUT.sqrt() / s).for_each_pair(|bore, other, square| {
            any = true;
            let factor = (-square * s * s).exp();
            let from = &self.rows[other * self.columns..][..self.columns];
            let into = &mut met[bore * self.columns..][..self.columns];
            into.iter_mut().zip(from).for_each(|(sum, value)| *sum += factor * value);
        });
        any.then(|| {
            let half = self.matrix(&self.rows).transpose() * self.matrix(&met);
            &half + half.transpose()
        })
    }

    fn matrix<'b>(&self, rows: &'b [f64]) -> MatRef<'b, f64> {
        MatRef::from_row_major_slice(rows, rows.len() / self.columns, self.columns)
    }
}

#[cfg(test)]
mod tests {
    use super::super::LineSource;
    use super::*;

    /// Cross-method: lattices and cells against every pair.
    #[test]
    fn are_the_sums_over_all_pairs() {
        let source = LineSource { depth: 100.0, top: 4.0, radius: 0.075 };
        let fraction = |index: usize, step: f64| (index as f64 * step).fract();
        let bores: Vec<Placed> = (0..400)
            .map(|i| {
                let position = [120.0 * fraction(i, 0.754_877_67), 90.0 * fraction(i, 0.569_840_29)];
                Placed { source, position }
            })
            .collect();
        let columns =
            Mat::from_fn(
                400,
                2,
                |bore, column| {
                    if column == 0 { 1.0 } else { fraction(bore, 0.618_033_99) - 0.5 }
                },
            );
        let sums = PairSums::new(&bores, &columns, 1e-3);
        for s in [1e-3, 5e-3, 0.02, 0.06, 0.1, 0.114, 0.13, 0.5] {
            let sum = sums.at(s).unwrap();
            let mut direct = Mat::<f64>::zeros(2, 2);
            for (i, j) in (0..400).flat_map(|i| (0..400).filter(move |&j| j != i).map(move |j| (i, j))) {
                let [dx, dy] = [0, 1].map(|axis| bores[i].position[axis] - bores[j].position[axis]);
                let factor = (-(dx * dx + dy * dy) * s * s).exp();
                for (a, b) in [(0, 0), (0, 1), (1, 0), (1, 1)] {
                    direct[(a, b)] += factor * columns[(i, a)] * columns[(j, b)];
                }
            }
            // Of the sums' size, to which the second column adds next to nothing.
            let error = (&sum - &direct).norm_max() / direct.norm_max();
            assert!(error < 1e-5, "{s}: {error:e}");
        }
    }
}
