//! Step response of a bore field with one wall temperature, or one heat flux, for all its bores.
//!
//! Bores are finite line sources cut into segments that are finer toward both ends, below a surface of constant
//! temperature (Cimmino & Bernier 2014). The equations are solved in the Laplace domain, exact in time:
//! with S(p) the matrix of the mean temperature drops from segment to segment, times the receiver's length,
//! S x = L gives the heat x per metre for a drop of 1 everywhere, and p x Laplace{g} = (sum of L) / (L . x).
//!
//! S is symmetric and positive definite, so that the heat may be sought among a few vectors across the field times
//! a few modes along the bore, with an error of second order (Galerkin); and again, among the solutions for a few p.
//! The vectors come from a crude form of the problem. Few bores of unequal depth, or such as the vectors serve badly,
//! are looked at one by one. What the last vectors and modes gain tells what is still missing.

mod across;
mod along;
mod bell;
mod crude;
mod field;
mod ierfc;
pub(super) mod kernel;
mod lattice;
mod pair_sums;
mod period;
mod shapes;
mod split;
mod spread;
mod system;
mod window;

use std::ops::RangeInclusive;

use faer::Mat;

use crate::error::Error;
use crate::ground::spacing::check_apart;
use crate::ground::{Ground, LaplaceCurve};

use field::{Field, Shares};
use kernel::Nodes;
use shapes::{Shapes, edges, graded_segments, kind_of};
pub use spread::{HeatSpread, heat_spread};
use system::System;

/// Depths and tops that two bores, and one alone, are interpolated between.
const KNOTS: [usize; 2] = [5, 2];
const ALONE: [usize; 2] = [12, 4];

/// Relative error that no gain tells of: of interpolation, lattices and inversion, and of what the crude form of the
/// problem, which the vectors come from, never shows.
const LEAST: f64 = 1e-4;

/// Vectors across the field that the modes along equal bores are looked for with, and modes at most.
const LEADING: usize = 2;
const MODES: usize = 6;

/// Bores in the middle that the modes along unequal bores are looked for with, and modes at most.
const MIDDLE: usize = 16;
const MODES_UNEQUAL: usize = 10;

/// Relative error above which each bore is looked at by itself, and bores at most where this is done; so few are where
/// they are unequal in any case.
const TOLERANCE: f64 = 4e-4;
const FEW: usize = 60;

/// Relative error over what the last vectors and modes gain.
const SAFETY: f64 = 3.0;

/// A bore as the ground sees it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LineSource {
    /// Active depth: length over which heat is exchanged [m].
    pub depth: f64,
    /// Depth of the upper end of the active length below the surface [m].
    pub top: f64,
    /// Radius of the hole [m].
    pub radius: f64,
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
        (self.source.top..=self.source.top + self.source.depth).contains(&depth)
    }
}

/// What the unknowns of the equations stand for: vectors over the bores times modes over the segments, in columns.
struct Unknowns {
    across: Mat<f64>,
    along: Mat<f64>,
}

/// p x Laplace{g} of a field, where g is the drop of the wall temperature x 2 pi k / (mean heat per metre).
///
/// `sources` has one entry for all `positions` [m], or one for each. The curve serves the given times [s]. The order
/// of the bores makes no difference, and neither does the number of threads. How far it may be off is told by
/// [`LaplaceCurve::error`].
///
/// # Errors
/// [`Error::InvalidInput`] if a value is not physical, the numbers of sources and positions do not go together, or
/// bores overlap.
pub fn field_response(
    ground: &Ground,
    sources: &[LineSource],
    positions: &[[f64; 2]],
    times: &RangeInclusive<f64>,
    condition: Condition,
) -> Result<LaplaceCurve, Error> {
    ground.validate()?;
    check_times(times)?;
    let bores = placed(sources, positions)?;
    let nodes = Nodes::new(ground.diffusivity(), times, &bores);
    let points = LaplaceCurve::sample_points(times);
    let mut error = LEAST;
    let samples = match condition {
        Condition::UniformHeatFlux => {
            let shapes = [KNOTS, ALONE].map(|knots| Shapes::new(&bores, knots));
            let [shares, alone] = shapes.each_ref().map(|shapes| shares(&bores, &[1.0], shapes));
            let field =
                Field::new(&nodes, &bores, &[1.0], [&shares, &alone], &Mat::full(bores.len(), 1, 1.0));
            System::new(&field, 1, Some(&Mat::full(1, 1, 1.0))).drops_at_uniform_heat(&points)
        }
        Condition::UniformWallTemperature => {
            let (system, _, gain) = equations(&nodes, &bores, times)?;
            error += gain;
            system.drops_at_uniform_wall(&points)?
        }
    };
    Ok(LaplaceCurve::from_samples(times, &samples).with_error(error))
}

/// The equations of a field in a few vectors across it times modes along the bore, at a few values of p, with what
/// these unknowns stand for and an estimate of the relative error that is left.
///
/// Where that is more than [`TOLERANCE`] and the bores are few enough, each of them is looked at by itself.
fn equations<'a>(
    nodes: &'a Nodes,
    bores: &[Placed],
    times: &RangeInclusive<f64>,
) -> Result<(System<'a>, Unknowns, f64), Error> {
    let segments = graded_segments();
    let unequal = bores.iter().any(|bore| bore.source != bores[0].source);
    if !unequal || bores.len() > FEW {
        let vectors = across::vectors(nodes, bores, times);
        let [whole, alone] = [KNOTS, ALONE].map(|knots| shares(bores, &segments, &Shapes::new(bores, knots)));
        let field = Field::new(nodes, bores, &segments, [&whole, &alone], &vectors);
        let count = vectors.ncols();
        let modes = if unequal {
            modes_in_the_middle(nodes, bores, &segments, times)?
        } else {
            let crude = System::new(&field, count.min(LEADING), None);
            along::modes(&crude.snapshots(times)?, &segments, MODES)?
        };
        let system = System::new(&field, count, Some(&modes));
        let (width, last) = (modes.ncols(), if unequal { count / 2 } else { count.saturating_sub(2).max(1) });
        let error = SAFETY * system.gain(|at| at / width >= last || at % width + 1 == width, times)?;
        if error < TOLERANCE || bores.len() > FEW {
            return Ok((system.reduced(times)?, Unknowns { across: vectors, along: modes }, error));
        }
    }
    let modes = modes_in_the_middle(nodes, bores, &segments, times)?;
    let system = System::of_each_bore(nodes, bores, &segments, &modes);
    let error = SAFETY * system.gain(|at| at % modes.ncols() + 1 == modes.ncols(), times)?;
    let across = Mat::identity(bores.len(), bores.len());
    Ok((system.reduced(times)?, Unknowns { across, along: modes }, error))
}

/// Modes along the bores, from those in the middle of the field, segment by segment.
fn modes_in_the_middle(
    nodes: &Nodes,
    bores: &[Placed],
    segments: &[f64],
    times: &RangeInclusive<f64>,
) -> Result<Mat<f64>, Error> {
    let middle = [0, 1].map(|axis| {
        let sum: f64 = bores.iter().map(|bore| bore.position[axis]).sum();
        sum / bores.len() as f64
    });
    let distance = |bore: &Placed| (bore.position[0] - middle[0]).hypot(bore.position[1] - middle[1]);
    let mut sample = bores.to_vec();
    sample.sort_by(|a, b| distance(a).total_cmp(&distance(b)));
    sample.truncate(MIDDLE);
    let every = Mat::identity(segments.len(), segments.len());
    let snapshots = System::of_each_bore(nodes, &sample, segments, &every).snapshots(times)?;
    along::modes(&snapshots, segments, MODES_UNEQUAL)
}

/// What each bore takes of each shape.
fn shares(bores: &[Placed], segments: &[f64], shapes: &Shapes) -> Shares {
    let weights: Vec<Vec<f64>> = bores.iter().map(|bore| shapes.weights(kind_of(bore))).collect();
    Shares {
        edges: shapes.kinds.iter().map(|&kind| edges(kind, segments)).collect(),
        weights: Mat::from_fn(bores.len(), shapes.kinds.len(), |bore, shape| weights[bore][shape]),
    }
}

/// Sources with their places, sorted by place so that their order on input can't matter.
fn placed(sources: &[LineSource], positions: &[[f64; 2]]) -> Result<Vec<Placed>, Error> {
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
        if !(source.top >= 0.0 && source.top.is_finite()) {
            return refuse("top", source.top, "must be a finite number from 0");
        }
    }
    let source_of = |bore: usize| if sources.len() == 1 { sources[0] } else { sources[bore] };
    let radii: Vec<f64> = (0..positions.len()).map(|bore| source_of(bore).radius).collect();
    check_apart(positions, &radii)?;
    let mut bores: Vec<Placed> = positions
        .iter()
        .enumerate()
        .map(|(bore, &position)| Placed { source: source_of(bore), position })
        .collect();
    let by_place = |a: &Placed, b: &Placed| {
        a.position[0].total_cmp(&b.position[0]).then(a.position[1].total_cmp(&b.position[1]))
    };
    bores.sort_by(by_place);
    Ok(bores)
}

fn check_times(times: &RangeInclusive<f64>) -> Result<(), Error> {
    let (first, last) = (*times.start(), *times.end());
    if first > 0.0 && first <= last && last.is_finite() {
        return Ok(());
    }
    let value = format!("{first} to {last}");
    Err(Error::invalid("g-function", "times", value, "s", "must be finite, above 0 and in rising order"))
}

#[cfg(test)]
mod tests;
