//! Steady heat conduction between pipes in a grouted bore and the ground around it, by multipoles.
//!
//! Claesson & Hellstrom (2011), HVAC&R Research 17, 895, after Bennet, Claesson & Hellstrom (1987). At each
//! pipe stands a line source and, one for each order, the multipoles that let the temperature meet the pipe's
//! boundary condition up to that order; their mirror images in the bore's wall account for the other
//! conductivity of the ground. All of them have the mean 0 over the bore's wall, so that temperatures are
//! differences from its mean temperature.

use std::f64::consts::TAU;

use faer::linalg::solvers::Solve;
use faer::{Mat, c64};

/// Order of the multipoles that serves any bore: 10 leaves less than 1e-6 unless pipes all but touch.
pub const ORDER: usize = 10;

/// A pipe in the cross-section of a bore.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Leg {
    /// Place of the pipe's centre, from the bore's axis [m].
    pub x: f64,
    /// Place of the pipe's centre, from the bore's axis [m].
    pub y: f64,
    /// Outer radius [m].
    pub radius: f64,
    /// Thermal resistance from the fluid to the pipe's outside, film and wall [m K/W].
    pub resistance: f64,
}

/// Thermal resistances R [m K/W] between pipes and wall, one row and column a pipe.
///
/// Fluid temperature of pipe m less the mean temperature of the bore's wall = sum over n of R[m, n] x heat
/// given off by pipe n [W/m].
#[must_use]
pub fn resistance_matrix(
    legs: &[Leg],
    bore_radius: f64,
    grout_conductivity: f64,
    ground_conductivity: f64,
    order: usize,
) -> Mat<f64> {
    let section = CrossSection {
        centres: legs.iter().map(|leg| c64::new(leg.x, leg.y) / bore_radius).collect(),
        radii: legs.iter().map(|leg| leg.radius / bore_radius).collect(),
        sigma: (grout_conductivity - ground_conductivity) / (grout_conductivity + ground_conductivity),
    };
    let beta: Vec<f64> = legs.iter().map(|leg| TAU * grout_conductivity * leg.resistance).collect();
    let multipoles = section.multipoles(&beta, order);
    Mat::from_fn(legs.len(), legs.len(), |m, n| {
        let own = if m == n { beta[m] - section.radii[m].ln() } else { 0.0 };
        let from_lines = section.line(m, n, 0).re;
        let from_multipoles: f64 = strengths(legs.len(), order)
            .map(|(row, source, j)| {
                let (direct, image) = section.multipole(m, source, j, 0);
                let strength = c64::new(multipoles[(row, n)], multipoles[(row + 1, n)]);
                (direct * strength + image * strength.conj()).re
            })
            .sum();
        (own + from_lines + from_multipoles) / (TAU * grout_conductivity)
    })
}

/// Rows of the unknowns: place of the real part (the imaginary one follows), pipe, order from 1.
fn strengths(legs: usize, order: usize) -> impl Iterator<Item = (usize, usize, usize)> {
    (0..legs * order).map(move |i| (2 * i, i / order, i % order + 1))
}

/// The bore's cross-section in units of its radius.
///
/// Around pipe m the temperature is the real part of a power series in w = (z - z_m) / r_m; `line` and
/// `multipole` give its coefficients.
struct CrossSection {
    centres: Vec<c64>,
    radii: Vec<f64>,
    sigma: f64,
}

impl CrossSection {
    /// Coefficient of w^k around pipe m of the line source at pipe n and its image; the line at m itself left
    /// out.
    fn line(&self, m: usize, n: usize, k: usize) -> c64 {
        let coefficient = |towards: c64, step: c64| {
            if k == 0 { -towards.ln() } else { (step / towards).powi(k as i32) / k as f64 }
        };
        let r = c64::new(self.radii[m], 0.0);
        let direct = if m == n { c64::ZERO } else { coefficient(self.centres[n] - self.centres[m], r) };
        direct + coefficient(self.to_image(m, n), r * self.centres[n].conj()) * self.sigma
    }

    /// Coefficients of w^k around pipe m of the multipole of order j at pipe n: of its strength, left out at
    /// m itself, and, for the image, of the strength's conjugate.
    fn multipole(&self, m: usize, n: usize, j: usize, k: usize) -> (c64, c64) {
        let (r_m, r_n) = (self.radii[m], self.radii[n]);
        let direct = if m == n {
            c64::ZERO
        } else {
            let towards = self.centres[n] - self.centres[m];
            (-r_n / towards).powi(j as i32) * (r_m / towards).powi(k as i32) * binomial(j + k - 1, k)
        };
        let to_image = self.to_image(m, n);
        let image = (0..=j.min(k))
            .map(|i| {
                self.centres[m].powi((j - i) as i32)
                    * self.centres[n].conj().powi((k - i) as i32)
                    * to_image.powi(-((j + k - i) as i32))
                    * (binomial(j, i) * binomial(j + k - i - 1, k - i))
            })
            .sum::<c64>();
        (direct, image * (self.sigma * r_n.powi(j as i32) * r_m.powi(k as i32)))
    }

    /// 1 - z_m conj(z_n): distance of pipe m from the image of pipe n, times the place of n.
    fn to_image(&self, m: usize, n: usize) -> c64 {
        1.0 - self.centres[m] * self.centres[n].conj()
    }

    /// Strengths of the multipoles, real and imaginary parts in turn down the rows; a column for each pipe's
    /// line source.
    ///
    /// They follow from T - beta r dT/dr = fluid temperature at each pipe, whose terms e^(ik phi), k = 1 to
    /// `order`, are conj(P_mk) (1 + k beta) + (coefficient of w^k) (1 - k beta) = 0.
    fn multipoles(&self, beta: &[f64], order: usize) -> Mat<f64> {
        let legs = self.centres.len();
        let size = 2 * legs * order;
        let mut left = Mat::<f64>::zeros(size, size);
        let mut right = Mat::<f64>::zeros(size, legs);
        for (row, m, k) in strengths(legs, order) {
            let kb = k as f64 * beta[m];
            let gamma = (1.0 - kb) / (1.0 + kb);
            for (column, n, j) in strengths(legs, order) {
                let (direct, image) = self.multipole(m, n, j, k);
                let own = if row == column { 1.0 } else { 0.0 };
                let (d, e) = (direct * gamma, image * gamma + own);
                left[(row, column)] = d.re + e.re;
                left[(row, column + 1)] = e.im - d.im;
                left[(row + 1, column)] = d.im + e.im;
                left[(row + 1, column + 1)] = d.re - e.re;
            }
            for n in 0..legs {
                let source = self.line(m, n, k) * -gamma;
                right[(row, n)] = source.re;
                right[(row + 1, n)] = source.im;
            }
        }
        left.partial_piv_lu().solve(&right)
    }
}

fn binomial(n: usize, k: usize) -> f64 {
    (1..=k).fold(1.0, |product, i| product * (n - k + i) as f64 / i as f64)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn leg(x: f64, y: f64) -> Leg {
        Leg { x, y, radius: 0.016, resistance: 0.09 }
    }

    #[test]
    fn centred_pipe_is_a_layered_cylinder() {
        let matrix = resistance_matrix(&[leg(0.0, 0.0)], 0.075, 1.5, 2.5, ORDER);
        let exact = 0.09 + (0.075f64 / 0.016).ln() / (TAU * 1.5);
        assert!((matrix[(0, 0)] / exact - 1.0).abs() < 1e-14);
    }

    #[test]
    fn eccentric_isothermal_pipe_in_grout_like_ground_at_a_far_wall() {
        // One pipe without film in a homogeneous plane: the mean over any circle about it that holds it is
        // the logarithm.
        let pipe = Leg { x: 0.02, y: -0.01, radius: 0.016, resistance: 0.0 };
        let matrix = resistance_matrix(&[pipe], 0.075, 2.0, 2.0, ORDER);
        assert!((matrix[(0, 0)] * TAU * 2.0 / (0.075f64 / 0.016).ln() - 1.0).abs() < 1e-14);
    }

    #[test]
    fn tenth_order_is_enough_near_the_wall() {
        let legs = [leg(0.0565, 0.0), leg(-0.0565, 0.0)];
        let [tenth, twentieth] = [10, 20].map(|order| resistance_matrix(&legs, 0.075, 0.8, 2.8, order));
        assert!((&tenth - &twentieth).norm_max() < 1e-6 * tenth[(0, 0)], "{tenth:?} {twentieth:?}");
    }

    #[test]
    fn bore_that_is_turned_has_the_same_resistances() {
        let legs = [leg(0.035, 0.01), leg(-0.03, 0.0)];
        let (sin, cos) = 0.7f64.sin_cos();
        let turned = legs.map(|l| Leg { x: cos * l.x - sin * l.y, y: sin * l.x + cos * l.y, ..l });
        let (a, b) = (
            resistance_matrix(&legs, 0.075, 0.8, 2.5, ORDER),
            resistance_matrix(&turned, 0.075, 0.8, 2.5, ORDER),
        );
        assert!((&a - &b).norm_max() < 1e-14);
    }

    fn any_legs() -> impl Strategy<Value = Vec<Leg>> {
        // One pipe in each of four cells of the hole: never overlapping, often close to each other or to the
        // wall.
        let cell = (0.0..=1.0f64, 0.0..=1.0f64, 0.002..=0.018f64, 0.0..=0.5f64);
        prop::collection::vec(cell, 1..=4).prop_map(|cells| {
            let side = 0.05;
            cells
                .iter()
                .zip([(0.0, 0.0), (-1.0, 0.0), (-1.0, -1.0), (0.0, -1.0)])
                .map(|(&(x, y, radius, resistance), (column, row))| {
                    let free = side - 2.0 * radius;
                    Leg {
                        x: side * column + radius + x * free,
                        y: side * row + radius + y * free,
                        radius,
                        resistance,
                    }
                })
                .collect()
        })
    }

    proptest! {
        #[test]
        fn matrix_is_symmetric_and_positive(
            legs in any_legs(), grout in 0.1..20.0f64, ground in 0.1..20.0f64,
        ) {
            let matrix = resistance_matrix(&legs, 0.0708, grout, ground, ORDER);
            for m in 0..legs.len() {
                prop_assert!(matrix[(m, m)] > legs[m].resistance);
                for n in 0..m {
                    let scale = matrix[(m, m)] + matrix[(n, n)];
                    prop_assert!((matrix[(m, n)] - matrix[(n, m)]).abs() < 1e-9 * scale);
                }
            }
        }

        #[test]
        fn order_of_the_pipes_does_not_matter(
            legs in any_legs(), grout in 0.1..20.0f64, ground in 0.1..20.0f64,
        ) {
            let forth = resistance_matrix(&legs, 0.0708, grout, ground, ORDER);
            let reversed: Vec<Leg> = legs.iter().rev().copied().collect();
            let back = resistance_matrix(&reversed, 0.0708, grout, ground, ORDER);
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
