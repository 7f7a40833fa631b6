//! Sums over bores of exp(-r^2 s^2), for s so small that they extend over many bores, by Fourier transforms.
//!
//! Values at the bores are spread onto a periodic square lattice. There, exp(-r^2 s^2) is the sum over wave numbers k
//! of pi / (s^2 area) exp(-k^2 / (4 s^2)) exp(i k r), so one transform of the values is enough for every s (Dutt &
//! Rokhlin 1993, Barnett, Magland & af Klinteberg 2019).

use std::f64::consts::PI;
use std::ops::Range;
use std::sync::Arc;

use multiversion::multiversion;
use rayon::prelude::*;
use realfft::num_complex::Complex32;
use realfft::num_traits::Zero;
use realfft::{ComplexToReal, RealFftPlanner, RealToComplex};
use rustfft::{Fft, FftPlanner};

use super::exponential::exponential;
use super::period::period;
use super::window::Window;
use crate::cancel_token::CancelToken;

/// Values side by side.
pub const LANES: usize = 8;
pub type F32Lanes = [f32; LANES];

/// Resolution of a lattice.
#[derive(Clone, Copy)]
pub struct Grade {
    /// Step x the largest s.
    pub step: f64,
    /// Terms below exp(-cut) are neglected, in distance and in wave number.
    pub cut: f64,
}

impl Grade {
    /// Distance over which s (1/m) acts (m).
    pub fn reach(&self, s: f64) -> f64 {
        self.cut.sqrt() / s
    }

    /// Points of a lattice for s from `least` to `greatest`, along each axis.
    pub fn counts(
        &self,
        positions: &[[f64; 2]],
        least: f64,
        greatest: f64,
        token: &CancelToken,
    ) -> [usize; 2] {
        period(positions, self.reach(least), self.step / greatest, token)
    }
}

/// Points along an axis around a bore, and their weights.
type AxisPoints<const W: usize> = ([u32; W], [f32; W]);

/// A lattice onto which each bore is spread by a window of W x W points.
pub struct Lattice<const W: usize> {
    step: f64,
    counts: [usize; 2],
    places: Vec<[AxisPoints<W>; 2]>,
    /// Whether a bore extends to the row.
    used: Vec<bool>,
    /// Wave numbers along x and y, in radians per step, with the square of the window's transform; those along y are
    /// those of the transform's first half.
    rates: [Vec<(f64, f64)>; 2],
    forward: Arc<dyn RealToComplex<f32>>,
    backward: Arc<dyn ComplexToReal<f32>>,
    down: [Arc<dyn Fft<f32>>; 2],
    /// Checked between bores and between wave numbers.
    token: CancelToken,
}

/// Exponentials of smaller numbers are negligible in single precision.
const LEAST: f64 = -100.0;

/// Fewest bores that one thread spreads onto the lattice, and bores between two checks of the token.
const FEW: usize = 10_000;

/// Wave numbers along x that are processed together: their values in a row fill a cache line.
const TOGETHER: usize = 8;

impl<const W: usize> Lattice<W> {
    /// A lattice for s from `least` to `greatest` (1/m).
    pub fn new(positions: &[[f64; 2]], grade: Grade, least: f64, greatest: f64, token: &CancelToken) -> Self {
        let step = grade.step / greatest;
        let counts = grade.counts(positions, least, greatest, token);
        let place = |position: &[f64; 2]| {
            token.check();
            [0, 1].map(|axis| {
                let (first, weights) = Window::<W>::weights(position[axis] / step);
                let count = counts[axis] as i64;
                (std::array::from_fn(|point| (first + point as i64).rem_euclid(count) as u32), weights)
            })
        };
        let places: Vec<[AxisPoints<W>; 2]> = positions.par_iter().with_min_len(FEW).map(place).collect();
        let mut used = vec![false; counts[1]];
        places.iter().flat_map(|place| place[1].0).for_each(|row| used[row as usize] = true);
        let transform = Window::<W>::transform();
        let rates = counts.map(|count| {
            let rate = |k: usize| 2.0 * PI * k as f64 / count as f64;
            let most = 2.0 * grade.cut.sqrt() * grade.step;
            let kept = (0..count.div_ceil(2)).map(rate).take_while(|&rate| rate <= most);
            kept.map(|rate| (rate, transform(rate).powi(2))).collect()
        });
        let (mut real, mut complex) = (RealFftPlanner::new(), FftPlanner::new());
        Self {
            step,
            counts,
            places,
            used,
            rates,
            forward: real.plan_fft_forward(counts[0]),
            backward: real.plan_fft_inverse(counts[0]),
            down: [complex.plan_fft_forward(counts[1]), complex.plan_fft_inverse(counts[1])],
            token: token.clone(),
        }
    }

    /// Factor of each wave number along an axis in exp(-r^2 s^2), the product of both axes; the window is divided out.
    pub fn gaussian(&self, s: f64, axis: usize) -> Vec<f32> {
        let width = 2.0 * s * self.step;
        let scale = PI.sqrt() / (s * self.step * self.counts[axis] as f64);
        let value = |&(rate, window): &(f64, f64)| {
            (scale * exponential((-(rate / width).powi(2)).max(LEAST)) / window) as f32
        };
        self.rates[axis].iter().map(value).collect()
    }

    /// Number of wave numbers along x and along half of y.
    pub fn rates(&self) -> [usize; 2] {
        [self.rates[0].len(), self.rates[1].len()]
    }

    /// Checked by the work on the lattice.
    pub fn token(&self) -> &CancelToken {
        &self.token
    }

    /// Numbers of points along x and y.
    pub fn counts(&self) -> [usize; 2] {
        self.counts
    }

    /// Spreads values of each bore onto the lattice.
    fn spread(&self, values: &[F32Lanes]) -> Vec<F32Lanes> {
        let mut points = vec![[0.0; LANES]; self.counts[0] * self.counts[1]];
        for (places, values) in self.places.chunks(FEW).zip(values.chunks(FEW)) {
            self.token.check();
            spread(&mut points, places, self.counts[0], values);
        }
        points
    }

    /// Transforms along x, for some lanes, of values on the lattice: y, lane, wave number.
    fn along_x(&self, points: &[F32Lanes], lanes: &[usize]) -> Vec<Complex32> {
        let (width, kept) = (self.counts[0], self.rates[0].len());
        let mut rows = vec![Complex32::zero(); self.counts[1] * lanes.len() * kept];
        let transform = |((row, points), used): ((&mut [Complex32], &[F32Lanes]), &bool)| {
            if !used {
                return;
            }
            self.token.check();
            let (mut input, mut output) = (self.forward.make_input_vec(), self.forward.make_output_vec());
            let mut scratch = self.forward.make_scratch_vec();
            for (&lane, row) in lanes.iter().zip(row.chunks_mut(kept)) {
                input.iter_mut().zip(points).for_each(|(value, point)| *value = point[lane]);
                // The transform can only fail for wrong lengths, and these are as required.
                let _ = self.forward.process_with_scratch(&mut input, &mut output, &mut scratch);
                row.copy_from_slice(&output[..kept]);
            }
        };
        let lines = rows.par_chunks_mut(lanes.len() * kept).zip(points.par_chunks(width)).zip(&self.used);
        lines.for_each(transform);
        rows
    }

    /// Transforms of values at the bores for some of the wave numbers along x: wave number, lane, wave number along y,
    /// of which the later half are negative. `rows` are those along x, with this many lanes.
    fn along_y(&self, rows: &[Complex32], rates: Range<usize>, lanes: usize) -> Vec<Complex32> {
        self.token.check();
        let (height, kept) = (self.counts[1], self.rates[0].len());
        let mut columns = vec![Complex32::zero(); rates.len() * lanes * height];
        for (y, _) in self.used.iter().enumerate().filter(|(_, used)| **used) {
            for lane in 0..lanes {
                let row = &rows[(y * lanes + lane) * kept..][rates.clone()];
                for (rate, value) in row.iter().enumerate() {
                    columns[(rate * lanes + lane) * height + y] = *value;
                }
            }
        }
        self.down[0].process(&mut columns);
        columns
    }

    /// The wave numbers along x, a few at a time.
    fn few_rates(&self) -> Vec<Range<usize>> {
        let count = self.rates[0].len();
        (0..count).step_by(TOGETHER).map(|first| first..count.min(first + TOGETHER)).collect()
    }

    /// Calls `f` with a few wave numbers along x and the transforms of each group of lanes there, and returns its
    /// results.
    pub fn spectra<T: Send>(
        &self,
        groups: &[Vec<F32Lanes>],
        f: impl Fn(Range<usize>, &[Vec<Complex32>]) -> T + Sync,
    ) -> Vec<T> {
        let lanes: [usize; LANES] = std::array::from_fn(|lane| lane);
        let rows: Vec<Vec<Complex32>> =
            groups.par_iter().map(|values| self.along_x(&self.spread(values), &lanes)).collect();
        let few = |rates: Range<usize>| {
            let columns: Vec<_> = rows.iter().map(|rows| self.along_y(rows, rates.clone(), LANES)).collect();
            f(rates, &columns)
        };
        self.few_rates().into_par_iter().map(few).collect()
    }

    /// Adds to each bore the effect of the values of all bores, where `factors` (wave number along x, lane, wave number
    /// along y) are the transfer factors. Lanes in which all values are zero are skipped.
    pub fn convolve(&self, values: &[F32Lanes], factors: &[f32], sums: &mut [F32Lanes]) {
        let (height, [kept, tall]) = (self.counts[1], self.rates());
        let lanes: Vec<usize> =
            (0..LANES).filter(|&lane| values.iter().any(|value| value[lane] != 0.0)).collect();
        if lanes.is_empty() {
            return;
        }
        let mut points = self.spread(values);
        let rows = self.along_x(&points, &lanes);
        let few = |rates: Range<usize>| {
            let mut columns = self.along_y(&rows, rates.clone(), lanes.len());
            let places = rates.flat_map(|rate| lanes.iter().map(move |lane| rate * LANES + lane));
            for (column, place) in columns.chunks_mut(height).zip(places) {
                let factors = &factors[place * tall..][..tall];
                column[tall..=height - tall].fill(Complex32::zero());
                column[0] *= factors[0];
                for (rate, factor) in factors.iter().enumerate().skip(1) {
                    column[rate] *= factor;
                    column[height - rate] *= factor;
                }
            }
            self.down[1].process(&mut columns);
            columns
        };
        let blocks: Vec<Vec<Complex32>> = self.few_rates().into_par_iter().map(few).collect();
        let transform = |(y, points): (usize, &mut [F32Lanes])| {
            if !self.used[y] {
                return;
            }
            self.token.check();
            let (mut input, mut output) = (self.backward.make_input_vec(), self.backward.make_output_vec());
            let mut scratch = self.backward.make_scratch_vec();
            for (at, &lane) in lanes.iter().enumerate() {
                input.fill(Complex32::zero());
                for (rate, value) in input[..kept].iter_mut().enumerate() {
                    *value = blocks[rate / TOGETHER][(rate % TOGETHER * lanes.len() + at) * height + y];
                }
                input[0].im = 0.0;
                // Lengths are as required, and the constant is real: nothing else can fail.
                let _ = self.backward.process_with_scratch(&mut input, &mut output, &mut scratch);
                points.iter_mut().zip(&output).for_each(|(point, value)| point[lane] = *value);
            }
        };
        points.par_chunks_mut(self.counts[0]).enumerate().for_each(transform);
        for (places, sums) in self.places.chunks(FEW).zip(sums.chunks_mut(FEW)) {
            self.token.check();
            gather(&points, places, self.counts[0], sums);
        }
    }
}

/// Spreads values of each bore onto the points around it.
#[multiversion(targets("x86_64+avx+avx2+fma"))]
fn spread<const W: usize>(
    points: &mut [F32Lanes],
    places: &[[AxisPoints<W>; 2]],
    width: usize,
    values: &[F32Lanes],
) {
    for ([(columns, x), (rows, y)], values) in places.iter().zip(values) {
        for (row, y) in rows.iter().zip(y) {
            let scaled = values.map(|value| y * value);
            let line = &mut points[*row as usize * width..][..width];
            for (column, x) in columns.iter().zip(x) {
                let point = &mut line[*column as usize];
                for lane in 0..LANES {
                    point[lane] += x * scaled[lane];
                }
            }
        }
    }
}

/// Adds to each bore the values at the points around it.
#[multiversion(targets("x86_64+avx+avx2+fma"))]
fn gather<const W: usize>(
    points: &[F32Lanes],
    places: &[[AxisPoints<W>; 2]],
    width: usize,
    sums: &mut [F32Lanes],
) {
    for ([(columns, x), (rows, y)], sums) in places.iter().zip(sums) {
        for (row, y) in rows.iter().zip(y) {
            let line = &points[*row as usize * width..][..width];
            let mut along = [0.0; LANES];
            for (column, x) in columns.iter().zip(x) {
                let point = &line[*column as usize];
                for lane in 0..LANES {
                    along[lane] += x * point[lane];
                }
            }
            for lane in 0..LANES {
                sums[lane] += y * along[lane];
            }
        }
    }
}
