//! Film coefficient between a flowing fluid and the wall of a tube or an annulus, by flow regime.
//!
//! The flow is assumed to be fully developed: a leg is thousands of diameters long.

use std::f64::consts::PI;

use serde::Serialize;

use super::construction::{Coaxial, Pipe};
use crate::fluid::FluidState;

/// Reynolds number up to which the flow is laminar (Gnielinski 2013).
pub const END_OF_LAMINAR: f64 = 2300.0;
/// Reynolds number from which the flow is turbulent (Gnielinski 2013).
pub const START_OF_TURBULENT: f64 = 4000.0;

/// Reynolds numbers at which the regime, and thereby the slope of the film coefficient, changes.
pub const REGIME_LIMITS: [f64; 2] = [END_OF_LAMINAR, START_OF_TURBULENT];

/// Flow regime.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Regime {
    /// Laminar, Reynolds number up to 2300.
    Laminar,
    /// Transitional.
    Transitional,
    /// Turbulent, Reynolds number from 4000.
    Turbulent,
}

impl Regime {
    /// The regime at a Reynolds number.
    #[must_use]
    pub fn at(reynolds: f64) -> Self {
        if reynolds <= END_OF_LAMINAR {
            Self::Laminar
        } else if reynolds < START_OF_TURBULENT {
            Self::Transitional
        } else {
            Self::Turbulent
        }
    }
}

/// Flow along one wall and its heat transfer coefficient.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Film {
    /// Reynolds number on the hydraulic diameter.
    pub reynolds: f64,
    /// Regime of the flow.
    pub regime: Regime,
    /// Film coefficient (W/(m2 K)).
    pub coefficient: f64,
}

impl Film {
    fn new(reynolds: f64, nusselt: f64, hydraulic_diameter: f64, fluid: &FluidState) -> Self {
        let coefficient = nusselt * fluid.conductivity / hydraulic_diameter;
        Self { reynolds, regime: Regime::at(reynolds), coefficient }
    }

    /// Thermal resistance of the film per metre of a round wall of this diameter (m K/W).
    #[must_use]
    pub fn resistance(&self, diameter: f64) -> f64 {
        1.0 / (PI * diameter * self.coefficient)
    }
}

/// Film inside a round pipe that carries `flow` (kg/s).
///
/// Laminar Nu = 3.66, the value for a uniform wall temperature; for a uniform heat flux it would be 4.36, and the wall
/// of a leg is in between, so the film is conservative. Turbulent: Gnielinski (1976), Int. Chem. Eng. 16, 359, for 0.5
/// < Pr < 2000.
#[must_use]
pub fn in_pipe(pipe: &Pipe, fluid: &FluidState, flow: f64) -> Film {
    let diameter = pipe.inner_diameter();
    let reynolds = 4.0 * flow / (PI * diameter * fluid.viscosity);
    let nusselt = by_regime(reynolds, 3.66, |reynolds| {
        let friction = friction_factor(reynolds, pipe.roughness / diameter);
        gnielinski(friction, reynolds - 1000.0, 1.0, fluid.prandtl())
    });
    Film::new(reynolds, nusselt, diameter, fluid)
}

/// Films on the inner and the outer wall of the gap of a coaxial bore that carries `flow` (kg/s).
///
/// Each wall has the film that it has if the other is insulated. Laminar: VDI Heat Atlas (2010), chapter G2. Turbulent:
/// Gnielinski (2009), Heat Transfer Eng. 30, 431, with the roughness of the outer pipe.
#[must_use]
pub fn in_annulus(pipes: &Coaxial, fluid: &FluidState, flow: f64) -> (Film, Film) {
    let inside = pipes.inner.outer_diameter;
    let outside = pipes.outer.inner_diameter();
    let a = inside / outside;
    let hydraulic_diameter = outside - inside;
    let prandtl = fluid.prandtl();
    let reynolds = 4.0 * flow / (PI * (inside + outside) * fluid.viscosity);
    let turbulent = |reynolds: f64| {
        let friction =
            friction_factor(annulus_shape(a) * reynolds, pipes.outer.roughness / hydraulic_diameter);
        let k1 = 1.07 + 900.0 / reynolds - 0.63 / (1.0 + 10.0 * prandtl);
        gnielinski(friction, reynolds, k1, prandtl)
    };
    let on_inner = by_regime(reynolds, 3.66 + 1.2 * a.powf(-0.8), |re| 0.75 * a.powf(-0.17) * turbulent(re));
    let on_outer =
        by_regime(reynolds, 3.66 + 1.2 * a.powf(0.5), |re| (0.9 - 0.15 * a.powf(0.6)) * turbulent(re));
    let film = |nusselt| Film::new(reynolds, nusselt, hydraulic_diameter, fluid);
    (film(on_inner), film(on_outer))
}

/// Factor that turns the Reynolds number of an annulus into that of a pipe with the same friction, by the gap's inner
/// over outer diameter.
///
/// Source: Jones & Leung (1981), J. Fluids Eng. 103, 615; used by Gnielinski (2009). Exact in laminar flow.
#[must_use]
pub fn annulus_shape(ratio: f64) -> f64 {
    let (a, ln_a) = (ratio, ratio.ln());
    ((1.0 + a * a) * ln_a + (1.0 - a * a)) / ((1.0 - a) * (1.0 - a) * ln_a)
}

/// Nusselt number at a Reynolds number; in transition interpolated linearly between the values at its ends.
///
/// Source: Gnielinski (2013), Int. J. Heat Mass Transfer 63, 134; the same ends are used for the annulus.
fn by_regime(reynolds: f64, laminar: f64, turbulent: impl Fn(f64) -> f64) -> f64 {
    match Regime::at(reynolds) {
        Regime::Laminar => laminar,
        Regime::Transitional => {
            let share = (reynolds - END_OF_LAMINAR) / (START_OF_TURBULENT - END_OF_LAMINAR);
            (1.0 - share) * laminar + share * turbulent(START_OF_TURBULENT)
        }
        Regime::Turbulent => turbulent(reynolds),
    }
}

/// Nu = (f/8) Re' Pr / (k1 + 12.7 sqrt(f/8) (Pr^(2/3) - 1)), with Re' and k1 of the tube or the annulus.
fn gnielinski(friction: f64, reynolds: f64, k1: f64, prandtl: f64) -> f64 {
    let f8 = friction / 8.0;
    f8 * reynolds * prandtl / (k1 + 12.7 * f8.sqrt() * (prandtl.powf(2.0 / 3.0) - 1.0))
}

/// Darcy friction factor of turbulent flow in a tube, smooth or rough.
///
/// Source: Haaland (1983), J. Fluids Eng. 105, 89. In a smooth tube it is within 1 % of the formula used by Gnielinski.
fn friction_factor(reynolds: f64, relative_roughness: f64) -> f64 {
    let root = -1.8 * ((relative_roughness / 3.7).powf(1.11) + 6.9 / reynolds).log10();
    root.powi(-2)
}

#[cfg(test)]
mod tests {
    use super::*;

    const WATER: FluidState =
        FluidState { density: 999.7, heat_capacity: 4195.0, conductivity: 0.579, viscosity: 1.306e-3 };
    const PIPE: Pipe =
        Pipe { outer_diameter: 0.032, wall_thickness: 0.0029, conductivity: 0.4, roughness: 0.0 };

    fn flow_at(reynolds: f64) -> f64 {
        reynolds * PI * PIPE.inner_diameter() * WATER.viscosity / 4.0
    }

    #[test]
    fn nusselt_is_continuous_where_regimes_meet() {
        for reynolds in [END_OF_LAMINAR, START_OF_TURBULENT] {
            let below = in_pipe(&PIPE, &WATER, flow_at(reynolds * (1.0 - 1e-9)));
            let above = in_pipe(&PIPE, &WATER, flow_at(reynolds * (1.0 + 1e-9)));
            assert_ne!(below.regime, above.regime);
            assert!((below.coefficient / above.coefficient - 1.0).abs() < 1e-7);
        }
    }

    #[test]
    fn roughness_raises_the_turbulent_film() {
        let rough = Pipe { roughness: 2e-4, ..PIPE };
        let ratio = in_pipe(&rough, &WATER, flow_at(2e4)).coefficient
            / in_pipe(&PIPE, &WATER, flow_at(2e4)).coefficient;
        assert!((1.1..2.0).contains(&ratio), "{ratio}");
    }

    #[test]
    fn walls_of_a_narrow_gap_have_the_same_film() {
        let inner = Pipe { outer_diameter: 0.1, wall_thickness: 0.005, ..PIPE };
        let outer = Pipe { outer_diameter: 0.121, wall_thickness: 0.01, ..PIPE };
        for flow in [0.1, 10.0] {
            let (on_inner, on_outer) = in_annulus(&Coaxial { inner, outer }, &WATER, flow);
            assert!((on_inner.coefficient / on_outer.coefficient - 1.0).abs() < 0.01);
        }
    }
}
