//! How a bore is built: hole, pipes and grout, or a measured resistance in their stead.

use serde::{Deserialize, Serialize};

use crate::error::Error;
use crate::quantity::{Quantified, Quantity};

/// A round pipe.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Pipe {
    /// Outer diameter [m].
    pub outer_diameter: f64,
    /// Wall thickness [m].
    pub wall_thickness: f64,
    /// Thermal conductivity of the wall [W/(m K)].
    pub conductivity: f64,
    /// Roughness of the inside [m].
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
    /// Inner diameter [m].
    #[must_use]
    pub fn inner_diameter(&self) -> f64 {
        self.outer_diameter - 2.0 * self.wall_thickness
    }
}

/// The pipes in a bore and where they stand.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", deny_unknown_fields)]
pub enum Pipes {
    /// Two legs on either side of the bore's axis.
    #[serde(rename = "U-tube")]
    UTube {
        /// The pipe of both legs.
        pipe: Pipe,
        /// Distance between the centres of the legs [m].
        centre_spacing: f64,
    },
    /// Two U-tubes in parallel, crossed: the legs of one loop stand opposite each other.
    #[serde(rename = "double U-tube")]
    DoubleUTube {
        /// The pipe of all four legs.
        pipe: Pipe,
        /// Distance between the centres of the two legs of one loop, opposite across the axis [m].
        centre_spacing: f64,
    },
    /// A pipe in a pipe, both about the bore's axis; the outer pipe may touch the wall of the bore.
    #[serde(rename = "coaxial")]
    Coaxial {
        /// The inner pipe.
        inner: Pipe,
        /// The outer pipe.
        outer: Pipe,
    },
}

/// What is inside the bore.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case", deny_unknown_fields)]
pub enum Inside {
    /// A measured effective resistance between fluid and bore wall; no heat is stored inside.
    Measured {
        /// Effective bore resistance [m K/W].
        resistance: f64,
    },
    /// Pipes in grout.
    Built {
        /// The pipes.
        pipes: Pipes,
        /// Thermal conductivity of the grout [W/(m K)].
        grout_conductivity: f64,
        /// Heat capacity of the grout per volume [J/(m3 K)].
        grout_heat_capacity: f64,
        /// Whether fluid, pipes and grout store heat in the first hours.
        heat_capacity_inside: bool,
    },
}

/// One vertical bore.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Bore {
    /// Active depth: length over which heat is exchanged [m].
    pub depth: f64,
    /// Depth of the upper end of the active length below the surface [m].
    pub top: f64,
    /// Diameter of the hole [m].
    pub diameter: f64,
    /// Pipes and grout, or a measured resistance.
    pub inside: Inside,
}

impl Quantified for Bore {
    const OWNER: &'static str = "Bore";
    const QUANTITIES: &'static [Quantity<Self>] = &[
        Quantity::new("depth", "m", 1.0, 2000.0, |b| Some(b.depth)),
        Quantity::new("top", "m", 0.0, 200.0, |b| Some(b.top)),
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
    /// Radius of the hole [m].
    #[must_use]
    pub fn radius(&self) -> f64 {
        self.diameter / 2.0
    }

    /// Checks that the values are physical and that the pipes fit into the hole without touching each other.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] names the field that is not.
    pub fn validate(&self) -> Result<(), Error> {
        self.check_quantities()
    }
}
