//! The exponential of negative numbers, so simple that it is worked out for several at once.

use std::f64::consts::{LN_2, LOG2_E};

/// exp(x) for x from -700 to 0, to 5e-10 of itself.
#[inline(always)]
pub fn exponential(x: f64) -> f64 {
    of_degree::<8>(x)
}

/// exp(x) for x from -700 to 0, to 1e-15 of itself near 0 and 1e-13 far from it.
#[inline(always)]
pub fn exact_exponential(x: f64) -> f64 {
    of_degree::<13>(x)
}

/// A power of 2 times Taylor's series.
#[inline(always)]
fn of_degree<const DEGREE: usize>(x: f64) -> f64 {
    // Adding so much leaves the nearest whole number in the last digits.
    const ROUND: f64 = 3.0 * (1_u64 << 51) as f64;
    let shifted = x * LOG2_E + ROUND;
    let rest = (x * LOG2_E - (shifted - ROUND)) * LN_2;
    let mut series = 1.0;
    for degree in (0..DEGREE).rev() {
        series = 1.0 + series * rest * ((degree + 1) as f64).recip();
    }
    // In two's complement, the last digits of the sum are the exponent.
    series * f64::from_bits(shifted.to_bits().wrapping_add(1023) << 52)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn is_the_exponential() {
        for step in 0..7000 {
            let x = -0.1 * f64::from(step);
            let error = exponential(x) / x.exp() - 1.0;
            assert!(error.abs() < 5e-10, "{x}: {error:e}");
            let error = exact_exponential(x) / x.exp() - 1.0;
            assert!(error.abs() < 1e-15 + 3e-16 * x.abs(), "{x}: {error:e}");
        }
    }
}
