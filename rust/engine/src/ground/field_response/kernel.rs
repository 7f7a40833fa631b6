//! The kernel between bores, as a sum over nodes in s.

use std::ops::RangeInclusive;

use faer::Mat;

use crate::cancel_token::CancelToken;
use crate::ground::LaplaceCurve;

use super::Placed;
use super::ierfc::Ierfc;

/// Step of the trapezoid rule in ln s.
///
/// exp(-p / (4 a s^2) - r^2 s^2) is analytic in ln s up to a distance of pi / 4 from the real axis, so the error of the
/// rule is exp(-pi^2 / 2 / STEP) = 5e-16: the error oscillates in ln p and Stehfest's sum amplifies it by 1e8.
pub const STEP: f64 = 0.14;

/// Exponentials below exp(-CUT) are neglected.
const CUT: f64 = 37.0;

/// Nodes s (1/m) of the trapezoid rule: p x Laplace{h} x length of the receiver is the sum over nodes of
/// exp(-p / (4 a s^2)) exp(-r^2 s^2) F(s), with F = -step / (2 s) x the second differences, over the edges u and v of
/// both segments, of ierf(s (v - u)) + ierf(s (v + u)) (Claesson & Javed 2011, equations 9 to 11, for two segments).
pub struct Nodes {
    diffusivity: f64,
    step: f64,
    s: Vec<f64>,
    ierfc: Ierfc,
    token: CancelToken,
}

impl Nodes {
    /// The nodes needed for the responses of the given bores at the given times (s); diffusivity in m2/s.
    pub(super) fn new(
        diffusivity: f64,
        times: &RangeInclusive<f64>,
        bores: &[Placed],
        token: &CancelToken,
    ) -> Self {
        let least_radius = bores.iter().map(|bore| bore.source.radius).fold(f64::INFINITY, f64::min);
        Self::down_to(least_radius, diffusivity, times, token)
    }

    /// The nodes needed for responses at the given times (s) down to a distance (m); diffusivity in m2/s.
    pub fn down_to(
        least_radius: f64,
        diffusivity: f64,
        times: &RangeInclusive<f64>,
        token: &CancelToken,
    ) -> Self {
        Self::with_step(STEP, least_radius, diffusivity, times, token)
    }

    /// The same nodes with another step in ln s, for complex p: the closer p is to the imaginary axis, the smaller.
    pub fn with_step(
        step: f64,
        least_radius: f64,
        diffusivity: f64,
        times: &RangeInclusive<f64>,
        token: &CancelToken,
    ) -> Self {
        let least_p = LaplaceCurve::sample_points(times).into_iter().fold(f64::INFINITY, f64::min);
        let least = (least_p / (4.0 * diffusivity * CUT)).sqrt().ln();
        let most = (CUT.sqrt() / least_radius).ln();
        let count = ((most - least) / step).ceil().max(1.0) as usize;
        let s = (0..=count).map(|node| (least + step * node as f64).exp()).collect();
        Self { diffusivity, step, s, ierfc: Ierfc::new(), token: token.clone() }
    }

    /// The nodes.
    pub fn s(&self) -> &[f64] {
        &self.s
    }

    /// Exponents p / (4 a s^2) at each node, per unit of p (s).
    pub fn exponents(&self) -> impl Iterator<Item = f64> {
        self.s.iter().map(|s| 1.0 / (4.0 * self.diffusivity * s.powi(2)))
    }

    /// Checked by the work over the nodes.
    pub fn token(&self) -> &CancelToken {
        &self.token
    }

    /// Integral of erfc from x >= 0 to infinity.
    pub fn ierfc(&self, x: f64) -> f64 {
        self.ierfc.at(x)
    }

    /// exp(-p / (4 a s^2)) at each node, one column per p.
    pub fn decay(&self, points: &[f64]) -> Mat<f64> {
        Mat::from_fn(self.s.len(), points.len(), |node, point| {
            (-points[point] / (4.0 * self.diffusivity * self.s[node].powi(2))).exp()
        })
    }

    /// F between the segments of two bores, given by the depths of their segments' edges (m).
    ///
    /// Second differences cancel all terms that are constant or linear in u or v: ierf x is |x| + ierfc |x| here, and
    /// ierfc x alone for the mirror image.
    pub fn kernel(&self, s: f64, from: &[f64], to: &[f64]) -> Mat<f64> {
        let value = |from: f64, to: f64| {
            let (apart, image) = (s * (to - from).abs(), s * (to + from));
            apart + self.ierfc.at(apart) + self.ierfc.at(image)
        };
        let mut table = Mat::zeros(from.len(), to.len());
        let same = from == to;
        for column in 0..to.len() {
            for row in if same { column } else { 0 }..from.len() {
                table[(row, column)] = value(from[row], to[column]);
                if same {
                    table[(column, row)] = table[(row, column)];
                }
            }
        }
        Mat::from_fn(from.len() - 1, to.len() - 1, |row, column| {
            let upper = table[(row, column + 1)] - table[(row, column)];
            let lower = table[(row + 1, column + 1)] - table[(row + 1, column)];
            self.step / (2.0 * s) * (upper - lower)
        })
    }
}
