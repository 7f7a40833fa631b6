//! The envelope: opaque parts and windows.

use serde::{Deserialize, Serialize};

use crate::quantity::{Quantified, Quantity};

/// Ratio of the solar factor averaged over all directions of the sun to that at normal incidence, F_w of ISO
/// 13790:2008, clause 11.4.2, for glass that doesn't scatter (from memory; checked against Fresnel's equations in
/// tests/reference/test_second_sources_building.py).
const AWAY_FROM_NORMAL: f64 = 0.9;

/// An opaque part of the envelope: walls, a roof, a floor, a door.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Opaque {
    /// Area (m2).
    pub area: f64,
    /// Heat transmittance from room to outdoors (W/(m2 K)).
    pub u_value: f64,
    /// Share of the temperature difference between rooms and outdoors across it: 1 to outdoors, less on the ground or
    /// next to an unheated room (b_tr of ISO 13790:2008, clause 8.3).
    pub exposure: f64,
}

impl Quantified for Opaque {
    const OWNER: &'static str = "Opaque";
    const QUANTITIES: &'static [Quantity<Self>] = &[
        Quantity::new("area", "m2", 0.01, 1e6, |o| Some(o.area)),
        Quantity::new("u_value", "W/(m2 K)", 0.01, 10.0, |o| Some(o.u_value)),
        Quantity::new("exposure", "", 0.0, 1.0, |o| Some(o.exposure)),
    ];
}

impl Opaque {
    /// Heat lost per kelvin between rooms and outdoors (W/K).
    #[must_use]
    pub fn loss(&self) -> f64 {
        self.area * self.u_value * self.exposure
    }
}

/// Windows with one orientation.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Window {
    /// Area including the frame (m2).
    pub area: f64,
    /// Heat transmittance including the frame (W/(m2 K)).
    pub u_value: f64,
    /// Solar factor of the glass at normal incidence.
    pub g_value: f64,
    /// Azimuth, clockwise from north (deg).
    pub azimuth: f64,
    /// Angle from the horizontal, 90 for a wall (deg).
    pub tilt: f64,
    /// Share of the solar radiation that shades let through.
    pub shading: f64,
    /// Frame share of the area.
    pub frame_share: f64,
}

impl Quantified for Window {
    const OWNER: &'static str = "Window";
    const QUANTITIES: &'static [Quantity<Self>] = &[
        Quantity::new("area", "m2", 0.01, 1e5, |w| Some(w.area)),
        Quantity::new("u_value", "W/(m2 K)", 0.1, 10.0, |w| Some(w.u_value)),
        Quantity::new("g_value", "", 0.0, 1.0, |w| Some(w.g_value)),
        Quantity::new("azimuth", "deg", 0.0, 360.0, |w| Some(w.azimuth)),
        Quantity::new("tilt", "deg", 0.0, 180.0, |w| Some(w.tilt)),
        Quantity::new("shading", "", 0.0, 1.0, |w| Some(w.shading)),
        Quantity::new("frame_share", "", 0.0, 0.9, |w| Some(w.frame_share)),
    ];
}

impl Window {
    /// Heat lost per kelvin between rooms and outdoors (W/K).
    #[must_use]
    pub fn loss(&self) -> f64 {
        self.area * self.u_value
    }

    /// Effective solar area without glass, frame or shade (m2): A_sol of ISO 13790:2008, equation (44) (from memory).
    #[must_use]
    pub fn solar_area(&self) -> f64 {
        self.shading * AWAY_FROM_NORMAL * self.g_value * (1.0 - self.frame_share) * self.area
    }
}

/// Thermal mass classes: ISO 13790:2008, table 12 (from memory; magnitudes checked by
/// tests/reference/test_second_sources_building.py).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Mass {
    /// Light frames and boards.
    #[serde(rename = "very light")]
    VeryLight,
    /// Timber frame with some heavy layers.
    #[serde(rename = "light")]
    Light,
    /// Hollow blocks or timber frame on a slab.
    #[serde(rename = "medium")]
    Medium,
    /// Brick or concrete walls.
    #[serde(rename = "heavy")]
    Heavy,
    /// Concrete or stone throughout.
    #[serde(rename = "very heavy")]
    VeryHeavy,
}

impl Mass {
    /// Heat capacity per floor area (J/(m2 K)).
    #[must_use]
    pub fn heat_capacity(self) -> f64 {
        match self {
            Self::VeryLight => 80e3,
            Self::Light => 110e3,
            Self::Medium => 165e3,
            Self::Heavy => 260e3,
            Self::VeryHeavy => 370e3,
        }
    }

    /// Area that exchanges heat with the mass, per floor area.
    #[must_use]
    pub fn area(self) -> f64 {
        match self {
            Self::VeryLight | Self::Light | Self::Medium => 2.5,
            Self::Heavy => 3.0,
            Self::VeryHeavy => 3.5,
        }
    }
}
