//! A coil along a trench, as a row of rings.

use std::f64::consts::{FRAC_2_SQRT_PI, TAU};

use complex_bessel::besseli_scaled;
use faer::c64;

use super::Sources;
use crate::chebyshev::ChebyshevSeries;

/// Points around a ring per unit of s x radius, and the number for the widest Gaussian: the trapezoid rule on a circle
/// has an error of exp(-(points / (2 s radius))^2).
const POINTS: f64 = 12.0;
const LEAST_POINTS: usize = 16;

/// Exponentials below exp(-CUT) are neglected.
const CUT: f64 = 37.0;

/// Terms of a series over distances per unit of s x the farthest distance, and the number for the widest Gaussian: the
/// truncation error is below 1e-14.
const TERMS: f64 = 5.0;
const LEAST_TERMS: usize = 16;

/// Places at which a series is evaluated together.
const SIDE_BY_SIDE: usize = 8;

/// Orientation of a coil.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Orientation {
    /// Its rings lie in one plane parallel to the surface.
    Flat,
    /// Its rings stand in one vertical plane along the trench.
    Upright,
}

/// Equal rings in a row, all with the same heat.
#[derive(Debug, Clone, PartialEq)]
pub struct Rings {
    /// Radius of the rings' centre line (m).
    pub ring: f64,
    /// Outer radius of the pipe (m).
    pub radius: f64,
    /// Distance between the centres of neighbouring rings (m).
    pub pitch: f64,
    /// Number of rings.
    pub count: usize,
    /// Depth of the centres below the surface (m).
    pub depth: f64,
    /// Their orientation.
    pub orientation: Orientation,
}

impl Rings {
    /// Mean of exp(-R^2 s^2) over two rings in one plane, where R is the distance between a point of one and a point of
    /// the other and `apart` (m) the distance between their centres.
    ///
    /// For a point at distance v from the centre of a ring, the mean over that ring is exp(-s^2 (v^2 + r^2)) I0(2 s^2 r
    /// v), which is then averaged around the other ring.
    fn gaussian(&self, s: f64, apart: f64) -> f64 {
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
        // Both halves of the ring are identical.
        let half = LEAST_POINTS + (0.5 * POINTS * s * ring).ceil() as usize;
        let around = |point: usize| {
            let cos = (0.5 * TAU * point as f64 / half as f64).cos();
            let v = (apart * apart + ring * ring - 2.0 * apart * ring * cos).max(0.0).sqrt();
            let weight = if point == 0 || point == half { 0.5 } else { 1.0 };
            weight * over_ring(v)
        };
        (0..=half).map(around).sum::<f64>() / half as f64
    }

    /// [`gaussian`](Self::gaussian) at many distances: by a Chebyshev series if they outnumber its terms.
    fn gaussians(&self, s: f64, apart: &[f64]) -> Vec<f64> {
        let reach = 2.0 * self.ring + CUT.sqrt() / s;
        let near = || apart.iter().copied().filter(|&apart| apart <= reach);
        let farthest = near().fold(0.0, f64::max);
        let terms = LEAST_TERMS + (TERMS * s * farthest).ceil() as usize;
        if near().count() <= terms {
            return apart.iter().map(|&apart| self.gaussian(s, apart)).collect();
        }
        let samples: Vec<f64> =
            ChebyshevSeries::points(0.0, farthest, terms).map(|apart| self.gaussian(s, apart)).collect();
        let series = ChebyshevSeries::through(0.0, farthest, &samples);
        let mut gaussians = Vec::with_capacity(apart.len());
        for few in apart.chunks(SIDE_BY_SIDE) {
            let places: [f64; SIDE_BY_SIDE] =
                std::array::from_fn(|i| few.get(i).map_or(0.0, |apart| apart.min(farthest)));
            let values = series.at(places);
            gaussians.extend(
                few.iter()
                    .zip(values)
                    .map(|(&apart, gaussian)| if apart > farthest { 0.0 } else { gaussian }),
            );
        }
        gaussians
    }

    /// Distance along the trench between rings that are one, two, ... rings apart (m).
    fn along(&self) -> impl Iterator<Item = f64> {
        (0..self.count).map(|lag| lag as f64 * self.pitch)
    }

    /// Mean over all rings of the total effect on each, from values for rings that are none, one, two, ... apart.
    fn mean(&self, values: &[f64]) -> f64 {
        let lag = |(lag, value): (usize, &f64)| {
            let pairs = if lag == 0 { self.count } else { 2 * (self.count - lag) };
            pairs as f64 * value
        };
        values.iter().enumerate().map(lag).sum::<f64>() / self.count as f64
    }
}

impl Sources for Rings {
    fn count(&self) -> usize {
        1
    }

    fn radius(&self) -> f64 {
        self.radius
    }

    /// Ring sources (Li et al. 2012; Xiong, Spitler & Fisher 2015): h is the drop at a ring that lies a pipe radius
    /// outside the plane of the others, for point sources 1 / (4 pi k R) erfc(R / sqrt(4 a t)) along all of them, with
    /// their images.
    fn between(&self, s: f64, across: &[f64], _from: usize, _to: usize) -> Vec<f64> {
        let beyond = |distance: f64| (-(distance * s).powi(2)).exp();
        let to_image = 2.0 * self.depth;
        let scale = 0.5 * FRAC_2_SQRT_PI * TAU * self.ring * s;
        match self.orientation {
            Orientation::Flat => {
                let image = beyond(self.radius) - beyond(to_image);
                let apart = across.iter().flat_map(|across| self.along().map(|along| along.hypot(*across)));
                let gaussians = self.gaussians(s, &apart.collect::<Vec<_>>());
                gaussians.chunks(self.count).map(|gaussians| scale * image * self.mean(gaussians)).collect()
            }
            Orientation::Upright => {
                let mean = |down: f64| {
                    let apart: Vec<f64> = self.along().map(|along| along.hypot(down)).collect();
                    self.mean(&self.gaussians(s, &apart))
                };
                let (near, image) = (mean(0.0), mean(to_image));
                let at = |&across: &f64| near * beyond(across.hypot(self.radius)) - image * beyond(across);
                across.iter().map(|across| scale * at(across)).collect()
            }
        }
    }
}

/// From here on the neglected terms of the asymptotic series are below rounding.
const ASYMPTOTIC: f64 = 1e4;

/// exp(-x) I0(x), x >= 0; the series for large x: Abramowitz & Stegun 1964, 9.7.1.
fn i0_scaled(x: f64) -> f64 {
    if x > ASYMPTOTIC {
        let eighth = 0.125 / x;
        return (1.0 + eighth * (1.0 + 4.5 * eighth * (1.0 + 25.0 / 3.0 * eighth))) / (TAU * x).sqrt();
    }
    besseli_scaled(0.0, c64::new(x, 0.0)).map_or(f64::NAN, |value| value.re)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_series_over_many_distances_equals_individual_values() {
        let apart: Vec<f64> = (0..2000).map(|place| 0.013 * f64::from(place)).collect();
        let mut by_series = 0;
        for s in [0.003, 0.05, 0.4, 1.0, 3.0, 20.0, 90.0] {
            let rings = Rings {
                ring: 0.45,
                radius: 0.016,
                pitch: 0.3,
                count: 10,
                depth: 1.5,
                orientation: Orientation::Flat,
            };
            for (apart, found) in apart.iter().zip(rings.gaussians(s, &apart)) {
                let exact = rings.gaussian(s, *apart);
                assert!((found - exact).abs() < 1e-13, "{s} 1/m, {apart} m: {found} for {exact}");
                by_series += u32::from(found != exact);
            }
        }
        assert!(by_series > 1000);
    }
}
