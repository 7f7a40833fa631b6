//! The equations among a few solutions, which are cheap at any p.

use faer::linalg::solvers::Solve;
use faer::{Mat, c64};

/// Exponentials below exp(-CUT) are neglected.
const CUT: f64 = 60.0;

/// Sum over nodes of exp(-p x exponent) x matrix, times the unknowns, equals `right`; `left` times the unknowns is the
/// field's heat.
pub struct Reduced {
    /// The solutions, in columns over the profiles of all bores.
    pub heat: Mat<f64>,
    /// 1 / (4 a s^2) at each node (s).
    pub exponents: Vec<f64>,
    pub at_nodes: Vec<Mat<f64>>,
    pub right: Mat<f64>,
    pub left: Mat<f64>,
    /// Total active depth (m).
    pub length: f64,
}

impl Reduced {
    /// p x Laplace{g} at a real p (1/s).
    pub fn drop(&self, p: f64) -> f64 {
        self.complex_drop(c64::new(p, 0.0)).re
    }

    /// p x Laplace{g} at a complex p (1/s) with a positive real part.
    pub fn complex_drop(&self, p: c64) -> c64 {
        let (_, heat) = self.unknowns(p);
        c64::new(self.length, 0.0) / heat
    }

    /// The amount of each solution in a field's heat of 1.
    pub fn amounts(&self, p: c64) -> Mat<c64> {
        let (unknowns, heat) = self.unknowns(p);
        unknowns * faer::Scale(heat.inv())
    }

    /// The unknowns, and the field's heat.
    fn unknowns(&self, p: c64) -> (Mat<c64>, c64) {
        let count = self.right.nrows();
        let mut matrix = Mat::<c64>::zeros(count, count);
        for (exponent, at_node) in self.exponents.iter().zip(&self.at_nodes) {
            if p.re * exponent > CUT {
                continue;
            }
            let (sin, cos) = (-p.im * exponent).sin_cos();
            let decay = c64::new(cos, sin) * (-p.re * exponent).exp();
            for (row, column) in (0..count).flat_map(|column| (0..count).map(move |row| (row, column))) {
                matrix[(row, column)] += decay * at_node[(row, column)];
            }
        }
        let right = Mat::from_fn(count, 1, |row, _| c64::new(self.right[(row, 0)], 0.0));
        let unknowns = matrix.partial_piv_lu().solve(&right);
        let heat = (0..count).map(|row| unknowns[(row, 0)] * self.left[(row, 0)]).sum();
        (unknowns, heat)
    }
}
