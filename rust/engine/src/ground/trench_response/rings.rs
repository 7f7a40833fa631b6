//! A coil laid along a trench, as a row of rings.

use std::f64::consts::{FRAC_2_SQRT_PI, TAU};

use complex_bessel::besseli_scaled;
use faer::c64;

use super::Sources;

/// Points around a ring for each 1 of s x its radius, and those that the widest bell takes: the trapezoid rule on a circle errs by
/// exp(-(points / (2 s radius))^2).
const POINTS: f64 = 12.0;
const LEAST_POINTS: usize = 16;

/// Exponentials below exp(-CUT) are left out.
const CUT: f64 = 37.0;

/// How a coil lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// Its rings lie in one plane parallel to the surface.
    Flat,
    /// Its rings stand in one vertical plane along the trench.
    Upright,
}

/// Equal rings in a row, all of the same heat.
#[derive(Debug, Clone, PartialEq)]
pub struct Rings {
    /// Radius of the rings' centre line [m].
    pub ring: f64,
    /// Outer radius of the pipe [m].
    pub radius: f64,
    /// Distance between the centres of neighbouring rings [m].
    pub pitch: f64,
    /// Number of rings.
    pub count: usize,
    /// Depth of the centres below the surface [m].
    pub depth: f64,
    /// How they lie.
    pub standing: Standing,
}

impl Rings {
    /// Mean of exp(-R^2 s^2) over two rings in one plane, R being the distance of a point of one from a point of the other and
    /// `apart` [m] that of their centres.
    ///
    /// For a point at v from the centre of a ring the mean over that ring is exp(-s^2 (v^2 + r^2)) I0(2 s^2 r v), which is left
    /// to be taken around the other ring.
    fn bell(&self, s: f64, apart: f64) -> f64 {
        let (ring, square) = (self.ring, s * s);
        let over_ring = |v: f64| {
            let exponent = square * (v - ring).powi(2);
            if exponent > CUT { 0.0 } else { (-exponent).exp() * i0_scaled(2.0 * square * ring * v) }
        };
        if apart == 0.0 {
            return over_ring(ring);
        }
        if square * (apart - 2.0 * ring).max(0.0).powi(2) > CUT {
            return 0.0;
        }
        // Both halves of the ring are alike.
        let half = LEAST_POINTS + (0.5 * POINTS * s * ring).ceil() as usize;
        let around = |point: usize| {
            let cos = (0.5 * TAU * point as f64 / half as f64).cos();
            let v = (apart * apart + ring * ring - 2.0 * apart * ring * cos).max(0.0).sqrt();
            let weight = if point == 0 || point == half { 0.5 } else { 1.0 };
            weight * over_ring(v)
        };
        (0..=half).map(around).sum::<f64>() / half as f64
    }

    /// Source less image for two rings whose centres are `along` [m] from each other along the trench and `across` [m] across it.
    fn pair(&self, s: f64, along: f64, across: f64) -> f64 {
        let beyond = |distance: f64| (-(distance * s).powi(2)).exp();
        let to_image = 2.0 * self.depth;
        match self.standing {
            Standing::Flat => self.bell(s, along.hypot(across)) * (beyond(self.radius) - beyond(to_image)),
            Standing::Upright => {
                self.bell(s, along) * beyond(across.hypot(self.radius))
                    - self.bell(s, along.hypot(to_image)) * beyond(across)
            }
        }
    }
}

impl Sources for Rings {
    fn count(&self) -> usize {
        1
    }

    fn radius(&self) -> f64 {
        self.radius
    }

    /// Ring sources (Li et al. 2012; Xiong, Spitler & Fisher 2015): h is the drop at a ring that is a pipe's radius out of the
    /// plane of the others, for point sources 1 / (4 pi k R) erfc(R / sqrt(4 a t)) all along them, with their images.
    fn between(&self, s: f64, across: f64, _from: usize, _to: usize) -> f64 {
        let lag = |lag: usize| {
            let pairs = if lag == 0 { self.count } else { 2 * (self.count - lag) };
            pairs as f64 * self.pair(s, lag as f64 * self.pitch, across)
        };
        let mean: f64 = (0..self.count).map(lag).sum::<f64>() / self.count as f64;
        0.5 * FRAC_2_SQRT_PI * TAU * self.ring * s * mean
    }
}

/// From here on the terms of the asymptotic series that are left out are below rounding.
const ASYMPTOTIC: f64 = 1e4;

/// exp(-x) I0(x), x >= 0; the series for large x: Abramowitz & Stegun 1964, 9.7.1.
fn i0_scaled(x: f64) -> f64 {
    if x > ASYMPTOTIC {
        let eighth = 0.125 / x;
        return (1.0 + eighth * (1.0 + 4.5 * eighth * (1.0 + 25.0 / 3.0 * eighth))) / (TAU * x).sqrt();
    }
    besseli_scaled(0.0, c64::new(x, 0.0)).map_or(f64::NAN, |value| value.re)
}
