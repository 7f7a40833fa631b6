//! Step response of a field of vertical bores in ground through which water flows.
//!
//! Bores, segments, surface and equations are those of `field_response`: S(p) x = L gives the heat x per metre for a
//! drop of 1 everywhere, and p x Laplace{g} = (sum of L) / (L . x). Water carries the heat along at the thermal velocity
//! U while it spreads. In the sum over nodes s a node stands for heat of age 1 / (4 a s^2), which has moved by
//! U / (4 a s^2), so only the factor of the horizontal distance r from source to receiver changes:
//!
//! ```text
//! exp(-|s r - U / (4 a s)|^2)
//! ```
//!
//! (finite moving line sources with mirror images: Carslaw & Jaeger 1959, section 10.7; Molina-Giraldo et al. 2011;
//! both from memory). Thermal dispersion is left out. S is no longer symmetric: bores upstream affect those downstream
//! far more than the reverse.
//!
//! The heat is a combination of the solutions at a few p, and the equations are weighted with the solutions of the
//! transposed equations, so the error of p x Laplace{g} is the product of both errors (Petrov-Galerkin). Fronts of
//! heat between bores are too steep for Stehfest's inversion, which misses the response by up to 1 %: it is corrected
//! by Euler's.

mod equations;
mod euler;
mod reduced;

use std::ops::RangeInclusive;

use faer::{Mat, c64};

use super::field_response::{
    check_times, kinds, patterns, placed, profiles_along, share_of_depth, wall_error, with_walls,
};
use super::{Condition, Ground, HeatSpread, LaplaceCurve, Lean, LineSource};
use crate::cancel_token::{CancelToken, cancellable};
use crate::error::Error;

use equations::Equations;
use euler::step_response;
use reduced::Reduced;

/// Relative error of quadrature, inversion and the solutions between those at a few p.
const ERROR: f64 = 3e-4;

/// Most unknowns of the equations that are solved directly.
const MOST_UNKNOWNS: usize = 1500;

/// p x Laplace{g} of a field of vertical bores in moving ground, where g is the drop of the wall temperature x 2 pi k /
/// (mean heat per metre), with one wall temperature along all bores. The curve's step response is corrected for steep
/// fronts.
///
/// `drift` is the velocity at which heat is carried along, to the east and to the north (m/s), not zero. `sources` has
/// one entry for all `positions` (m), or one for each. The curve covers the given times (s).
///
/// # Errors
/// [`Error::InvalidInput`] if a value is not physical, bores overlap or are inclined, or are too many for a direct
/// solution; [`Error::Stopped`] if `token` was cancelled.
pub fn moving_response(
    ground: &Ground,
    drift: [f64; 2],
    sources: &[LineSource],
    positions: &[[f64; 2]],
    leans: &[Lean],
    times: &RangeInclusive<f64>,
    token: &CancelToken,
) -> Result<LaplaceCurve, Error> {
    if !leans.iter().all(Lean::is_vertical) {
        let allowed = "must be 0 for inclined bores: groundwater is supported for vertical ones";
        return Err(Error::invalid("Ground", "darcy_flux", "above 0", "m/s", allowed));
    }
    cancellable(|| Moving::new(ground, drift, sources, positions, times, token)?.response())
}

/// The distribution of the heat of such a field over its bores and their segments; arguments as for
/// [`moving_response`].
///
/// # Errors
/// Those of [`moving_response`].
pub fn moving_heat_spread(
    ground: &Ground,
    drift: [f64; 2],
    sources: &[LineSource],
    positions: &[[f64; 2]],
    times: &RangeInclusive<f64>,
    token: &CancelToken,
) -> Result<HeatSpread, Error> {
    cancellable(|| Moving::new(ground, drift, sources, positions, times, token)?.spread())
}

/// A field whose equations are solved.
struct Moving<'a> {
    diffusivity: f64,
    sources: &'a [LineSource],
    positions: &'a [[f64; 2]],
    times: &'a RangeInclusive<f64>,
    token: &'a CancelToken,
    /// Profiles of heat along each bore, in columns over its segments.
    profiles: Mat<f64>,
    equations: Equations,
    reduced: Reduced,
}

impl<'a> Moving<'a> {
    fn new(
        ground: &Ground,
        drift: [f64; 2],
        sources: &'a [LineSource],
        positions: &'a [[f64; 2]],
        times: &'a RangeInclusive<f64>,
        token: &'a CancelToken,
    ) -> Result<Self, Error> {
        ground.validate()?;
        check_times(times)?;
        let bores = placed(sources, positions, token)?;
        let profiles = profiles_along(ground, &bores, times, token)?;
        let unknowns = bores.len() * profiles.ncols();
        if unknowns > MOST_UNKNOWNS {
            let most = MOST_UNKNOWNS / profiles.ncols();
            let allowed = format!("must be at most {most} with groundwater flow, if all are like these");
            return Err(Error::invalid("BoreField", "positions", positions.len(), "bores", allowed));
        }
        let equations = Equations::new(ground, drift, bores, &profiles, times, token);
        let reduced = equations.among_solutions(times)?;
        let diffusivity = ground.diffusivity();
        Ok(Self { diffusivity, sources, positions, times, token, profiles, equations, reduced })
    }

    /// p x Laplace{g}.
    fn response(&self) -> Result<LaplaceCurve, Error> {
        let Self { sources, positions, times, reduced, .. } = self;
        let deeper = share_of_depth(sources, positions.len());
        let lines: Vec<f64> =
            LaplaceCurve::sample_points(times).into_iter().map(|p| deeper * reduced.drop(p)).collect();
        let exact = |time: f64| deeper * step_response(|p| reduced.complex_drop(p), time);
        let line = LaplaceCurve::from_samples(times, &lines).corrected(times, exact);
        let condition = Condition::UniformWallTemperature;
        let samples = with_walls(lines.clone(), self.diffusivity, sources, times, condition, self.token)?;
        let wall_over_line: Vec<f64> = samples.iter().zip(&lines).map(|(wall, line)| wall - line).collect();
        let error = ERROR + wall_error(sources, positions);
        Ok(line.plus(&LaplaceCurve::from_samples(times, &wall_over_line)).with_error(error))
    }

    /// Patterns of heat and the amount of each.
    fn spread(self) -> Result<HeatSpread, Error> {
        let response = self.response()?;
        let Self { times, profiles, equations, reduced, .. } = self;
        let points = LaplaceCurve::sample_points(times);
        let width = profiles.ncols();
        let (patterns, curves) = patterns(&equations.shares(&points), width, &points, times)?;
        let pairs = curves.into_iter().zip(&patterns[1..]);
        let curves =
            pairs.map(|(curve, pattern)| steepened(curve, pattern, &reduced, &points, times)).collect();
        let (different, kinds) = kinds(&equations.bores);
        Ok(HeatSpread {
            kinds,
            edges: different.iter().map(LineSource::edges).collect(),
            across: Mat::identity(equations.bores.len(), equations.bores.len()),
            along: profiles,
            bores: equations.bores,
            patterns,
            curves,
            response,
        })
    }
}

/// The curve of a pattern's amount, corrected for fronts of heat between bores by the difference that the reduced
/// equations show; a constant part of the amount has no effect on it.
fn steepened(
    curve: LaplaceCurve,
    pattern: &Mat<f64>,
    reduced: &Reduced,
    points: &[f64],
    times: &RangeInclusive<f64>,
) -> LaplaceCurve {
    // Over all profiles of all bores; its length is 1.
    let along = Mat::from_fn(1, pattern.nrows() * pattern.ncols(), |_, at| {
        pattern[(at % pattern.nrows(), at / pattern.nrows())]
    });
    let of_solutions = along * &reduced.heat;
    let amount = |p: c64| -> c64 {
        let amounts = reduced.amounts(p);
        (0..amounts.nrows()).map(|row| amounts[(row, 0)] * of_solutions[(0, row)]).sum()
    };
    let samples: Vec<f64> = points.iter().map(|&p| amount(c64::new(p, 0.0)).re).collect();
    let smooth = LaplaceCurve::from_samples(times, &samples);
    let known = curve.clone();
    curve.corrected(times, |time| {
        known.step_response(time) + step_response(amount, time) - smooth.step_response(time)
    })
}

#[cfg(test)]
mod tests;
