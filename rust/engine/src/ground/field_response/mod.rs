//! Step response of a bore field with one wall temperature, or one heat flux, for all its bores.
//!
//! Bores are finite line sources cut into segments that are finer toward both ends, below a surface of constant
//! temperature (Cimmino & Bernier 2014). The equations are solved in the Laplace domain, exact in time:
//! with S(p) the matrix of the mean temperature drops from segment to segment, times the receiver's length,
//! S x = L gives the heat x per metre for a drop of 1 everywhere, and p x Laplace{g} = (sum of L) / (L . x).
//!
//! S is symmetric and positive definite, so that the heat may be sought among a few vectors across the field times
//! a few modes along the bore, with an error of second order (Galerkin); and again, among the solutions for a few p.
//! A bore that begins less than a third of its radius below the surface gives no heat down to there ([`below_surface`]).
//! The vectors come from a crude form of the problem. Where bores differ, or the vectors serve badly, the heat is sought among
//! solutions instead, in which each bore has a profile of its own. What the last unknowns gain tells what is still missing.

mod across;
mod along;
pub(super) mod bell;
mod between;
mod crude;
mod drops;
mod field;
mod gradients;
mod ierfc;
mod interplay;
pub(super) mod kernel;
mod lattice;
mod layers;
mod own;
mod pair_sums;
mod period;
mod profiles;
pub(super) mod segments;
mod sines;
mod split;
mod spread;
mod system;
mod wall;
mod window;

use std::ops::RangeInclusive;

use faer::Mat;

use crate::cancel_token::{CancelToken, cancellable};
use crate::error::{Error, shown};
use crate::ground::spacing::{check_apart, closest};
use crate::ground::{Ground, LaplaceCurve};

use field::Field;
use kernel::Nodes;
use segments::{LEAST_SLENDERNESS, SEGMENTS, edges, graded_segments};
pub use spread::{HeatSpread, heat_spread};
use system::System;
pub(super) use wall::with_walls;

/// Relative error that no gain tells of: of interpolation, lattices and inversion, and of what the crude form of the
/// problem, which the vectors come from, never shows.
const LEAST: f64 = 1e-4;

/// Vectors across the field that the modes along its bores are looked for with, and modes at most.
const LEADING: usize = 2;
const MODES: usize = 6;

/// Relative error above which more unknowns are looked for.
const TOLERANCE: f64 = 4e-4;

/// Equal bores beyond which profiles of their own would take gigabytes: there, vectors serve whatever their error.
const MANY: usize = 10_000;

/// Relative error over what the last vectors and modes gain.
const SAFETY: f64 = 3.0;

/// A bore as the ground sees it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LineSource {
    /// Active depth: length over which heat is exchanged [m].
    pub depth: f64,
    /// Depth of the upper end of the active length below the surface [m].
    pub buried_depth: f64,
    /// Radius of the hole [m].
    pub radius: f64,
}

impl LineSource {
    /// Relative lengths of its segments.
    fn segments(&self) -> [f64; SEGMENTS] {
        graded_segments(self.depth / self.radius)
    }

    /// Depths of the edges of its segments [m].
    pub(super) fn edges(&self) -> Vec<f64> {
        edges([self.depth, self.buried_depth], &self.segments())
    }
}

/// What all bores of a field have in common.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Condition {
    /// One temperature of the wall, along every bore.
    UniformWallTemperature,
    /// One heat per metre, along every bore; the response is the mean of the wall temperature over the field.
    UniformHeatFlux,
}

/// A source and where it stands [m].
#[derive(Debug, Clone, Copy)]
pub struct Placed {
    /// The bore.
    pub source: LineSource,
    /// Where it stands [m].
    pub position: [f64; 2],
}

impl Placed {
    /// Whether the active length passes a depth [m].
    #[must_use]
    pub fn reaches(&self, depth: f64) -> bool {
        (self.source.buried_depth..=self.source.buried_depth + self.source.depth).contains(&depth)
    }
}

/// What the unknowns of the equations stand for.
enum Unknowns {
    /// Vectors over the bores times modes over the segments, in columns.
    Products { across: Mat<f64>, along: Mat<f64> },
    /// The heat of each segment of each bore.
    Segments,
}

/// p x Laplace{g} of a field, where g is the drop of the wall temperature x 2 pi k / (mean heat per metre).
///
/// `sources` has one entry for all `positions` [m], or one for each. The curve serves the given times [s]. The order
/// of the bores makes no difference, and neither does the number of threads. How far it may be off is told by
/// [`LaplaceCurve::error`].
///
/// # Errors
/// [`Error::InvalidInput`] if a value is not physical, the numbers of sources and positions do not go together, or
/// bores overlap; [`Error::Stopped`] if `token` says so.
pub fn field_response(
    ground: &Ground,
    sources: &[LineSource],
    positions: &[[f64; 2]],
    times: &RangeInclusive<f64>,
    condition: Condition,
    token: &CancelToken,
) -> Result<LaplaceCurve, Error> {
    cancellable(|| solved(ground, sources, positions, times, condition, token))
}

fn solved(
    ground: &Ground,
    sources: &[LineSource],
    positions: &[[f64; 2]],
    times: &RangeInclusive<f64>,
    condition: Condition,
    token: &CancelToken,
) -> Result<LaplaceCurve, Error> {
    ground.validate()?;
    check_times(times)?;
    let bores = placed(sources, positions, token)?;
    let nodes = Nodes::new(ground.diffusivity(), times, &bores, token);
    let points = LaplaceCurve::sample_points(times);
    let mut error = LEAST + wall_error(sources, positions);
    let samples = match condition {
        Condition::UniformHeatFlux => profiles::among_ones(&nodes, &bores)?.drops_at_uniform_heat(&points),
        Condition::UniformWallTemperature => {
            let (system, _, gain) = equations(&nodes, &bores, times)?;
            error += gain;
            system.drops_at_uniform_wall(&points)?
        }
    };
    let deeper = share_of_depth(sources, positions.len());
    let lines = samples.into_iter().map(|sample| deeper * sample).collect();
    let samples = with_walls(lines, ground.diffusivity(), sources, times, condition, token)?;
    if !samples.iter().all(|sample| sample.is_finite()) {
        return Err(unsolved());
    }
    Ok(LaplaceCurve::from_samples(times, &samples).with_error(error))
}

/// The equations of a field in a few unknowns, with what these stand for and an estimate of the relative error that is left.
///
/// Equal bores share modes along them, and vectors across the field. Where these don't serve, each bore has a profile
/// of its own.
fn equations<'a>(
    nodes: &'a Nodes,
    bores: &[Placed],
    times: &RangeInclusive<f64>,
) -> Result<(System<'a>, Unknowns, f64), Error> {
    if bores.iter().all(|bore| bore.source == bores[0].source) {
        let segments = bores[0].source.segments();
        let vectors = across::vectors(nodes, bores, times);
        let field = Field::new(nodes, bores, &segments, &vectors);
        let count = vectors.ncols();
        let crude = System::new(&field, count.min(LEADING), None);
        let modes = along::modes(&crude.snapshots(times)?, &segments, MODES)?;
        let system = System::new(&field, count, Some(&modes));
        let (width, last) = (modes.ncols(), count.saturating_sub(2).max(1));
        let error = SAFETY * system.gain(|at| at / width >= last || at % width + 1 == width, times)?;
        if error < TOLERANCE || bores.len() > MANY {
            return Ok((system.reduced(times)?, Unknowns::Products { across: vectors, along: modes }, error));
        }
    }
    let (system, error) = profiles::equations(nodes, bores, times)?;
    Ok((system, Unknowns::Segments, error))
}

/// Checks that a bore is long enough for a line on its axis to stand for it.
///
/// # Errors
/// [`Error::InvalidInput`] if its active depth is of fewer radii than [`LEAST_SLENDERNESS`].
pub fn check_slender(source: &LineSource) -> Result<(), Error> {
    let least = LEAST_SLENDERNESS * source.radius;
    if source.depth >= least {
        return Ok(());
    }
    let allowed =
        format!("must be at least {LEAST_SLENDERNESS} radii, {least:.3} m: a shorter bore is no line");
    Err(Error::invalid("BoreField", "depth", source.depth, "m", allowed))
}

/// Least cover of a bore that doesn't reach the surface, over its radius.
const LEAST_COVER_OVER_RADIUS: f64 = 0.05;

/// Relative difference of lengths that are equal but for the conversion of their units.
const ROUNDING: f64 = 1e-9;

/// Checks that a bore's upper end is at the surface or far enough below it.
///
/// # Errors
/// [`Error::InvalidInput`] if the ground above it is thinner than a twentieth of the radius: the heat that such an end
/// draws through it would outweigh that of the wall.
pub fn check_cover(buried_depth: f64, radius: f64) -> Result<(), Error> {
    let least = LEAST_COVER_OVER_RADIUS * radius;
    if buried_depth == 0.0 || buried_depth >= least * (1.0 - ROUNDING) {
        return Ok(());
    }
    let allowed = format!(
        "must be 0, or at least {} m, a twentieth of the radius: through a thinner cover the upper end would exchange \
         heat with the surface without bound",
        shown(least)
    );
    Err(Error::invalid("Bore", "buried_depth", shown(buried_depth), "m", allowed))
}

/// Checks that sources are physical, go with their positions and do not overlap on the surface.
pub(super) fn check_placed(
    sources: &[LineSource],
    positions: &[[f64; 2]],
    token: &CancelToken,
) -> Result<(), Error> {
    let refuse =
        |field: &str, value: f64, allowed: &str| Err(Error::invalid("BoreField", field, value, "m", allowed));
    if positions.is_empty() || (sources.len() != 1 && sources.len() != positions.len()) {
        let allowed = format!("must be one, or one for each of the {} positions", positions.len());
        return Err(Error::invalid("BoreField", "bores", sources.len(), "", allowed));
    }
    for source in sources {
        for (field, value) in [("depth", source.depth), ("radius", source.radius)] {
            if !(value > 0.0 && value.is_finite()) {
                return refuse(field, value, "must be a finite number above 0");
            }
        }
        if !(source.buried_depth >= 0.0 && source.buried_depth.is_finite()) {
            return refuse("buried_depth", source.buried_depth, "must be a finite number from 0");
        }
        check_slender(source)?;
        check_cover(source.buried_depth, source.radius)?;
    }
    let radii: Vec<f64> = sources.iter().cycle().take(positions.len()).map(|source| source.radius).collect();
    check_apart(positions, &radii, token)
}

/// Radii below the surface above which a bore gives no heat.
///
/// A wall of one temperature that meets a surface of another would draw heat without bound.
const IDLE: f64 = 1.0 / 3.0;

/// How much of a bore's response is that of its wall and ends instead of a line: all for stubby bores and for those that begin less
/// than a third of a radius below the surface, nothing for slender ones below it.
#[must_use]
pub fn wall_share(source: &LineSource) -> f64 {
    if source.buried_depth < IDLE * source.radius {
        1.0
    } else {
        segments::stubbiness(source.depth / source.radius)
    }
}

/// See [`wall_error`].
const STUBBY: f64 = 0.02;
const AT_SURFACE: f64 = 0.005;
const THIN_COVER: f64 = 0.15;

/// A source without the stretch below the surface in which it gives no heat.
pub(super) fn below_surface(source: LineSource) -> LineSource {
    let idle = (IDLE * source.radius - source.buried_depth).max(0.0);
    LineSource { depth: source.depth - idle, buried_depth: source.buried_depth + idle, ..source }
}

/// Active depth of sources at some number of positions over that which gives heat.
pub(super) fn share_of_depth(sources: &[LineSource], positions: usize) -> f64 {
    let sum = |depth: &dyn Fn(&LineSource) -> f64| -> f64 {
        sources.iter().cycle().take(positions).map(depth).sum()
    };
    sum(&|source| source.depth) / sum(&|source| below_surface(*source).depth)
}

/// Relative error that is estimated for the stubbiest of some bores, besides that of the equations: what its wall and ends differ
/// from a line by is that of a bore alone.
///
/// From ten days on, single bores of 2 to 30 m and 0.1 to 1.2 m width are within 1 % of finite volumes around the axis; fields of them
/// are within 2 % of rings of heat on all walls and ends, or 2.5 % where they reach the surface. An upper
/// end that is covered by less than a third of a radius draws heat along its rim that the rings don't follow so well.
///
/// Stubby bores that stand closer than four radii take on more of each other's walls than that: up to three times as much where they
/// touch, where in the first day one temperature has been seen to come out 5 % above the same heat everywhere, which it can't be.
pub(super) fn wall_error(sources: &[LineSource], positions: &[[f64; 2]]) -> f64 {
    let error = |source: &LineSource| {
        let stubbiness = segments::stubbiness(source.depth / source.radius);
        let cover = source.buried_depth / (IDLE * source.radius);
        let at_surface = if cover < 1.0 { AT_SURFACE + STUBBY * stubbiness } else { 0.0 };
        let thinly_covered =
            if cover > 0.0 { THIN_COVER * (1.0 - cover).max(0.0) * stubbiness.max(THIN_COVER) } else { 0.0 };
        STUBBY * stubbiness + at_surface + thinly_covered
    };
    let alone = sources.iter().map(error).fold(0.0, f64::max);
    if alone == 0.0 {
        return 0.0;
    }
    let radius = sources.iter().map(|source| source.radius).fold(0.0, f64::max);
    let apart = closest(positions) / radius;
    alone * (1.0 + (4.0 - apart).clamp(0.0, 2.0))
}

/// Sources with their places, sorted by place so that their order on input can't matter.
fn placed(sources: &[LineSource], positions: &[[f64; 2]], token: &CancelToken) -> Result<Vec<Placed>, Error> {
    check_placed(sources, positions, token)?;
    let source_of = |bore: usize| if sources.len() == 1 { sources[0] } else { sources[bore] };
    let mut bores: Vec<Placed> = positions
        .iter()
        .enumerate()
        .map(|(bore, &position)| Placed { source: below_surface(source_of(bore)), position })
        .collect();
    let by_place = |a: &Placed, b: &Placed| {
        a.position[0].total_cmp(&b.position[0]).then(a.position[1].total_cmp(&b.position[1]))
    };
    bores.sort_by(by_place);
    Ok(bores)
}

/// That the equations have no solution.
pub(super) fn unsolved() -> Error {
    let allowed = "must let the equations of the wall temperature be solved: bores stand too close";
    Error::invalid("BoreField", "positions", "as given", "", allowed)
}

pub(super) fn check_times(times: &RangeInclusive<f64>) -> Result<(), Error> {
    let (first, last) = (*times.start(), *times.end());
    if first > 0.0 && first <= last && last.is_finite() {
        return Ok(());
    }
    let value = format!("{first} to {last}");
    Err(Error::invalid("g-function", "times", value, "s", "must be finite, above 0 and in rising order"))
}

#[cfg(test)]
mod tests;
