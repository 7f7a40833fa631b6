//! The window that spreads a bore onto the points of a lattice around it.

use crate::ground::gauss::gauss_legendre;

use super::exponential::exponential;

/// exp(B (sqrt(1 - (2 x / W)^2) - 1)) over W points of a lattice, where x counts its steps; nearly all of its Fourier
/// transform is below the wave numbers that the lattice resolves (Barnett, Magland & af Klinteberg 2019).
pub struct Window<const W: usize>;

/// B over W, for lattices about 1.45 times as fine as the relevant wave numbers.
const STEEPNESS: f64 = 2.0;

impl<const W: usize> Window<W> {
    /// The window at x steps from its middle.
    fn at(x: f64) -> f64 {
        let place = 2.0 * x / W as f64;
        let root = (1.0 - place * place).max(0.0).sqrt();
        exponential(STEEPNESS * W as f64 * (root - 1.0))
    }

    /// First point and weights for a position counted in steps from the very first point.
    pub fn weights(place: f64) -> (i64, [f32; W]) {
        let first = (place - 0.5 * W as f64).ceil();
        (first as i64, std::array::from_fn(|point| Self::at(first + point as f64 - place) as f32))
    }

    /// Fourier transform, as a function of the wave number in radians per step.
    pub fn transform() -> impl Fn(f64) -> f64 {
        let half = 0.5 * W as f64;
        let points = gauss_legendre::<32>().map(|(x, weight)| (half * x, half * weight * Self::at(half * x)));
        move |rate| points.iter().map(|(x, value)| value * (rate * x).cos()).sum()
    }
}
