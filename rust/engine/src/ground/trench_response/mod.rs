//! Step response of pipes in trenches that share one fluid.
//!
//! Identical trenches lie side by side below a surface of constant temperature, each with a few heat sources. All pipes
//! are in parallel and therefore share the mean fluid temperature, not the wall temperature: the resistance of each
//! pipe affects the distribution of the heat. In the Laplace domain, with the drop h_ij(p) at source i per unit of heat
//! per metre of source j and rho = 2 pi k x resistance of a metre of pipe,
//!
//! ```text
//! (h + rho) x = 1,    p x Laplace{g} = n / (sum of x) - rho
//! ```
//!
//! is the drop of the fluid for a mean of one unit per metre minus the resistance, i.e. the drop of the mean wall
//! temperature of the pipes. Heat is uniform along each source (cf. Fontaine et al. 2011, Lamarche 2019).

mod lines;
mod no_load;
mod rings;

use std::f64::consts::TAU;
use std::ops::RangeInclusive;

use faer::linalg::solvers::{Llt, Solve};
use faer::{Mat, Side};
use rayon::prelude::*;

use super::field_response::kernel::{Nodes, STEP};
use super::gauss::gauss_legendre;
use super::{Ground, LaplaceCurve};
use crate::cancel_token::CancelToken;
use crate::error::Error;

pub use lines::Lines;
pub use no_load::no_load_weights;
pub use rings::{Orientation, Rings};

/// Relative error of the inversion, the only approximation of this response.
const ERROR: f64 = 2e-5;

/// The heat sources in one trench.
pub trait Sources: Sync {
    /// Number of sources with independent heat.
    fn count(&self) -> usize;

    /// Radius of the pipe (m), the shortest distance at which the ground is evaluated.
    fn radius(&self) -> f64;

    /// Effect of one source on another, for each possible distance `across` (m) between their trenches, including the
    /// mirror image: h is the integral over ln s of exp(-p / (4 a s^2)) x this; s in 1/m.
    fn between(&self, s: f64, across: &[f64], from: usize, to: usize) -> Vec<f64>;
}

/// p x Laplace{g} of the pipes' mean wall temperature, for `trenches` trenches a `spacing` (m) apart.
///
/// g is the drop x 2 pi k / (mean heat per metre of pipe). `resistance` is that of fluid, film and wall of one metre of
/// pipe (m K/W). The curve covers the given times (s).
///
/// # Errors
/// [`Error::InvalidInput`] if pipes are too close for the equations to be solved.
pub fn trench_response(
    ground: &Ground,
    sources: &dyn Sources,
    [trenches, spacing]: [f64; 2],
    resistance: f64,
    times: &RangeInclusive<f64>,
) -> Result<LaplaceCurve, Error> {
    let (count, trenches) = (sources.count(), trenches as usize);
    let nodes = Nodes::down_to(sources.radius(), ground.diffusivity(), times, &CancelToken::default());
    // Trenches are identical, so only the distance between two of them matters.
    let across: Vec<f64> = (0..trenches).map(|apart| apart as f64 * spacing).collect();
    let place = |apart: usize, from: usize, to: usize| (from * count + to) * trenches + apart;
    let at_node = |&s: &f64| -> Vec<f64> {
        let pairs = (0..count).flat_map(|from| (0..count).map(move |to| (from, to)));
        let values = pairs.flat_map(|(from, to)| sources.between(s, &across, from, to));
        values.map(|value| STEP * value).collect()
    };
    let columns: Vec<Vec<f64>> = nodes.s().par_iter().map(at_node).collect();
    let at_nodes = Mat::from_fn(trenches * count * count, columns.len(), |row, node| columns[node][row]);
    let points = LaplaceCurve::sample_points(times);
    let sums = at_nodes * nodes.decay(&points);

    let own = TAU * ground.conductivity * resistance;
    let size = trenches * count;
    let solve = |point: usize| {
        let matrix = Mat::from_fn(size, size, |row, column| {
            let (low, high) = (row.min(column), row.max(column));
            let apart = high / count - low / count;
            let drop = sums[(place(apart, low % count, high % count), point)];
            if row == column { drop + own } else { drop }
        });
        let factors = Llt::new(matrix.as_ref(), Side::Lower).map_err(|_| {
            let allowed =
                "must leave room between the pipes: they are too close to solve for the fluid temperature";
            Error::invalid("TrenchField", "pipes", "as given", "", allowed)
        })?;
        let heat = factors.solve(Mat::<f64>::full(size, 1, 1.0));
        let sum: f64 = (0..size).map(|source| heat[(source, 0)]).sum();
        Ok(size as f64 / sum - own)
    };
    let samples = (0..points.len()).into_par_iter().map(solve).collect::<Result<Vec<_>, Error>>()?;
    Ok(LaplaceCurve::from_samples(times, &samples).with_error(ERROR))
}

/// Drop at one source for a unit of heat per metre of another `across` (m) from it, at a time (s) after the heat began:
/// h itself.
///
/// The integral over ln s from 1 / sqrt(4 a t), by Gauss-Legendre panels to about 1e-12.
#[must_use]
pub fn response_in_time(
    ground: &Ground,
    sources: &dyn Sources,
    time: f64,
    across: f64,
    [from, to]: [usize; 2],
) -> f64 {
    const PANEL: f64 = 0.5;
    const FAR: f64 = 6.1;
    let least = (4.0 * ground.diffusivity() * time).sqrt().recip();
    let most = least.hypot(FAR / sources.radius());
    let panels = ((most / least).ln() / PANEL).ceil().max(1.0);
    let half = 0.5 * (most / least).ln() / panels;
    let rule = gauss_legendre::<16>();
    let panel = |index: usize| -> f64 {
        let middle = least.ln() + half * (2 * index + 1) as f64;
        let at = |ln_s: f64| sources.between(ln_s.exp(), &[across], from, to)[0];
        rule.iter().map(|&(x, weight)| half * weight * at(middle + half * x)).sum()
    };
    (0..panels as usize).map(panel).sum()
}

#[cfg(test)]
mod tests;
