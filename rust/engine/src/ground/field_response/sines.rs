//! Projection of a bore's heat onto sines of the depth, and of the sines onto its drops.
//!
//! The integral of a sine over a segment is the difference of -cos(k z) / k between its edges. The cosines are
//! recomputed each time, which is faster than reading them from memory.

use multiversion::multiversion;

use super::lattice::{F32Lanes, LANES};
use super::segments::SEGMENTS;

/// Edges of a bore's segments, padded to fill vectors, and edges whose drops are summed side by side.
const EDGES: usize = SEGMENTS + 1;
const PLACES: usize = 32;
const BESIDE: usize = 5;
const _: () = assert!(PLACES >= EDGES && EDGES.is_multiple_of(BESIDE));

/// Sines that are processed together.
const FEW: usize = 8;

/// The sines at the edges of a bore's segments.
pub struct Sines {
    /// Wave number of the first sine (1/m); those of the others are multiples of it.
    rate: f64,
    /// Cosine of the first at each edge.
    first: [f64; PLACES],
}

impl Sines {
    /// Sines, the first with a wave number (1/m), at edges at the given depths (m).
    pub fn new(rate: f64, edges: &[f64]) -> Self {
        let mut first = [0.0; PLACES];
        first.iter_mut().zip(edges).for_each(|(first, edge)| *first = (rate * edge).cos());
        Self { rate, first }
    }

    /// Projection of the heat of the segments onto the first sines.
    pub fn take(&self, heat: &[F32Lanes], taken: &mut [F32Lanes]) {
        take(self, heat, taken);
    }

    /// Adds the contribution of the first sines to the drops of the segments, times their lengths.
    pub fn give(&self, met: &[F32Lanes], image: &mut [F32Lanes]) {
        give(self, met, image);
    }

    /// The cosines divided by their wave numbers, a few sines at a time.
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
    /// Advances the cosines by one: cos((n + 1) x) = 2 cos x cos(n x) - cos((n - 1) x).
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

/// Summation by parts: only changes of the heat at each edge matter.
#[multiversion(targets("x86_64+avx+avx2+fma+avx512f+avx512vl+avx512dq+avx512bw", "x86_64+avx+avx2+fma"))]
fn take(sines: &Sines, heat: &[F32Lanes], taken: &mut [F32Lanes]) {
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
            for sine in 0..FEW {
                for lane in 0..LANES {
                    sums[sine][lane] = few[sine][edge].mul_add(change[lane], sums[sine][lane]);
                }
            }
        }
        taken.iter_mut().zip(sums).for_each(|(taken, sum)| *taken = sum);
    }
}

#[multiversion(targets("x86_64+avx+avx2+fma+avx512f+avx512vl+avx512dq+avx512bw", "x86_64+avx+avx2+fma"))]
fn give(sines: &Sines, met: &[F32Lanes], image: &mut [F32Lanes]) {
    let mut sums = [[0.0; LANES]; EDGES];
    let mut cosines = sines.cosines();
    for met in met.chunks(FEW) {
        let few = cosines.few();
        for (block, sums) in sums.chunks_exact_mut(BESIDE).enumerate() {
            let mut beside = [[0.0; LANES]; BESIDE];
            beside.copy_from_slice(sums);
            for (cosines, met) in few.iter().zip(met) {
                for edge in 0..BESIDE {
                    for lane in 0..LANES {
                        beside[edge][lane] =
                            cosines[block * BESIDE + edge].mul_add(met[lane], beside[edge][lane]);
                    }
                }
            }
            sums.copy_from_slice(&beside);
        }
    }
    for (segment, image) in image.iter_mut().enumerate() {
        for lane in 0..LANES {
            image[lane] += sums[segment][lane] - sums[segment + 1][lane];
        }
    }
}
