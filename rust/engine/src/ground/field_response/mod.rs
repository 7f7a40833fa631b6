//! Step response of a bore field with one wall temperature, or one heat flux, for all its bores.
//!
//! Bores are finite line sources cut into segments that are finer toward both ends, below a surface of constant
//! temperature (Cimmino & Bernier 2014). The equations are solved in the Laplace domain, exact in time:
//! with S(p) the matrix of the mean temperature drops from segment to segment, times the receiver's length,
//! S x = L gives the heat x per metre for a drop of 1 everywhere, and p x Laplace{g} = (sum of L) / (L . x).
//!
//! S is symmetric and positive definite, so that the heat may be sought among a few vectors across the field times
//! a few modes along the bore, with an error of second order (Galerkin); and again, among the solutions for a few p.

mod across;
mod along;
mod ierfc;
mod kernel;
mod lattice;
mod near;
mod pair_sums;
mod shapes;
mod system;

use std::ops::RangeInclusive;

use faer::Mat;

use crate::error::Error;
use crate::ground::spacing::check_apart;
use crate::ground::{Ground, LaplaceCurve};

use kernel::Nodes;
use shapes::graded_segments;
use system::{Basis, System};

/// Depths and tops that the kernels between two bores, and of one with itself, are interpolated between.
const KNOTS: [usize; 2] = [8, 3];
const OWN_KNOTS: [usize; 2] = [12, 5];

/// The same where modes or vectors are looked for: their errors count by the square.
const CRUDE_KNOTS: [usize; 2] = [5, 2];

/// Vectors across the field that the modes along the bores are looked for with, and modes at most.
const EQUAL: (usize, usize) = (2, 6);
const UNEQUAL: (usize, usize) = (4, 9);

/// Fields of no more bores are looked at bore by bore where these are unequal, with so many modes for each.
const SINGLY: usize = 100;
const FEW_MODES: usize = 3;

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
struct Placed {
    source: LineSource,
    position: [f64; 2],
}

/// p x Laplace{g} of a field, where g is the drop of the wall temperature x 2 pi k / (mean heat per metre).
///
/// `sources` has one entry for all `positions` [m], or one for each. The curve serves the given times [s]. The order
/// of the bores makes no difference, and neither does the number of threads.
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
    let samples = match condition {
        Condition::UniformHeatFlux => {
            let (ones, one) = (Mat::full(bores.len(), 1, 1.0), Mat::full(1, 1, 1.0));
            let basis = Basis { vectors: &ones, modes: &one, segments: &[1.0], knots: [KNOTS, OWN_KNOTS] };
            System::new(&nodes, &bores, &basis).drops_at_uniform_heat(&nodes, &points)
        }
        Condition::UniformWallTemperature => {
            equations(&nodes, &bores, times)?.drops_at_uniform_wall(&nodes, &points)?
        }
    };
    Ok(LaplaceCurve::from_samples(times, &samples))
}

/// The equations of a field in a few vectors across it times modes along the bore, at a few values of p.
fn equations(nodes: &Nodes, bores: &[Placed], times: &RangeInclusive<f64>) -> Result<System, Error> {
    let segments = graded_segments();
    let mut vectors = across::vectors(nodes, bores, times);
    let unequal = bores.iter().any(|bore| bore.source != bores[0].source);
    let (leading, most_modes) = if unequal { UNEQUAL } else { EQUAL };
    let leading = vectors.subcols(0, vectors.ncols().min(leading)).to_owned();
    let every = Mat::identity(segments.len(), segments.len());
    let basis = Basis { vectors: &leading, modes: &every, segments: &segments, knots: [CRUDE_KNOTS; 2] };
    let snapshots = System::new(nodes, bores, &basis).snapshots(nodes, times)?;
    let modes = along::modes(&snapshots, &segments, most_modes)?;
    if unequal && bores.len() <= SINGLY {
        let (each, few) = (Mat::identity(bores.len(), bores.len()), modes.subcols(0, FEW_MODES).to_owned());
        let basis = Basis { vectors: &each, modes: &few, segments: &segments, knots: [CRUDE_KNOTS; 2] };
        let snapshots = System::new(nodes, bores, &basis).snapshots(nodes, times)?;
        vectors = across::of_each_bore(&vectors, &snapshots)?;
    }
    let basis = Basis { vectors: &vectors, modes: &modes, segments: &segments, knots: [KNOTS, OWN_KNOTS] };
    System::new(nodes, bores, &basis).reduced(nodes, times)
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
