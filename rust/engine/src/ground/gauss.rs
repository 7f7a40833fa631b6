//! Gauss-Legendre quadrature.

use std::f64::consts::PI;

/// Points and weights on [-1, 1], exact for polynomials of degree 2 N - 1.
///
/// Newton's iteration on the Legendre polynomial from Tricomi's initial guess.
#[must_use]
pub fn gauss_legendre<const N: usize>() -> [(f64, f64); N] {
    std::array::from_fn(|index| {
        let mut x = (PI * (index as f64 + 0.75) / (N as f64 + 0.5)).cos();
        for _ in 0..6 {
            let (value, slope) = legendre(N, x);
            x -= value / slope;
        }
        let (_, slope) = legendre(N, x);
        (x, 2.0 / ((1.0 - x * x) * slope * slope))
    })
}

/// The Legendre polynomial of a degree above 0 and its slope, inside ]-1, 1[.
fn legendre(degree: usize, x: f64) -> (f64, f64) {
    let mut next = legendre_polynomials(x);
    for _ in 1..degree {
        next();
    }
    let (before, value) = (next(), next());
    (value, degree as f64 * (x * value - before) / (x * x - 1.0))
}

/// The Legendre polynomials of degree 0, 1, ... at x, in this order.
pub fn legendre_polynomials(x: f64) -> impl FnMut() -> f64 {
    let (mut degree, mut before, mut value) = (0.0, 0.0, 1.0);
    move || {
        let now = value;
        (before, value) = (now, ((2.0 * degree + 1.0) * x * now - degree * before) / (degree + 1.0));
        degree += 1.0;
        now
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn integrates_polynomials_exactly() {
        for power in 0..32 {
            let sum: f64 = gauss_legendre::<16>().iter().map(|(x, weight)| weight * x.powi(power)).sum();
            let exact = if power % 2 == 0 { 2.0 / f64::from(power + 1) } else { 0.0 };
            assert!((sum - exact).abs() < 1e-14, "{power}: {sum} {exact}");
        }
    }
}
