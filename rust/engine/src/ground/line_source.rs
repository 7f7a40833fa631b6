//! The finite line source below a surface of constant temperature.
//!
//! Heat extracted by one vertical segment lowers the temperature along another; a mirror image above the surface keeps
//! the surface temperature constant. Both means, over source and receiver, are exact (Claesson & Javed 2011).

use std::f64::consts::FRAC_2_SQRT_PI;

use crate::ground::Ground;
use crate::ground::gauss::gauss_legendre;

/// Beyond this x, exp(-x^2) is below the rounding of 1.
const FAR: f64 = 6.1;

/// Second differences, over the edges of two segments, of ierf(s (v - u)) + ierf(s (v + u)).
///
/// ierf is the integral of erf from zero, u and v (m) are depths below the surface and s is in 1/m. The result is
/// (2 / sqrt pi) s^2 times the integral of exp(-s^2 (v - u)^2) - exp(-s^2 (v + u)^2) over both segments: positive.
/// Row i, column j (row-major) is for the segment between `from[i]` and `from[i + 1]` and the one between `to[j]`
/// and `to[j + 1]`; edges are in rising order.
///
/// Claesson & Javed 2011, equations 10 and 11, for two segments.
fn double_differences(s: f64, from: &[f64], to: &[f64]) -> Vec<f64> {
    let longest = from.windows(2).chain(to.windows(2)).map(|edge| edge[1] - edge[0]).fold(0.0, f64::max);
    // The differences of ierf lose digits for segments that are short relative to 1/s, the quadrature for long ones.
    if s * longest < 0.1 { integrated(s, from, to) } else { differenced(s, from, to) }
}

/// By Gauss-Legendre quadrature over both segments.
fn integrated(s: f64, from: &[f64], to: &[f64]) -> Vec<f64> {
    let rule = gauss_legendre::<4>();
    let places = |edges: &[f64]| -> Vec<[(f64, f64); 4]> {
        let place = |edge: &[f64]| {
            let (middle, half) = (0.5 * (edge[0] + edge[1]), 0.5 * (edge[1] - edge[0]));
            rule.map(|(x, weight)| (s * (middle + half * x), s * half * weight))
        };
        edges.windows(2).map(place).collect()
    };
    let (from, to) = (places(from), places(to));
    let pair = |u: &[(f64, f64); 4], v: &[(f64, f64); 4]| -> f64 {
        let products = u.iter().flat_map(|&(u, wu)| v.iter().map(move |&(v, wv)| (u, v, wu * wv)));
        products
            .map(|(u, v, weight)| weight * (-(v - u).powi(2)).exp() * -(-4.0 * u * v).exp_m1())
            .sum::<f64>()
            * FRAC_2_SQRT_PI
    };
    from.iter().flat_map(|u| to.iter().map(move |v| pair(u, v))).collect()
}

/// By the closed form, with ierf x = |x| - 1 / sqrt pi + ierfc |x|, whose first part gives the common length.
fn differenced(s: f64, from: &[f64], to: &[f64]) -> Vec<f64> {
    let rest = |u: f64, v: f64| ierfc(s * (v - u).abs()) + ierfc(s * (v + u));
    let table: Vec<f64> = from.iter().flat_map(|&u| to.iter().map(move |&v| rest(u, v))).collect();
    let (rows, columns) = (from.len().saturating_sub(1), to.len().saturating_sub(1));
    let mut differences = Vec::with_capacity(rows * columns);
    for i in 0..rows {
        for j in 0..columns {
            let common = (from[i + 1].min(to[j + 1]) - from[i].max(to[j])).max(0.0);
            let (upper, lower) = (i * to.len() + j, (i + 1) * to.len() + j);
            differences.push(
                2.0 * s * common + (table[upper + 1] - table[upper]) - (table[lower + 1] - table[lower]),
            );
        }
    }
    differences
}

/// Integral of erfc from x >= 0 to infinity.
fn ierfc(x: f64) -> f64 {
    if x > FAR { 0.0 } else { 0.5 * FRAC_2_SQRT_PI * (-x * x).exp() - x * libm::erfc(x) }
}

/// Mean temperature drop along one segment, x 2 pi k / (heat extracted per metre of another), at a time after the heat
/// began.
///
/// h(t) = 1 / (2 L) x integral from 1 / sqrt(4 a t) to infinity of exp(-r^2 s^2) D(s) / s^2 ds, with the double
/// differences D, the length L of the receiver, the horizontal distance r (m) and the diffusivity a. Segments are given
/// by the depths (m) of their ends, the upper one first; the time (s) and the distance are positive.
///
/// Claesson & Javed 2011, equation 9. Gauss-Legendre panels in ln s are accurate to about 1e-12.
#[must_use]
pub fn line_source(ground: &Ground, time: f64, distance: f64, from: [f64; 2], to: [f64; 2]) -> f64 {
    const PANEL: f64 = 0.5;
    let least = (4.0 * ground.diffusivity() * time).sqrt().recip();
    let most = least.hypot(FAR / distance);
    let panels = ((most / least).ln() / PANEL).ceil().max(1.0);
    let half = 0.5 * (most / least).ln() / panels;
    let rule = gauss_legendre::<16>();
    let integrand = |ln_s: f64| {
        let s = ln_s.exp();
        let differences: f64 = double_differences(s, &from, &to).iter().sum();
        (-(distance * s).powi(2)).exp() * differences / s
    };
    let panel = |index: usize| -> f64 {
        let middle = least.ln() + half * (2 * index + 1) as f64;
        rule.iter().map(|&(x, weight)| half * weight * integrand(middle + half * x)).sum()
    };
    (0..panels as usize).map(panel).sum::<f64>() / (2.0 * (to[1] - to[0]))
}
