//! Step response of a bore field with one wall temperature, or one heat flux, for all its bores.
//!
//! Bores are finite line sources cut into segments that are finer toward both ends, below a surface of constant
//! temperature (Cimmino & Bernier 2014). The equations are solved in the Laplace domain and are exact in time. Let L be
//! the lengths of the segments and S(p) the matrix of the mean temperature drop that the heat of each segment causes at
//! each other one, times the length of the receiver. S x = L then gives the heat x per metre for a drop of 1
//! everywhere, and p x Laplace{g} = (sum of L) / (L . x).
//!
//! S is symmetric and positive definite. The heat can therefore be approximated by a few vectors across the field times
//! a few modes along the bore, with an error of second order (Galerkin), and in turn by the solutions at a few p. The
//! vectors come from a coarse form of the problem. If bores differ, or the vectors approximate poorly, the basis
//! consists of solutions in which each bore has its own profile. The gain of the last unknowns indicates the remaining
//! error. A bore that begins less than a third of its radius below the surface exchanges no heat above that depth (see
//! `below_surface`).

mod across;
mod along;
mod between;
mod coarse;
mod drops;
pub(super) mod exponential;
mod field;
mod gradients;
mod ierfc;
mod interaction;
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

pub(super) use across::orthonormal;
use field::Field;
use kernel::Nodes;
use segments::{LEAST_SLENDERNESS, SEGMENTS, edges, graded_segments};
pub(super) use spread::patterns;
pub use spread::{HeatSpread, heat_spread};
use system::System;
pub(super) use wall::with_walls;

/// Relative error that no gain reveals: from interpolation, lattices and inversion, and from parts of the solution that
/// are absent from the coarse form of the problem.
const LEAST: f64 = 1e-4;

/// Number of vectors across the field used to find the modes along the bores, and largest number of modes.
const LEADING: usize = 2;
const MODES: usize = 6;

/// Relative error above which more unknowns are used.
const TOLERANCE: f64 = 4e-4;

/// Number of equal bores above which individual profiles would need gigabytes: such fields use vectors, whatever the
/// error.
const MANY: usize = 10_000;

/// Ratio of the estimated error to the gain of the last vectors and modes.
const SAFETY: f64 = 3.0;

/// A bore, as far as it affects the ground.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LineSource {
    /// Active depth: length over which heat is exchanged (m).
    pub depth: f64,
    /// Depth of the upper end of the active length below the surface (m).
    pub buried_depth: f64,
    /// Radius of the hole (m).
    pub radius: f64,
}

impl LineSource {
    /// Relative lengths of its segments.
    fn segments(&self) -> [f64; SEGMENTS] {
        graded_segments(self.depth / self.radius)
    }

    /// Lengths of its segments (m).
    pub(super) fn segment_lengths(&self) -> [f64; SEGMENTS] {
        self.segments().map(|segment| self.depth * segment)
    }

    /// Depths of the edges of its segments (m).
    pub(super) fn edges(&self) -> Vec<f64> {
        edges([self.depth, self.buried_depth], &self.segments())
    }
}

/// Boundary condition shared by all bores of a field.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Condition {
    /// One wall temperature along every bore.
    UniformWallTemperature,
    /// The same heat per metre along every bore; the response is that of the field's mean wall temperature.
    UniformHeatFlux,
}

/// A source and its position.
#[derive(Debug, Clone, Copy)]
pub struct Placed {
    /// The bore.
    pub source: LineSource,
    /// Horizontal position (m).
    pub position: [f64; 2],
}

impl Placed {
    /// Whether the active length includes a depth (m).
    #[must_use]
    pub fn reaches(&self, depth: f64) -> bool {
        (self.source.buried_depth..=self.source.buried_depth + self.source.depth).contains(&depth)
    }
}

/// The different sources among bores, and for each bore the index of its own.
pub(super) fn kinds(bores: &[Placed]) -> (Vec<LineSource>, Vec<usize>) {
    let mut kinds: Vec<LineSource> = Vec::new();
    let mut kind = |bore: &Placed| {
        kinds.iter().position(|kind| *kind == bore.source).unwrap_or_else(|| {
            kinds.push(bore.source);
            kinds.len() - 1
        })
    };
    let of_bores = bores.iter().map(&mut kind).collect();
    (kinds, of_bores)
}

/// Meaning of the unknowns of the equations.
enum Unknowns {
    /// Vectors over the bores times modes over the segments, in columns.
    Products { across: Mat<f64>, along: Mat<f64> },
    /// The heat of each segment of each bore.
    Segments,
}

/// p x Laplace{g} of a field, where g is the drop of the wall temperature x 2 pi k / (mean heat per metre).
///
/// `sources` has one entry for all `positions` (m), or one for each. The curve covers the given times (s). It does not
/// depend on the order of the bores or the number of threads. [`LaplaceCurve::error`] is an estimate of its relative
/// error.
///
/// # Errors
/// [`Error::InvalidInput`] if a value is not physical, the numbers of sources and positions don't match, or bores
/// overlap; [`Error::Stopped`] if `token` was cancelled.
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

/// The equations of a field in a few unknowns, with the meaning of these and an estimate of the remaining relative
/// error.
///
/// Equal bores share modes along the bores and vectors across the field. If these approximate poorly, each bore has its
/// own profile.
fn equations<'a>(
    nodes: &'a Nodes,
    bores: &[Placed],
    times: &RangeInclusive<f64>,
) -> Result<(System<'a>, Unknowns, f64), Error> {
    if are_equal(bores) {
        let vectors = across::vectors(nodes, bores, times);
        let field = Field::new(nodes, bores, &bores[0].source.segments(), &vectors);
        let count = vectors.ncols();
        let modes = modes(&field, times)?;
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

fn are_equal(bores: &[Placed]) -> bool {
    bores.iter().all(|bore| bore.source == bores[0].source)
}

/// The modes along the bores of a field of equal ones.
fn modes(field: &Field<'_>, times: &RangeInclusive<f64>) -> Result<Mat<f64>, Error> {
    let coarse = System::new(field, field.depths.len().min(LEADING), None);
    along::modes(&coarse.snapshots(times)?, &field.segments, MODES)
}

/// Profiles of heat along bores, in columns over their segments: the modes of equal bores, otherwise one profile for
/// each segment.
pub(super) fn profiles_along(
    ground: &Ground,
    bores: &[Placed],
    times: &RangeInclusive<f64>,
    token: &CancelToken,
) -> Result<Mat<f64>, Error> {
    if !are_equal(bores) {
        return Ok(Mat::identity(SEGMENTS, SEGMENTS));
    }
    let nodes = Nodes::new(ground.diffusivity(), times, bores, token);
    let vectors = across::vectors(&nodes, bores, times);
    modes(&Field::new(&nodes, bores, &bores[0].source.segments(), &vectors), times)
}

/// Checks that a bore is long enough to be modelled as a line on its axis.
///
/// # Errors
/// [`Error::InvalidInput`] if its active depth is less than a fixed number of radii.
pub fn check_slender(source: &LineSource) -> Result<(), Error> {
    let least = LEAST_SLENDERNESS * source.radius;
    if source.depth >= least {
        return Ok(());
    }
    let allowed = format!(
        "must be at least {LEAST_SLENDERNESS} radii, {least:.3} m: a shorter bore can't be modelled as a line"
    );
    Err(Error::invalid("BoreField", "depth", source.depth, "m", allowed))
}

/// Smallest cover of a bore that doesn't reach the surface, relative to its radius.
const LEAST_COVER_OVER_RADIUS: f64 = 0.05;

/// Relative difference of two equal lengths that is due to unit conversion.
const ROUNDING: f64 = 1e-9;

/// Checks that a bore's upper end is at the surface or far enough below it.
///
/// # Errors
/// [`Error::InvalidInput`] if the cover is thinner than a twentieth of the radius: the heat through the cover to the
/// upper end would exceed that of the wall.
pub fn check_cover(buried_depth: f64, radius: f64) -> Result<(), Error> {
    let least = LEAST_COVER_OVER_RADIUS * radius;
    if buried_depth == 0.0 || buried_depth >= least * (1.0 - ROUNDING) {
        return Ok(());
    }
    let allowed = format!(
        "must be 0, or at least {} m, a twentieth of the radius: the heat between the upper end and the surface \
         through a thinner cover would be unbounded",
        shown(least)
    );
    Err(Error::invalid("Bore", "buried_depth", shown(buried_depth), "m", allowed))
}

/// Checks that sources are physical, match the positions and do not overlap on the surface.
pub(super) fn check_placed(
    sources: &[LineSource],
    positions: &[[f64; 2]],
    token: &CancelToken,
) -> Result<(), Error> {
    let reject =
        |field: &str, value: f64, allowed: &str| Err(Error::invalid("BoreField", field, value, "m", allowed));
    if positions.is_empty() || (sources.len() != 1 && sources.len() != positions.len()) {
        let allowed = format!("must be one, or one for each of the {} positions", positions.len());
        return Err(Error::invalid("BoreField", "bores", sources.len(), "", allowed));
    }
    for source in sources {
        for (field, value) in [("depth", source.depth), ("radius", source.radius)] {
            if !(value > 0.0 && value.is_finite()) {
                return reject(field, value, "must be a finite number above 0");
            }
        }
        if !(source.buried_depth >= 0.0 && source.buried_depth.is_finite()) {
            return reject("buried_depth", source.buried_depth, "must be a finite number from 0");
        }
        check_slender(source)?;
        check_cover(source.buried_depth, source.radius)?;
    }
    let radii: Vec<f64> = sources.iter().cycle().take(positions.len()).map(|source| source.radius).collect();
    check_apart(positions, &radii, token)
}

/// Depth below the surface, in radii, above which a bore exchanges no heat.
///
/// Where a wall of one temperature meets a surface of another, the heat would be unbounded.
const IDLE: f64 = 1.0 / 3.0;

/// Weight of the response of wall and ends in a bore's response, compared with that of a line: 1 for stubby bores and
/// those that begin less than a third of a radius below the surface, 0 for slender ones below that.
#[must_use]
pub fn wall_share(source: &LineSource) -> f64 {
    if source.buried_depth < IDLE * source.radius {
        1.0
    } else {
        segments::stubbiness(source.depth / source.radius)
    }
}

/// Relative errors used by [`wall_error`].
const STUBBY: f64 = 0.02;
const AT_SURFACE: f64 = 0.005;
const THIN_COVER: f64 = 0.15;

/// A source without its part near the surface that exchanges no heat.
pub(super) fn below_surface(source: LineSource) -> LineSource {
    let idle = (IDLE * source.radius - source.buried_depth).max(0.0);
    LineSource { depth: source.depth - idle, buried_depth: source.buried_depth + idle, ..source }
}

/// Ratio of the total active depth of sources at some number of positions to the part that exchanges heat.
pub(super) fn share_of_depth(sources: &[LineSource], positions: usize) -> f64 {
    let sum = |depth: &dyn Fn(&LineSource) -> f64| -> f64 {
        sources.iter().cycle().take(positions).map(depth).sum()
    };
    sum(&|source| source.depth) / sum(&|source| below_surface(*source).depth)
}

/// Estimated relative error of a field due to the stubbiest of its bores, in addition to that of the equations: the
/// difference between wall and ends and a line is that of a single bore.
///
/// After ten days, single bores of 2 to 30 m and 0.1 to 1.2 m diameter are within 1 % of axisymmetric finite volumes;
/// fields of them are within 2 % of rings of heat on all walls and ends, or 2.5 % where they reach the surface. An
/// upper end with a cover of less than a third of a radius exchanges heat along its rim, which the rings represent less
/// accurately.
///
/// Stubby bores closer than four radii affect each other's walls more than this: the error is up to three times as
/// large where they touch. There, in the first day, the response with one wall temperature was found up to 5 % above
/// that with uniform heat, which is impossible.
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

/// Sources with their positions, sorted by position so that their order on input has no effect.
pub(super) fn placed(
    sources: &[LineSource],
    positions: &[[f64; 2]],
    token: &CancelToken,
) -> Result<Vec<Placed>, Error> {
    check_placed(sources, positions, token)?;
    let source_of = |bore: usize| if sources.len() == 1 { sources[0] } else { sources[bore] };
    let mut bores: Vec<Placed> = positions
        .iter()
        .enumerate()
        .map(|(bore, &position)| Placed { source: below_surface(source_of(bore)), position })
        .collect();
    let by_position = |a: &Placed, b: &Placed| {
        a.position[0].total_cmp(&b.position[0]).then(a.position[1].total_cmp(&b.position[1]))
    };
    bores.sort_by(by_position);
    Ok(bores)
}

/// The error for equations without a solution.
pub(super) fn unsolved() -> Error {
    let allowed = "must leave room between the bores: they are too close to solve for the wall temperature";
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
