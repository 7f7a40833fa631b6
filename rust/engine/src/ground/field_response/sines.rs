//! What sines of the depth take of the heat of a bore, and give to its drops.
//!
//! The integral of a sine over a segment is the difference of -cos(k z) / k between its edges. The cosines are made anew each
//! time, which takes less long than reading them from memory.

use multiversion::multiversion;

use super::lattice::{LANES, Lanes};
use super::segments::SEGMENTS;

/// Edges of a bore's segments, and as many places as fill vectors.
const EDGES: usize = SEGMENTS + 1;
const PLACES: usize = 28;

/// Sines that are worked on together.
const FEW: usize = 8;

/// The sines at the edges of a bore's segments.
pub struct Sines {
    /// Rate of the first sine [1/m]; those of the others are multiples of it.
    rate: f64,
    /// Cosine of the first at each edge.
    first: [f64; PLACES],
}

impl Sines {
    /// Sines of which the first has a rate [1/m], at edges at the given depths [m].
    pub fn new(rate: f64, edges: &[f64]) -> Self {
        let mut first = [0.0; PLACES];
        first.iter_mut().zip(edges).for_each(|(first, edge)| *first = (rate * edge).cos());
        Self { rate, first }
    }

    /// What the first sines take of the heat of the segments.
    pub fn take(&self, heat: &[Lanes], taken: &mut [Lanes]) {
        take(self, heat, taken);
    }

    /// Adds to the drops of the segments, times their lengths, those of the first sines.
    pub fn give(&self, met: &[Lanes], image: &mut [Lanes]) {
        give(self, met, image);
    }

    /// The cosines over their rates, for a few sines after a few.
    #[inline(always)]
    fn cosines(&self) -> Cosines<'_> {
        Cosines { sines: self, number: 0, before: [1.0; PLACES], now: self.first }
    }
}

struct Cosines<'a> {
    sines: &'a Sines,
    number: usize,
    before: [f64; PLACES],
    now: [f64; PLACES],
}

impl Cosines<'_> {
    /// Takes the cosines on by one: cos((n + 1) x) = 2 cos x cos(n x) - cos((n - 1) x).
    #[inline(always)]
    fn few(&mut self) -> [[f32; PLACES]; FEW] {
        let mut few = [[0.0; PLACES]; FEW];
        for values in &mut few {
            self.number += 1;
            let scale = (self.number as f64 * self.sines.rate).recip();
            let places = values.iter_mut().zip(&self.sines.first).zip(&mut self.before).zip(&mut self.now);
            for (((value, first), before), now) in places {
                *value = (scale * *now) as f32;
                (*before, *now) = (*now, (2.0 * first).mul_add(*now, -*before));
            }
        }
        few
    }
}

/// By parts: what counts is by how much the heat changes at each edge.
#[multiversion(targets("x86_64+avx+avx2+fma"))]
fn take(sines: &Sines, heat: &[Lanes], taken: &mut [Lanes]) {
    let mut changes = [[0.0; LANES]; EDGES];
    for (segment, heat) in heat.iter().enumerate() {
        for lane in 0..LANES {
            changes[segment][lane] += heat[lane];
            changes[segment + 1][lane] = -heat[lane];
        }
    }
    let mut cosines = sines.cosines();
    for taken in taken.chunks_mut(FEW) {
        let few = cosines.few();
        let mut sums = [[0.0; LANES]; FEW];
        for (edge, change) in changes.iter().enumerate() {
            for (sum, cosines) in sums.iter_mut().zip(&few) {
                for lane in 0..LANES {
                    sum[lane] = cosines[edge].mul_add(change[lane], sum[lane]);
                }
            }
        }
        taken.copy_from_slice(&sums[..taken.len()]);
    }
}

#[multiversion(targets("x86_64+avx+avx2+fma"))]
fn give(sines: &Sines, met: &[Lanes], image: &mut [Lanes]) {
    let mut sums = [[0.0; LANES]; EDGES];
    let mut cosines = sines.cosines();
    for met in met.chunks(FEW) {
        let few = cosines.few();
        let mut all = [[0.0; LANES]; FEW];
        all[..met.len()].copy_from_slice(met);
        for (edge, sum) in sums.iter_mut().enumerate() {
            for (cosines, met) in few.iter().zip(&all) {
                for lane in 0..LANES {
                    sum[lane] = cosines[edge].mul_add(met[lane], sum[lane]);
                }
            }
        }
    }
    for (segment, image) in image.iter_mut().enumerate() {
        for lane in 0..LANES {
            image[lane] += sums[segment][lane] - sums[segment + 1][lane];
        }
    }
}
