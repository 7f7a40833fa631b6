//! Inversion of Laplace transforms whose functions have steep fronts.

use std::array::from_fn;
use std::f64::consts::{LN_10, PI};

use faer::c64;

/// Terms of the plain sum, and as many that are averaged. The error is some 1e-8 of smooth functions and 1e-4 of fronts
/// that take a tenth of the time to pass; that of the transform is amplified by 10^(TERMS / 3), about 5000.
const TERMS: usize = 11;
const COUNT: usize = 2 * TERMS + 1;

/// The step response at a time (s), from p x Laplace{step response} at complex p (1/s), whose real parts are positive.
///
/// Euler's sum (Abate & Whitt 2006, "A unified framework for numerically inverting Laplace transforms", from memory),
/// checked by tests/reference/test_moving_ground.py. All p have the same real part, so nothing that decays at p > 0
/// grows here, however far downstream.
pub fn step_response(transform: impl Fn(c64) -> c64, time: f64) -> f64 {
    let beta = TERMS as f64 * LN_10 / 3.0;
    let term = |(k, weight): (usize, f64)| {
        let p = c64::new(beta / time, PI * k as f64 / time);
        // The transform of the response itself, over the time.
        weight * (transform(p) / (p * time)).re
    };
    (TERMS as f64 * LN_10 / 3.0).exp() * weights().into_iter().enumerate().map(term).sum::<f64>()
}

/// Weights of the terms: signs alternate, and the last ones fall off like the sums of a binomial distribution.
fn weights() -> [f64; COUNT] {
    let mut weights = [1.0; COUNT];
    weights[0] = 0.5;
    let mut binomial = 0.5_f64.powi(TERMS as i32);
    let mut sum = 0.0;
    for k in 0..TERMS {
        sum += binomial;
        weights[2 * TERMS - k] = sum;
        binomial *= (TERMS - k) as f64 / (k + 1) as f64;
    }
    from_fn(|k| if k % 2 == 0 { weights[k] } else { -weights[k] })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Analytic: p x Laplace{erfc(sqrt(a / t))} = exp(-2 sqrt(a p)); Carslaw & Jaeger 1959, appendix V, 8.
    #[test]
    fn inverts_the_half_space() {
        let a = 1e5_f64;
        for time in [1e4, 1e5, 1e6, 1e8] {
            let found = step_response(|p| (-2.0 * (p * a).sqrt()).exp(), time);
            let exact = libm::erfc((a / time).sqrt());
            assert!((found - exact).abs() < 1e-5, "{time} s: {found}, {exact}");
        }
    }

    #[test]
    fn inverts_a_steep_front() {
        // First passage of a distance x by a random walk that drifts with u and spreads with d (inverse Gaussian
        // distribution): p x Laplace = exp(x (u - sqrt(u^2 + 4 d p)) / (2 d)).
        let (x, u, d) = (60.0, 1.0, 0.5);
        let normal = |z: f64| 0.5 * libm::erfc(-z / std::f64::consts::SQRT_2);
        for time in [40.0_f64, 55.0, 60.0, 70.0, 100.0] {
            let found =
                step_response(|p| (((p * (4.0 * d) + u * u).sqrt() - u) * (-x / (2.0 * d))).exp(), time);
            let spread = (2.0 * d * time).sqrt();
            let exact =
                normal((u * time - x) / spread) + (u * x / d).exp() * normal(-(u * time + x) / spread);
            assert!((found - exact).abs() < 2e-4, "{time} s: {found}, {exact}");
        }
    }
}
