//! Exact superposition of hourly heat, by fast Fourier transform.

use std::collections::BTreeMap;
use std::f64::consts::FRAC_PI_2;
use std::sync::Arc;

use faer::c64;
use rayon::prelude::*;
use rustfft::{Fft, FftPlanner};

use crate::memo::{Memo, memoized};

/// A transform and its inverse.
type Plans = [Arc<dyn Fft<f64>>; 2];

/// Plans are cached across calls: creating one for a new length takes as long as a transform. Each length has its own
/// planner, because a planner reuses earlier plans and the last bits of a run must not depend on earlier runs.
static PLANS: Memo<Plans> = Memo::new(BTreeMap::new());

/// Step responses prepared for superposition, which is possible before the heat is known.
///
/// The convolution of two real series of N hours has 2 N hours. If element n of both is rotated by n/N of a right
/// angle, a transform of length N gives its first N hours in the real part and the others in the imaginary part
/// (right-angle convolution: Crandall & Pomerance 2005, Prime numbers, section 9.5; from memory).
pub struct Superposition {
    hours: usize,
    forward: Arc<dyn Fft<f64>>,
    inverse: Arc<dyn Fft<f64>>,
    turns: Turns,
    /// Transforms of the responses to one hour of heat.
    pulse_responses: Vec<Vec<c64>>,
}

impl Superposition {
    /// Prepares step responses at 1 h, 2 h, ... `hours` hours.
    #[must_use]
    pub fn new(hours: usize, step_responses: impl IntoIterator<Item = Vec<f64>>) -> Self {
        let length = quick_length(hours);
        let [forward, inverse] = plans(length);
        let turns = Turns::new(length);
        let mut scratch = scratch(forward.as_ref());
        let transform = |mut response: Vec<f64>| {
            let mut before = 0.0;
            response.iter_mut().for_each(|now| *now -= std::mem::replace(&mut before, *now));
            let mut turned = turns.turned(&response);
            forward.process_with_scratch(&mut turned, &mut scratch);
            turned
        };
        let pulse_responses = step_responses.into_iter().map(transform).collect();
        Self { hours, forward, inverse, turns, pulse_responses }
    }

    /// Each of the responses to the hourly heat: element n is the sum over m <= n of
    /// `heat(m) x (response[n - m] - response[n - m - 1])`.
    ///
    /// The result is that of plain superposition; the transform only makes it fast, with an error of about 1e-15 of the
    /// largest term.
    #[must_use]
    pub fn of(self, heat: &[f64]) -> Vec<Vec<f64>> {
        let Self { hours, forward, inverse, turns, pulse_responses } = self;
        let mut heat = turns.turned(heat);
        forward.process_with_scratch(&mut heat, &mut scratch(forward.as_ref()));
        let convolve = |scratch: &mut Vec<c64>, mut product: Vec<c64>| {
            product.iter_mut().zip(&heat).for_each(|(element, heat)| *element *= heat);
            inverse.process_with_scratch(&mut product, scratch);
            turns.turned_back(&product[..hours])
        };
        pulse_responses.into_par_iter().map_init(|| scratch(inverse.as_ref()), convolve).collect()
    }
}

fn plans(length: usize) -> Plans {
    let plan = || {
        let mut planner = FftPlanner::new();
        [planner.plan_fft_forward(length), planner.plan_fft_inverse(length)]
    };
    memoized(&PLANS, length, plan)
}

fn scratch(transform: &dyn Fft<f64>) -> Vec<c64> {
    vec![c64::ZERO; transform.get_inplace_scratch_len()]
}

/// Rotations by n / length of a right angle, n = 0, 1, ..., from two short tables.
struct Turns {
    length: usize,
    coarse: Vec<c64>,
    fine: Vec<c64>,
}

impl Turns {
    fn new(length: usize) -> Self {
        let turn = |n: usize| c64::cis(FRAC_PI_2 * n as f64 / length as f64);
        let fine = length.isqrt();
        let coarse = (0..length).step_by(fine).map(turn).collect();
        Self { length, coarse, fine: (0..fine).map(turn).collect() }
    }

    /// A series with its elements rotated, zero-padded to the whole length.
    fn turned(&self, series: &[f64]) -> Vec<c64> {
        let mut turned = Vec::with_capacity(self.length);
        for (coarse, part) in self.coarse.iter().zip(series.chunks(self.fine.len())) {
            turned.extend(part.iter().zip(&self.fine).map(|(value, fine)| coarse * fine * value));
        }
        turned.resize(self.length, c64::ZERO);
        turned
    }

    /// Real parts of the elements rotated back, divided by the length, which the transforms leave as a factor.
    fn turned_back(&self, series: &[c64]) -> Vec<f64> {
        let mut real = Vec::with_capacity(series.len());
        for (coarse, part) in self.coarse.iter().zip(series.chunks(self.fine.len())) {
            let coarse = coarse / self.length as f64;
            real.extend(part.iter().zip(&self.fine).map(|(value, fine)| (value * (coarse * fine).conj()).re));
        }
        real
    }
}

/// A length of at least `at_least`, at most an eighth above it, that transforms fast: a power of two with some factors
/// of 2 replaced by factors of 3 and 5.
fn quick_length(at_least: usize) -> usize {
    let power = at_least.next_power_of_two().max(64);
    let lengths = [36, 40, 45, 48, 54, 60, 64].map(|parts| power / 64 * parts);
    lengths.into_iter().find(|&length| length >= at_least).unwrap_or(power)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn transform_equals_the_plain_sum(heat in prop::collection::vec(-1e4..1e4, 1..200)) {
            let step: Vec<f64> = (1..=heat.len()).map(|hour| (hour as f64).ln_1p()).collect();
            let pulse = |hour: usize| step[hour] - if hour == 0 { 0.0 } else { step[hour - 1] };
            let sums = Superposition::new(step.len(), [step.clone()]).of(&heat);
            for (n, sum) in sums[0].iter().enumerate() {
                let plain: f64 = (0..=n).map(|m| heat[m] * pulse(n - m)).sum();
                prop_assert!((sum - plain).abs() < 1e-9, "hour {n}: {sum} against {plain}");
            }
        }
    }
}
