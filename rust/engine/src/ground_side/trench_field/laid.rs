//! Arrangement of the pipes in a trench.

use std::f64::consts::PI;

use serde::{Deserialize, Serialize};

use super::TrenchField;
use crate::error::{Error, shown};
use crate::ground::{Lines, Orientation, Rings};
use crate::quantity::{Quantified, Quantity};

/// Most straight pipes in one trench.
const MOST_PIPES: usize = 6;

/// Greatest depth of a pipe, and greatest distance from the middle of its trench (m).
const DEEPEST: f64 = 20.0;
const FARTHEST: f64 = 20.0;

/// Most rings of one coil.
const MOST_RINGS: usize = 1000;

/// Straight pipes or a coil.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Laid {
    /// Straight pipes along the trench.
    Straight {
        /// Axis of each pipe: position across the trench, from its middle, and depth (m).
        pipes: Vec<[f64; 2]>,
    },
    /// One pipe in rings.
    Coil(Coil),
}

/// A pipe in successive, possibly overlapping rings along the trench. The return pipe is neglected.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Coil {
    /// Diameter of the rings, from centre line to centre line (m).
    pub diameter: f64,
    /// Distance between the centres of neighbouring rings (m).
    pub pitch: f64,
    /// Depth of the centres (m).
    pub depth: f64,
    /// Whether the rings stand upright along the trench; otherwise they lie flat.
    pub upright: bool,
}

impl Quantified for Coil {
    const OWNER: &'static str = "Coil";
    const QUANTITIES: &'static [Quantity<Self>] = &[
        Quantity::new("diameter", "m", 0.1, 5.0, |c| Some(c.diameter)),
        Quantity::new("pitch", "m", 0.02, 20.0, |c| Some(c.pitch)),
        Quantity::new("depth", "m", 0.0, DEEPEST, |c| Some(c.depth)),
    ];
}

impl Coil {
    /// Number of rings in a trench of a length (m).
    fn rings(&self, length: f64) -> usize {
        ((length - self.diameter) / self.pitch).max(0.0) as usize + 1
    }

    /// The coil as heat sources.
    pub(crate) fn sources(&self, length: f64, radius: f64) -> Rings {
        Rings {
            ring: self.diameter / 2.0,
            radius,
            pitch: self.pitch,
            count: self.rings(length),
            depth: self.depth,
            orientation: if self.upright { Orientation::Upright } else { Orientation::Flat },
        }
    }

    /// Depth of the highest point of the centre line (m).
    fn top(&self) -> f64 {
        if self.upright { self.depth - self.diameter / 2.0 } else { self.depth }
    }

    fn validate(&self, field: &TrenchField) -> Result<(), Error> {
        self.check_quantities()?;
        let invalid = |name: &str, value: f64, allowed: &str| {
            Err(Error::invalid(Self::OWNER, name, shown(value), "m", allowed))
        };
        let pipe = field.pipe.outer_diameter;
        if self.top() <= pipe / 2.0 {
            let least = shown(self.depth - self.top() + pipe / 2.0);
            return invalid(
                "depth",
                self.depth,
                &format!("must be above {least} m, or it would lie above the surface"),
            );
        }
        if self.pitch < pipe {
            let allowed = format!("must be at least the outer diameter of the pipe, {} m", shown(pipe));
            return invalid("pitch", self.pitch, &allowed);
        }
        if self.diameter > field.length {
            let allowed = format!("must be at most the length of the trench, {} m", shown(field.length));
            return invalid("diameter", self.diameter, &allowed);
        }
        if self.rings(field.length) > MOST_RINGS {
            let allowed = format!("must be longer: a trench has at most {MOST_RINGS} rings");
            return invalid("pitch", self.pitch, &allowed);
        }
        Ok(())
    }
}

impl Laid {
    pub(super) fn validate(&self, field: &TrenchField) -> Result<(), Error> {
        match self {
            Self::Straight { pipes } => validate_straight(pipes, field.pipe.outer_diameter),
            Self::Coil(coil) => coil.validate(field),
        }
    }

    /// Number of pipes in a trench.
    pub(super) fn pipes(&self) -> usize {
        match self {
            Self::Straight { pipes } => pipes.len(),
            Self::Coil(_) => 1,
        }
    }

    /// Length of each pipe in a trench of a length (m).
    pub(super) fn pipe_length(&self, length: f64) -> f64 {
        match self {
            Self::Straight { .. } => length,
            Self::Coil(coil) => coil.rings(length) as f64 * PI * coil.diameter,
        }
    }

    /// Mean depth of the pipes (m).
    pub(super) fn mean_depth(&self) -> f64 {
        match self {
            Self::Straight { pipes } => {
                pipes.iter().map(|[_, depth]| depth).sum::<f64>() / pipes.len() as f64
            }
            Self::Coil(coil) => coil.depth,
        }
    }

    /// Smallest spacing of trenches at which their pipes are clear of each other (m).
    ///
    /// A trench's pipes may lie above those of its neighbour, but not beyond them.
    pub(super) fn least_spacing(&self, diameter: f64) -> f64 {
        match self {
            Self::Straight { pipes } => {
                let pairs = pipes.iter().flat_map(|from| pipes.iter().map(move |to| (from, to)));
                let least = |([x, depth], [other_x, other_depth]): (&[f64; 2], &[f64; 2])| {
                    let sideways = (diameter * diameter - (other_depth - depth).powi(2)).max(0.0).sqrt();
                    x - other_x + sideways
                };
                pairs.map(least).fold(0.0, f64::max)
            }
            Self::Coil(coil) if coil.upright => diameter,
            Self::Coil(coil) => coil.diameter + diameter,
        }
    }
}

/// Straight pipes as heat sources.
pub(crate) fn lines(pipes: &[[f64; 2]], length: f64, radius: f64) -> Lines {
    Lines { length, radius, axes: pipes.to_vec() }
}

fn validate_straight(pipes: &[[f64; 2]], diameter: f64) -> Result<(), Error> {
    let invalid = |value: String, unit: &str, allowed: String| {
        Err(Error::invalid(TrenchField::OWNER, "pipes", value, unit, allowed))
    };
    if !(1..=MOST_PIPES).contains(&pipes.len()) {
        return invalid(pipes.len().to_string(), "", format!("must be from 1 to {MOST_PIPES} in a trench"));
    }
    for (number, [x, depth]) in pipes.iter().enumerate() {
        let number = number + 1;
        if !(-FARTHEST..=FARTHEST).contains(x) {
            let allowed = format!("across, of pipe {number}: must be from -{FARTHEST} to {FARTHEST} m");
            return invalid(shown(*x), "m", allowed);
        }
        if !(*depth > diameter / 2.0 && *depth <= DEEPEST) {
            let least = shown(diameter / 2.0);
            let allowed = format!(
                "depth of pipe {number}: must be above {least} m, or it would lie above the surface, up to {DEEPEST} m"
            );
            return invalid(shown(*depth), "m", allowed);
        }
    }
    for (number, [x, depth]) in pipes.iter().enumerate() {
        for (other, [other_x, other_depth]) in pipes[..number].iter().enumerate() {
            let distance = (x - other_x).hypot(depth - other_depth);
            if distance < diameter * (1.0 - f64::EPSILON * 8.0) {
                let (first, second, least) = (other + 1, number + 1, shown(diameter));
                let allowed = format!(
                    "is the distance of pipes {first} and {second}, which would overlap: must be at least {least} m"
                );
                return invalid(shown(distance), "m", allowed);
            }
        }
    }
    Ok(())
}
