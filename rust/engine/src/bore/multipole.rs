//! Steady heat conduction between pipes in a grouted bore and the ground around it, by multipoles.
//!
//! Claesson & Hellstrom (2011), HVAC&R Research 17, 895, after Bennet, Claesson & Hellstrom (1987). Each pipe has a
//! line source and, one for each order, multipoles that satisfy the pipe's boundary condition up to that order; their
//! mirror images in the bore's wall account for the different conductivity of the ground. All of them average to 0 over
//! the bore's wall, so temperatures are differences from its mean temperature.

use std::f64::consts::TAU;

use faer::linalg::solvers::Solve;
use faer::{Mat, c64};

/// Sufficient order of the multipoles for any bore: 10 leaves less than 1e-6 unless pipes almost touch.
pub const ORDER: usize = 10;

/// A pipe in the cross-section of a bore.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Leg {
    /// Coordinate of the pipe's centre, from the bore's axis (m).
    pub x: f64,
    /// Coordinate of the pipe's centre, from the bore's axis (m).
    pub y: f64,
    /// Outer radius (m).
    pub radius: f64,
}

/// The hole around the pipes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hole {
    /// Radius (m).
    pub radius: f64,
    /// Thermal conductivity of the grout (W/(m K)).
    pub grout_conductivity: f64,
    /// Thermal conductivity of the surrounding ground (W/(m K)).
    pub ground_conductivity: f64,
}

/// Effect of each source in a bore at each pipe, independent of the pipes' resistances.
///
/// Around pipe m the temperature is the real part of a power series in w = (z - z_m) / r_m. The coefficients of w^k, k
/// = 0 to `order`, are the rows (m, k); each column is a source.
#[derive(Debug, Clone)]
pub struct CrossSection {
    two_pi_k: f64,
    order: usize,
    /// Radii of the pipes relative to that of the bore.
    radii: Vec<f64>,
    /// Line source at each pipe with its image, without the line at m itself.
    lines: Mat<c64>,
    /// Multipoles (n, j), j = 1 to `order`, without those at m itself.
    direct: Mat<c64>,
    /// Images of the multipoles, for the conjugates of their strengths.
    images: Mat<c64>,
}

impl CrossSection {
    /// The cross-section with multipoles up to an order.
    #[must_use]
    pub fn new(legs: &[Leg], hole: &Hole, order: usize) -> Self {
        let Hole { radius, grout_conductivity: grout, ground_conductivity: ground } = *hole;
        let sigma = (grout - ground) / (grout + ground);
        let binomial = binomials(2 * order);
        let rows = legs.len() * (order + 1);
        let mut lines = Mat::zeros(rows, legs.len());
        let mut direct = Mat::zeros(rows, legs.len() * order);
        let mut images = Mat::zeros(rows, legs.len() * order);
        for (m, at) in legs.iter().enumerate() {
            for (n, from) in legs.iter().enumerate() {
                let pair = PipePair::new(at, from, radius, order);
                for k in 0..=order {
                    let row = m * (order + 1) + k;
                    lines[(row, n)] = pair.line(sigma, k);
                    for j in 1..=order {
                        let source = n * order + j - 1;
                        direct[(row, source)] = pair.direct(j, k, &binomial);
                        images[(row, source)] = pair.image(j, k, &binomial) * sigma;
                    }
                }
            }
        }
        let radii = legs.iter().map(|leg| leg.radius / radius).collect();
        Self { two_pi_k: TAU * grout, order, radii, lines, direct, images }
    }

    /// Thermal resistances R (m K/W) between pipes and wall, one row and column per pipe.
    ///
    /// Fluid temperature of pipe m minus the mean temperature of the bore's wall = sum over n of R[m, n] x heat emitted
    /// by pipe n (W/m). `pipes` are the resistances from the fluid to each pipe's outside, film and wall (m K/W).
    #[must_use]
    pub fn resistance_matrix(&self, pipes: &[f64]) -> Mat<f64> {
        let beta: Vec<f64> = pipes.iter().map(|resistance| self.two_pi_k * resistance).collect();
        let multipoles = self.multipoles(&beta);
        Mat::from_fn(beta.len(), beta.len(), |m, n| {
            let own = if m == n { beta[m] - self.radii[m].ln() } else { 0.0 };
            let row = self.row(m, 0);
            let from_multipoles: f64 = (0..self.direct.ncols())
                .map(|source| {
                    let strength = c64::new(multipoles[(2 * source, n)], multipoles[(2 * source + 1, n)]);
                    (self.direct[(row, source)] * strength + self.images[(row, source)] * strength.conj()).re
                })
                .sum();
            (own + self.lines[(row, n)].re + from_multipoles) / self.two_pi_k
        })
    }

    /// Strengths of the multipoles, with real and imaginary parts alternating in the rows; a column for each pipe's
    /// line source.
    ///
    /// They follow from T - beta r dT/dr = fluid temperature at each pipe, whose terms e^(ik phi), k = 1 to `order`,
    /// are conj(P_mk) (1 + k beta) + (coefficient of w^k) (1 - k beta) = 0.
    fn multipoles(&self, beta: &[f64]) -> Mat<f64> {
        let sources = self.direct.ncols();
        let mut left = Mat::<f64>::zeros(2 * sources, 2 * sources);
        let mut right = Mat::<f64>::zeros(2 * sources, beta.len());
        for equation in 0..sources {
            let (m, k) = (equation / self.order, equation % self.order + 1);
            let row = self.row(m, k);
            let kb = k as f64 * beta[m];
            let gamma = (1.0 - kb) / (1.0 + kb);
            let (re, im) = (2 * equation, 2 * equation + 1);
            for source in 0..sources {
                let own = if source == equation { 1.0 } else { 0.0 };
                let (d, e) = (self.direct[(row, source)] * gamma, self.images[(row, source)] * gamma + own);
                left[(re, 2 * source)] = d.re + e.re;
                left[(re, 2 * source + 1)] = e.im - d.im;
                left[(im, 2 * source)] = d.im + e.im;
                left[(im, 2 * source + 1)] = d.re - e.re;
            }
            for n in 0..beta.len() {
                let line = self.lines[(row, n)] * -gamma;
                right[(re, n)] = line.re;
                right[(im, n)] = line.im;
            }
        }
        left.partial_piv_lu().solve(&right)
    }

    fn row(&self, m: usize, k: usize) -> usize {
        m * (self.order + 1) + k
    }
}

/// Pipe m and the sources at pipe n, with lengths in units of the bore's radius.
///
/// The ratios are stored with their powers from 0. t = z_n - z_m points to pipe n; D = 1 - z_m conj(z_n) is the
/// distance of pipe m from the image of n, times the place of n. If m is n, all terms with t are omitted.
struct PipePair {
    ln_t: f64,
    ln_d: f64,
    /// r_m / t
    at_over_t: Vec<c64>,
    /// -r_n / t
    from_over_t: Vec<c64>,
    /// r_m conj(z_n) / D
    at_over_d: Vec<c64>,
    /// z_m r_n / D
    from_over_d: Vec<c64>,
    /// r_m r_n / D
    both_over_d: Vec<c64>,
}

impl PipePair {
    fn new(at: &Leg, from: &Leg, bore_radius: f64, order: usize) -> Self {
        let place = |leg: &Leg| c64::new(leg.x, leg.y) / bore_radius;
        let ([z_m, z_n], [r_m, r_n]) =
            ([at, from].map(place), [at, from].map(|leg| leg.radius / bore_radius));
        let t = z_n - z_m;
        let d = 1.0 - z_m * z_n.conj();
        let (ln_t, per_t) = if at == from { (0.0, c64::ZERO) } else { (t.norm().ln(), 1.0 / t) };
        let powers = |ratio: c64| {
            std::iter::successors(Some(c64::ONE), |power| Some(power * ratio)).take(order + 1).collect()
        };
        Self {
            ln_t,
            ln_d: d.norm().ln(),
            at_over_t: powers(per_t * r_m),
            from_over_t: powers(per_t * -r_n),
            at_over_d: powers(z_n.conj() / d * r_m),
            from_over_d: powers(z_m / d * r_n),
            both_over_d: powers(1.0 / d * (r_m * r_n)),
        }
    }

    /// Coefficient of w^k of the line source and its image; of w^0 only the real part, which is all that matters.
    fn line(&self, sigma: f64, k: usize) -> c64 {
        match k {
            0 => c64::new(-self.ln_t - self.ln_d * sigma, 0.0),
            _ => (self.at_over_t[k] + self.at_over_d[k] * sigma) / k as f64,
        }
    }

    /// Coefficient of w^k of the multipole of order j.
    fn direct(&self, j: usize, k: usize, binomial: &[Vec<f64>]) -> c64 {
        self.from_over_t[j] * self.at_over_t[k] * binomial[j + k - 1][k]
    }

    /// Coefficient of w^k of the image of the multipole of order j, divided by sigma.
    fn image(&self, j: usize, k: usize, binomial: &[Vec<f64>]) -> c64 {
        (0..=j.min(k))
            .map(|i| {
                self.from_over_d[j - i]
                    * self.at_over_d[k - i]
                    * self.both_over_d[i]
                    * (binomial[j][i] * binomial[j + k - i - 1][k - i])
            })
            .sum()
    }
}

/// Pascal's triangle: row n contains n over k, k = 0 to n, for n up to `last`.
fn binomials(last: usize) -> Vec<Vec<f64>> {
    let next = |row: &Vec<f64>| {
        let inner = row.windows(2).map(|pair| pair[0] + pair[1]);
        Some(std::iter::once(1.0).chain(inner).chain([1.0]).collect())
    };
    std::iter::successors(Some(vec![1.0]), next).take(last + 1).collect()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn leg(x: f64, y: f64) -> Leg {
        Leg { x, y, radius: 0.016 }
    }

    fn hole(radius: f64, grout_conductivity: f64, ground_conductivity: f64) -> Hole {
        Hole { radius, grout_conductivity, ground_conductivity }
    }

    fn matrix(legs: &[Leg], hole: &Hole, pipes: &[f64]) -> Mat<f64> {
        CrossSection::new(legs, hole, ORDER).resistance_matrix(pipes)
    }

    #[test]
    fn centred_pipe_is_a_layered_cylinder() {
        let matrix = matrix(&[leg(0.0, 0.0)], &hole(0.075, 1.5, 2.5), &[0.09]);
        let exact = 0.09 + (0.075f64 / 0.016).ln() / (TAU * 1.5);
        assert!((matrix[(0, 0)] / exact - 1.0).abs() < 1e-14);
    }

    #[test]
    fn eccentric_isothermal_pipe_in_grout_like_ground_at_a_far_wall() {
        // One pipe without film in a homogeneous plane: the mean over any enclosing circle is the logarithm.
        let matrix = matrix(&[leg(0.02, -0.01)], &hole(0.075, 2.0, 2.0), &[0.0]);
        assert!((matrix[(0, 0)] * TAU * 2.0 / (0.075f64 / 0.016).ln() - 1.0).abs() < 1e-14);
    }

    #[test]
    fn tenth_order_is_enough_near_the_wall() {
        let legs = [leg(0.0565, 0.0), leg(-0.0565, 0.0)];
        let [tenth, twentieth] = [10, 20].map(|order| {
            CrossSection::new(&legs, &hole(0.075, 0.8, 2.8), order).resistance_matrix(&[0.09, 0.09])
        });
        assert!((&tenth - &twentieth).norm_max() < 1e-6 * tenth[(0, 0)], "{tenth:?} {twentieth:?}");
    }

    #[test]
    fn rotating_the_bore_has_no_effect() {
        let legs = [leg(0.035, 0.01), leg(-0.03, 0.0)];
        let (sin, cos) = 0.7f64.sin_cos();
        let turned = legs.map(|l| Leg { x: cos * l.x - sin * l.y, y: sin * l.x + cos * l.y, ..l });
        let [a, b] = [legs, turned].map(|legs| matrix(&legs, &hole(0.075, 0.8, 2.5), &[0.09, 0.09]));
        assert!((&a - &b).norm_max() < 1e-14);
    }

    fn any_legs() -> impl Strategy<Value = (Vec<Leg>, Vec<f64>)> {
        // One pipe in each of four cells of the hole: never overlapping, often close to each other or to the wall.
        let cell = (0.0..=1.0f64, 0.0..=1.0f64, 0.002..=0.018f64, 0.0..=0.5f64);
        prop::collection::vec(cell, 1..=4).prop_map(|cells| {
            let side = 0.05;
            cells
                .iter()
                .zip([(0.0, 0.0), (-1.0, 0.0), (-1.0, -1.0), (0.0, -1.0)])
                .map(|(&(x, y, radius, resistance), (column, row))| {
                    let free = side - 2.0 * radius;
                    let (x, y) = (side * column + radius + x * free, side * row + radius + y * free);
                    (Leg { x, y, radius }, resistance)
                })
                .unzip()
        })
    }

    proptest! {
        #[test]
        fn matrix_is_symmetric_and_positive(
            (legs, pipes) in any_legs(), grout in 0.1..20.0f64, ground in 0.1..20.0f64,
        ) {
            let matrix = matrix(&legs, &hole(0.0708, grout, ground), &pipes);
            for m in 0..legs.len() {
                prop_assert!(matrix[(m, m)] > pipes[m]);
                for n in 0..m {
                    let scale = matrix[(m, m)] + matrix[(n, n)];
                    prop_assert!((matrix[(m, n)] - matrix[(n, m)]).abs() < 1e-9 * scale);
                }
            }
        }

        #[test]
        fn order_of_the_pipes_has_no_effect(
            (legs, pipes) in any_legs(), grout in 0.1..20.0f64, ground in 0.1..20.0f64,
        ) {
            let forth = matrix(&legs, &hole(0.0708, grout, ground), &pipes);
            let legs: Vec<Leg> = legs.into_iter().rev().collect();
            let pipes: Vec<f64> = pipes.into_iter().rev().collect();
            let back = matrix(&legs, &hole(0.0708, grout, ground), &pipes);
            let last = legs.len() - 1;
            for m in 0..=last {
                for n in 0..=last {
                    let difference = forth[(m, n)] - back[(last - m, last - n)];
                    prop_assert!(difference.abs() < 1e-9 * forth[(m, m)]);
                }
            }
        }
    }
}
