//! Construction of a bore: hole, pipes and grout, or a measured resistance instead of pipes and grout.

use std::f64::consts::{FRAC_PI_4, SQRT_2, TAU};

use serde::{Deserialize, Serialize};

use crate::error::{Error, shown};
use crate::ground::check_cover;
use crate::quantity::{Quantified, Quantity};

/// A round pipe.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Pipe {
    /// Outer diameter (m).
    pub outer_diameter: f64,
    /// Wall thickness (m).
    pub wall_thickness: f64,
    /// Thermal conductivity of the wall (W/(m K)).
    pub conductivity: f64,
    /// Roughness of the inside (m).
    pub roughness: f64,
}

impl Quantified for Pipe {
    const OWNER: &'static str = "Pipe";
    const QUANTITIES: &'static [Quantity<Self>] = &[
        Quantity::new("outer_diameter", "m", 0.005, 1.0, |p| Some(p.outer_diameter)),
        Quantity::new("wall_thickness", "m", 1e-4, 0.1, |p| Some(p.wall_thickness)),
        Quantity::new("conductivity", "W/(m K)", 0.05, 500.0, |p| Some(p.conductivity)),
        Quantity::new("roughness", "m", 0.0, 1e-3, |p| Some(p.roughness)),
    ];
}

impl Pipe {
    /// Inner diameter (m).
    #[must_use]
    pub fn inner_diameter(&self) -> f64 {
        self.outer_diameter - 2.0 * self.wall_thickness
    }

    /// Cross-sectional area of the flow (m2).
    #[must_use]
    pub fn flow_section(&self) -> f64 {
        FRAC_PI_4 * self.inner_diameter().powi(2)
    }

    /// Cross-sectional area of the wall (m2).
    #[must_use]
    pub fn wall_section(&self) -> f64 {
        FRAC_PI_4 * self.outer_diameter.powi(2) - self.flow_section()
    }

    /// Thermal resistance of the wall per metre of pipe (m K/W).
    #[must_use]
    pub fn wall_resistance(&self) -> f64 {
        (self.outer_diameter / self.inner_diameter()).ln() / (TAU * self.conductivity)
    }

    /// Checks that the values are physical and leave an opening for the fluid.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] names the field that is not.
    pub fn validate(&self) -> Result<(), Error> {
        self.check_quantities()?;
        at_most(
            (Self::OWNER, "wall_thickness", self.wall_thickness),
            (self.outer_diameter - LEAST_OPENING) / 2.0,
            "to leave an opening for the fluid",
        )?;
        at_most(
            (Self::OWNER, "roughness", self.roughness),
            GREATEST_RELATIVE_ROUGHNESS * self.inner_diameter(),
            "5 % of the inner diameter: friction factors are unknown beyond",
        )
    }
}

/// A U-tube: two legs placed symmetrically about the bore's axis.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct UTube {
    /// The pipe of both legs.
    pub pipe: Pipe,
    /// Distance between the centres of the legs (m).
    pub shank_spacing: f64,
}

impl Quantified for UTube {
    const OWNER: &'static str = "UTube";
    const QUANTITIES: &'static [Quantity<Self>] =
        &[Quantity::new("shank_spacing", "m", 0.005, 2.0, |u| Some(u.shank_spacing))];
}

impl UTube {
    /// Checks that the pipe is valid and that the legs do not overlap.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] names the field that is not.
    pub fn validate(&self) -> Result<(), Error> {
        self.pipe.validate()?;
        self.check_quantities()?;
        at_least(
            (Self::OWNER, "shank_spacing", self.shank_spacing),
            self.pipe.outer_diameter,
            "the outer diameter of the pipe, or the legs would overlap",
        )
    }
}

/// Two crossed U-tubes in parallel: the legs of one loop are opposite each other.
///
/// Each leg is therefore between the two legs of the other loop, one with downward and one with upward flow.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DoubleUTube {
    /// The pipe of all four legs.
    pub pipe: Pipe,
    /// Distance between the centres of the two legs of one loop, which are opposite each other (m).
    pub shank_spacing: f64,
}

impl Quantified for DoubleUTube {
    const OWNER: &'static str = "DoubleUTube";
    const QUANTITIES: &'static [Quantity<Self>] =
        &[Quantity::new("shank_spacing", "m", 0.005, 2.0, |u| Some(u.shank_spacing))];
}

impl DoubleUTube {
    /// Checks that the pipe is valid and that neighbouring legs do not overlap.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] names the field that is not.
    pub fn validate(&self) -> Result<(), Error> {
        self.pipe.validate()?;
        self.check_quantities()?;
        at_least(
            (Self::OWNER, "shank_spacing", self.shank_spacing),
            SQRT_2 * self.pipe.outer_diameter,
            "1.414 times the outer diameter of the pipe, or neighbouring legs would overlap",
        )
    }
}

/// Two coaxial pipes on the bore's axis; the outer one may touch the wall of the bore.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Coaxial {
    /// The inner pipe.
    pub inner: Pipe,
    /// The outer pipe.
    pub outer: Pipe,
}

impl Coaxial {
    /// The type's name in Python and in messages.
    pub const OWNER: &'static str = "Coaxial";

    /// Checks that the pipes are valid and that the fluid can flow between them.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] names the field that is not.
    pub fn validate(&self) -> Result<(), Error> {
        self.inner.validate()?;
        self.outer.validate()?;
        at_most(
            (Self::OWNER, "inner.outer_diameter", self.inner.outer_diameter),
            self.outer.inner_diameter() - LEAST_OPENING,
            "to leave a gap for the fluid between the pipes",
        )
    }
}

/// The pipes in a bore and their arrangement.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind")]
pub enum Pipes {
    /// One U-tube.
    #[serde(rename = "U-tube")]
    UTube(UTube),
    /// Two U-tubes in parallel.
    #[serde(rename = "double U-tube")]
    DoubleUTube(DoubleUTube),
    /// Two coaxial pipes.
    #[serde(rename = "coaxial")]
    Coaxial(Coaxial),
}

impl Pipes {
    /// Checks that the pipes are valid and do not overlap.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] names the field that is not.
    pub fn validate(&self) -> Result<(), Error> {
        match self {
            Self::UTube(pipes) => pipes.validate(),
            Self::DoubleUTube(pipes) => pipes.validate(),
            Self::Coaxial(pipes) => pipes.validate(),
        }
    }

    /// Diameter of the smallest hole that contains the pipes, centred on the bore's axis (m).
    #[must_use]
    pub fn overall_diameter(&self) -> f64 {
        match self {
            Self::UTube(UTube { pipe, shank_spacing })
            | Self::DoubleUTube(DoubleUTube { pipe, shank_spacing }) => shank_spacing + pipe.outer_diameter,
            Self::Coaxial(Coaxial { outer, .. }) => outer.outer_diameter,
        }
    }
}

/// Contents of the bore.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case", deny_unknown_fields)]
pub enum Inside {
    /// A measured effective resistance between fluid and bore wall; no heat is stored inside.
    Measured {
        /// Effective bore resistance (m K/W).
        resistance: f64,
    },
    /// Pipes in grout.
    Built {
        /// The pipes.
        pipes: Pipes,
        /// Thermal conductivity of the grout (W/(m K)).
        grout_conductivity: f64,
        /// Heat capacity of the grout per volume (J/(m3 K)).
        grout_heat_capacity: f64,
        /// Whether fluid, pipes and grout store heat in the first hours.
        heat_capacity_inside: bool,
    },
}

/// One vertical bore.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Bore {
    /// Active depth: length over which heat is exchanged (m).
    pub depth: f64,
    /// Depth of the upper end of the active length below the surface (m).
    pub buried_depth: f64,
    /// Diameter of the hole (m).
    pub diameter: f64,
    /// Pipes and grout, or a measured resistance.
    pub inside: Inside,
}

impl Quantified for Bore {
    const OWNER: &'static str = "Bore";
    const QUANTITIES: &'static [Quantity<Self>] = &[
        Quantity::new("depth", "m", 1.0, 2000.0, |b| Some(b.depth)),
        Quantity::new("buried_depth", "m", 0.0, 200.0, |b| Some(b.buried_depth)),
        Quantity::new("diameter", "m", 0.02, 2.0, |b| Some(b.diameter)),
        Quantity::new("resistance", "m K/W", 0.001, 5.0, |b| match b.inside {
            Inside::Measured { resistance } => Some(resistance),
            Inside::Built { .. } => None,
        }),
        Quantity::new("grout_conductivity", "W/(m K)", 0.1, 20.0, |b| match b.inside {
            Inside::Built { grout_conductivity, .. } => Some(grout_conductivity),
            Inside::Measured { .. } => None,
        }),
        Quantity::new("grout_heat_capacity", "J/(m3 K)", 2e5, 1e7, |b| match b.inside {
            Inside::Built { grout_heat_capacity, .. } => Some(grout_heat_capacity),
            Inside::Measured { .. } => None,
        }),
    ];
}

impl Bore {
    /// Radius of the hole (m).
    #[must_use]
    pub fn radius(&self) -> f64 {
        self.diameter / 2.0
    }

    /// Checks that the values are physical and that the pipes fit into the hole without overlapping.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] names the field that is not.
    pub fn validate(&self) -> Result<(), Error> {
        self.check_quantities()?;
        check_cover(self.buried_depth, self.radius())?;
        let Inside::Built { pipes, .. } = self.inside else { return Ok(()) };
        pipes.validate()?;
        at_least(
            (Self::OWNER, "diameter", self.diameter),
            pipes.overall_diameter(),
            "the overall width of the pipes",
        )
    }
}

/// Smallest gap for a flowing fluid (m).
const LEAST_OPENING: f64 = 1e-3;
/// Largest roughness relative to the diameter for which friction factors were measured (Moody 1944).
const GREATEST_RELATIVE_ROUGHNESS: f64 = 0.05;
/// Relative difference below which lengths are equal: in binary, 0.118 + 0.032 is greater than 0.150.
const ROUNDING: f64 = 1e-9;

fn at_most((owner, field, length): (&str, &str, f64), most: f64, why: &str) -> Result<(), Error> {
    if length > most + ROUNDING * most.abs() {
        let allowed = format!("must be at most {most:.6} m, {why}");
        return Err(Error::invalid(owner, field, shown(length), "m", allowed));
    }
    Ok(())
}

fn at_least((owner, field, length): (&str, &str, f64), least: f64, why: &str) -> Result<(), Error> {
    if length < least * (1.0 - ROUNDING) {
        return Err(Error::invalid(
            owner,
            field,
            shown(length),
            "m",
            format!("must be at least {least:.6} m, {why}"),
        ));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    const PIPE: Pipe =
        Pipe { outer_diameter: 0.032, wall_thickness: 0.0029, conductivity: 0.4, roughness: 1.5e-6 };

    fn bore(pipes: Pipes) -> Bore {
        let inside = Inside::Built {
            pipes,
            grout_conductivity: 1.5,
            grout_heat_capacity: 3.4e6,
            heat_capacity_inside: true,
        };
        Bore { depth: 100.0, buried_depth: 2.0, diameter: 0.15, inside }
    }

    fn assert_rejected(outcome: Result<(), Error>, name: &str) {
        match outcome {
            Err(Error::InvalidInput { owner, field, unit, .. }) => {
                assert_eq!((format!("{owner}.{field}").as_str(), unit.as_str()), (name, "m"));
            }
            other => panic!("{name} was not rejected: {other:?}"),
        }
    }

    #[test]
    fn pipes_that_just_fit_are_accepted() {
        for pipes in [
            Pipes::UTube(UTube { pipe: PIPE, shank_spacing: 0.118 }),
            Pipes::UTube(UTube { pipe: PIPE, shank_spacing: 0.032 }),
            Pipes::DoubleUTube(DoubleUTube { pipe: PIPE, shank_spacing: 0.032 * SQRT_2 }),
            Pipes::Coaxial(Coaxial {
                inner: PIPE,
                outer: Pipe { outer_diameter: 0.15, wall_thickness: 0.01, ..PIPE },
            }),
        ] {
            bore(pipes).validate().unwrap();
        }
    }

    #[test]
    fn impossible_constructions_are_rejected_by_name() {
        assert_rejected(Pipe { wall_thickness: 0.016, ..PIPE }.validate(), "Pipe.wall_thickness");
        assert_rejected(
            Pipe { outer_diameter: 0.01, wall_thickness: 0.001, roughness: 9e-4, ..PIPE }.validate(),
            "Pipe.roughness",
        );
        let overlap = Pipes::UTube(UTube { pipe: PIPE, shank_spacing: 0.031 });
        assert_rejected(bore(overlap).validate(), "UTube.shank_spacing");
        let crowded = Pipes::DoubleUTube(DoubleUTube { pipe: PIPE, shank_spacing: 0.045 });
        assert_rejected(bore(crowded).validate(), "DoubleUTube.shank_spacing");
        let fits = bore(Pipes::UTube(UTube { pipe: PIPE, shank_spacing: 0.1 }));
        assert_rejected(
            bore(Pipes::UTube(UTube { pipe: PIPE, shank_spacing: 0.119 })).validate(),
            "Bore.diameter",
        );
        assert_rejected(Bore { buried_depth: 1e-3, ..fits }.validate(), "Bore.buried_depth");
        assert_rejected(Bore { buried_depth: 0.029, diameter: 1.2, ..fits }.validate(), "Bore.buried_depth");
        for buried_depth in [0.0, 0.03] {
            Bore { buried_depth, diameter: 1.2, ..fits }.validate().unwrap();
        }
        assert_rejected(
            bore(Pipes::Coaxial(Coaxial { inner: PIPE, outer: PIPE })).validate(),
            "Coaxial.inner.outer_diameter",
        );
    }
}
