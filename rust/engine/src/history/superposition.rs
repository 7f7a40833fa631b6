//! Exact superposition of hourly heat, by fast Fourier transform.

use std::sync::{LazyLock, Mutex, PoisonError};

use rayon::prelude::*;
use realfft::RealFftPlanner;

/// Plans outlive the call: that of a new length costs as much as a transform.
static PLANNER: LazyLock<Mutex<RealFftPlanner<f64>>> = LazyLock::new(|| Mutex::new(RealFftPlanner::new()));

/// The answer to one hour of heat, hour by hour: differences of the step response at 1 h, 2 h, ...
#[must_use]
pub fn impulse(step_response: &[f64]) -> Vec<f64> {
    let mut before = 0.0;
    step_response.iter().map(|&now| now - std::mem::replace(&mut before, now)).collect()
}

/// Convolves hourly heat with each of the impulse responses: element n is the sum over m <= n of `heat[m] x response[n - m]`.
///
/// The responses are as long as `heat`. The sum is that of plain superposition; the transform only makes it quick, and costs
/// about 1e-15 of the largest term.
#[must_use]
pub fn superpose(heat: &[f64], responses: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let length = smooth_length(2 * heat.len());
    let (forward, inverse) = {
        let mut planner = PLANNER.lock().unwrap_or_else(PoisonError::into_inner);
        (planner.plan_fft_forward(length), planner.plan_fft_inverse(length))
    };
    let spectrum = |values: &[f64]| {
        let mut padded = forward.make_input_vec();
        padded[..values.len()].copy_from_slice(values);
        let mut spectrum = forward.make_output_vec();
        // Fails only for buffers of a wrong length, and these are the planner's own.
        let _ = forward.process(&mut padded, &mut spectrum);
        spectrum
    };
    let heat_spectrum = spectrum(heat);
    let convolve = |response: &Vec<f64>| {
        let mut product = spectrum(response);
        product.iter_mut().zip(&heat_spectrum).for_each(|(a, b)| *a *= b);
        let mut sum = inverse.make_output_vec();
        let _ = inverse.process(&mut product, &mut sum);
        sum.truncate(heat.len());
        sum.iter_mut().for_each(|value| *value /= length as f64);
        sum
    };
    responses.par_iter().map(convolve).collect()
}

/// The least number from `at_least` on that has no prime factor above 5: such lengths transform fastest.
fn smooth_length(at_least: usize) -> usize {
    let is_smooth = |mut number: usize| {
        for factor in [2, 3, 5] {
            while number.is_multiple_of(factor) {
                number /= factor;
            }
        }
        number == 1
    };
    (at_least.max(2)..).find(|&number| number.is_multiple_of(2) && is_smooth(number)).unwrap_or(at_least)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn transform_equals_the_plain_sum(heat in prop::collection::vec(-1e4..1e4, 1..200)) {
            let step: Vec<f64> = (1..=heat.len()).map(|hour| (hour as f64).ln_1p()).collect();
            let response = impulse(&step);
            let sums = superpose(&heat, std::slice::from_ref(&response));
            for (n, sum) in sums[0].iter().enumerate() {
                let plain: f64 = (0..=n).map(|m| heat[m] * response[n - m]).sum();
                prop_assert!((sum - plain).abs() < 1e-9, "hour {n}: {sum} against {plain}");
            }
        }
    }
}
