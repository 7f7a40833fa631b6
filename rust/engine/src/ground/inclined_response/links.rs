//! The kernel between two straight pieces of bores, as a sum over pairs of points.

use multiversion::multiversion;

use super::piece::{Piece, squared};
use crate::ground::field_response::exponential::exact_exponential;
use crate::ground::gauss::gauss_legendre;

/// Ratio of the length of a piece to the distance between the middles of two pieces up to which two, three and four
/// points suffice: the error of the sum is about 1e-6.
const LENGTHS: [f64; 3] = [0.1, 0.3, 0.6];

/// Beyond q d = FAR, exp(-q d) is negligible compared with 1.
const FAR: f64 = 40.0;

/// Pairs of points of pieces of bores: the effect of one on the other is weight x exp(-q d).
#[derive(Debug, Default)]
pub struct Links {
    /// d (m).
    distances: Vec<f64>,
    /// Weights (m).
    weights: Vec<f64>,
}

impl Links {
    /// Number of links.
    pub fn count(&self) -> usize {
        self.distances.len()
    }

    /// Whether heat has not yet reached the closest two points; q in 1/m.
    pub fn are_out_of_reach(&self, q: f64) -> bool {
        !self.distances.iter().any(|distance| q * distance < FAR)
    }

    /// The sums of weight x exp(-q d), in m, over the links up to each of some ends, starting at the previous end; q in
    /// 1/m.
    pub fn sums(&self, ends: &[usize], q: f64) -> Vec<f64> {
        let mut drops = vec![0.0; self.count()];
        drop_all(&self.distances, &self.weights, q, &mut drops);
        let starts = std::iter::once(&0).chain(ends);
        starts.zip(ends).map(|(&start, &end)| drops[start..end].iter().sum()).collect()
    }
}

#[multiversion(targets("x86_64+avx+avx2+fma"))]
fn drop_all(distances: &[f64], weights: &[f64], q: f64, drops: &mut [f64]) {
    for ((drop, distance), weight) in drops.iter_mut().zip(distances).zip(weights) {
        *drop = weight * exact_exponential((-q * distance).max(-700.0));
    }
}

/// Points and weights of Gauss-Legendre quadrature, two to four.
pub struct Rules([Vec<(f64, f64)>; 3]);

impl Rules {
    /// The rules.
    pub fn new() -> Self {
        Self([gauss_legendre::<2>().to_vec(), gauss_legendre::<3>().to_vec(), gauss_legendre::<4>().to_vec()])
    }

    /// Adds the links between two pieces, for which
    ///
    /// ```text
    /// sum of weight x exp(-q d) = 1/2 x double integral over both pieces of exp(-q d) / d
    /// ```
    ///
    /// times `sign`, where d is the distance between two points, with an additional perpendicular offset `aside` (m).
    /// Pieces are halved until they are short compared with their distance.
    ///
    /// This is 2 pi k times the effect of a point source of constant strength in the Laplace domain, times p (Carslaw &
    /// Jaeger 1959, section 10.4), for pieces of bores as in Cui, Yang & Fang 2006 and Lamarche 2011, from memory.
    pub fn link(&self, from: Piece, to: Piece, aside: f64, sign: f64, links: &mut Links) {
        let distance = (squared(from.at(0.0), to.at(0.0)) + aside * aside).sqrt();
        let rule = |piece: &Piece| LENGTHS.iter().position(|most| piece.length() <= most * distance);
        let (Some(on_from), Some(on_to)) = (rule(&from), rule(&to)) else {
            let pairs = if from.length() > to.length() {
                from.halves().map(|half| [half, to])
            } else {
                to.halves().map(|half| [from, half])
            };
            return pairs.into_iter().for_each(|[from, to]| self.link(from, to, aside, sign, links));
        };
        let area = sign * 0.125 * from.length() * to.length();
        for &(u, on_u) in &self.0[on_from] {
            for &(v, on_v) in &self.0[on_to] {
                let distance = (squared(from.at(u), to.at(v)) + aside * aside).sqrt();
                links.distances.push(distance);
                links.weights.push(area * on_u * on_v / distance);
            }
        }
    }
}
