//! Past heat weighted by a kernel that is smooth in the logarithm of the elapsed time.

use crate::ground::gauss::{gauss_legendre, legendre_polynomials};

/// Largest width of a panel in ln s, and its nodes.
const PANEL: f64 = 0.7;
const NODES: usize = 8;

/// A node s (1/m) of the kernel with the heat assigned to it, for each of several series.
pub struct SeriesNode {
    pub s: f64,
    pub heat: Vec<f64>,
}

/// Nodes such that the integral of K(s) x heat(lag = 1 / (4 a s^2)) over ln s, up to `most`, is the sum of K x heat
/// over them.
///
/// Heat is piecewise constant between the `lags` (s), which rise from 0; `heat` has a list over the pieces for each
/// series. Only K is interpolated, with a polynomial through the Gauss points of each panel, and its product with the
/// heat is integrated exactly (product integration: Atkinson 1997, The numerical solution of integral equations of the
/// second kind, section 4.2; from memory), so jumps of the heat inside a panel cause no error. Heat that drifts with
/// c (1/m; see [`Snapshot`](super::Snapshot)) passes a place while ln s changes by s / c: panels are no wider.
pub fn nodes(diffusivity: f64, drift: f64, most: f64, lags: &[f64], heat: &[Vec<f64>]) -> Vec<SeriesNode> {
    let top = most.ln();
    // Depths below `top` in ln s.
    let depth = |lag: f64| (top + 0.5 * (4.0 * diffusivity * lag).ln()).max(0.0);
    let panels = panels(top, drift, lags.last().map_or(0.0, |&lag| depth(lag)));
    let mut moments = vec![[0.0; NODES]; panels.len() * heat.len()];
    let (mut from, mut place) = (0.0, 0);
    for (piece, &lag) in lags.iter().skip(1).enumerate() {
        let to = depth(lag);
        while from < to {
            let panel = &panels[place];
            let end = to.min(panel.end());
            let (newer, older) = (integrals(panel.within(from)), integrals(panel.within(end)));
            let felt: [f64; NODES] = std::array::from_fn(|order| newer[order] - older[order]);
            for (moments, heat) in moments[place * heat.len()..].iter_mut().zip(heat) {
                moments.iter_mut().zip(&felt).for_each(|(moment, felt)| *moment += heat[piece] * felt);
            }
            from = end;
            place += usize::from(end == panel.end());
        }
    }
    let rule = gauss_legendre::<NODES>();
    let node = |place: usize, (x, weight): (f64, f64)| {
        let polynomials = legendre::<NODES>(x);
        let Panel { start, width } = panels[place];
        let felt = |moments: &[f64; NODES]| -> f64 {
            let terms = moments.iter().zip(&polynomials).enumerate();
            let sum: f64 = terms.map(|(n, (moment, value))| (n as f64 + 0.5) * moment * value).sum();
            0.5 * width * weight * sum
        };
        SeriesNode {
            s: (top - (start + width * 0.5 * (1.0 - x))).exp(),
            heat: moments[place * heat.len()..].iter().take(heat.len()).map(felt).collect(),
        }
    };
    (0..panels.len())
        .flat_map(|place| rule.iter().map(move |&point| (place, point)))
        .map(|(place, point)| node(place, point))
        .collect()
}

/// An interval of depths below the largest ln s.
struct Panel {
    start: f64,
    width: f64,
}

impl Panel {
    fn end(&self) -> f64 {
        self.start + self.width
    }

    /// Coordinate of a depth on [-1, 1]; ln s increases with it.
    fn within(&self, depth: f64) -> f64 {
        1.0 - 2.0 * (depth - self.start) / self.width
    }
}

/// Panels from `top` down to a depth.
fn panels(top: f64, drift: f64, depth: f64) -> Vec<Panel> {
    let mut panels: Vec<Panel> = Vec::new();
    let mut start = 0.0;
    while start < depth {
        let width = PANEL * ((top - start).exp() / drift).min(1.0);
        panels.push(Panel { start, width });
        start += width;
    }
    panels
}

/// Legendre polynomials of degree 0, 1, ...
fn legendre<const N: usize>(x: f64) -> [f64; N] {
    let mut next = legendre_polynomials(x);
    std::array::from_fn(|_| next())
}

/// Their integrals: (P_(n+1) - P_(n-1)) / (2 n + 1), and x for n = 0.
fn integrals(x: f64) -> [f64; NODES] {
    let values = legendre::<{ NODES + 1 }>(x);
    std::array::from_fn(|n| if n == 0 { x } else { (values[n + 1] - values[n - 1]) / (2 * n + 1) as f64 })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Cross-method: Gauss-Legendre quadrature piece by piece, for irregular heat.
    #[test]
    fn jumps_in_the_heat_cause_no_error() {
        let (diffusivity, most) = (1e-6, 80.0_f64);
        let lags: Vec<f64> = (0..=3000).map(|hour| 3600.0 * f64::from(hour)).collect();
        let heat: Vec<f64> = (0..3000).map(|hour: i32| f64::from(hour * hour % 101) - 40.0).collect();
        let found = nodes(diffusivity, 0.0, most, &lags, std::slice::from_ref(&heat));
        for r in [0.075, 0.4, 3.0] {
            let kernel = |s: f64| (-(r * s).powi(2)).exp() * libm::erf(2.0 * s);
            let sum: f64 = found.iter().map(|node| kernel(node.s) * node.heat[0]).sum();
            let ln_s = |lag: f64| (4.0 * diffusivity * lag).sqrt().recip().min(most).ln();
            let piece = |(hour, heat): (usize, &f64)| -> f64 {
                let (low, high) = (ln_s(lags[hour + 1]), ln_s(lags[hour].max(1e-9)));
                let parts = if hour < 3 { 40 } else { 1 };
                let width = (high - low) / f64::from(parts);
                let part = |part: i32| -> f64 {
                    let middle = low + (f64::from(part) + 0.5) * width;
                    let rule = gauss_legendre::<16>();
                    rule.iter().map(|(x, w)| w * kernel((middle + 0.5 * width * x).exp())).sum::<f64>()
                        * 0.5
                        * width
                };
                heat * (0..parts).map(part).sum::<f64>()
            };
            let exact: f64 = heat.iter().enumerate().map(piece).sum();
            let scale: f64 = heat.iter().map(|heat| heat.abs()).fold(0.0, f64::max);
            assert!((sum - exact).abs() < 1e-6 * scale, "{r}: {sum} {exact}");
        }
    }
}
