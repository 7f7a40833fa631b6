//! The exponential of negative numbers and the logarithm, simple enough to be evaluated for several arguments together.

use std::f64::consts::{LN_2, LOG2_E, SQRT_2};

/// exp(x) for x from -700 to 0, to a relative error of 5e-10.
#[inline(always)]
pub fn exponential(x: f64) -> f64 {
    of_degree::<8>(x)
}

/// exp(x) for x from -700 to 0, to a relative error of 1e-15 near 0 and 1e-13 far from it.
#[inline(always)]
pub fn exact_exponential(x: f64) -> f64 {
    of_degree::<13>(x)
}

/// A power of 2 times Taylor's series.
#[inline(always)]
fn of_degree<const DEGREE: usize>(x: f64) -> f64 {
    // Adding this leaves the nearest integer in the last digits.
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

/// ln(x) for positive normal x, to 1e-14: a power of 2, and the series of the inverse hyperbolic tangent for the rest.
#[inline(always)]
pub fn logarithm(x: f64) -> f64 {
    const DIGITS: u64 = (1 << 52) - 1;
    // 2^52, whose last digits count ones.
    const ONES: u64 = 1075 << 52;
    let bits = x.to_bits();
    let half = f64::from_bits((bits & DIGITS) | (1023 << 52));
    let above = half > SQRT_2;
    let rest = if above { 0.5 * half } else { half };
    let power = f64::from_bits((bits >> 52) | ONES) - (f64::from_bits(ONES) + 1023.0);
    let power = if above { power + 1.0 } else { power };
    let ratio = (rest - 1.0) / (rest + 1.0);
    let square = ratio * ratio;
    let mut series = 0.0;
    for divisor in [17.0, 15.0, 13.0, 11.0, 9.0, 7.0, 5.0, 3.0, 1.0_f64] {
        series = series * square + divisor.recip();
    }
    power * LN_2 + 2.0 * ratio * series
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn equals_the_exponential() {
        for step in 0..7000 {
            let x = -0.1 * f64::from(step);
            let error = exponential(x) / x.exp() - 1.0;
            assert!(error.abs() < 5e-10, "{x}: {error:e}");
            let error = exact_exponential(x) / x.exp() - 1.0;
            assert!(error.abs() < 1e-15 + 3e-16 * x.abs(), "{x}: {error:e}");
        }
    }

    #[test]
    fn equals_the_logarithm() {
        for step in -3000..3000 {
            let x = (0.01 * f64::from(step)).exp();
            let error = logarithm(x) - x.ln();
            assert!(error.abs() < 1e-14 * x.ln().abs().max(1.0), "{x}: {error:e}");
        }
    }
}
