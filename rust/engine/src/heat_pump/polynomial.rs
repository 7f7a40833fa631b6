//! Polynomials c0 + c1 x + c2 x2 + ...

/// Value and slope at x, by Horner's rule.
#[inline]
#[must_use]
pub fn value_and_slope(coefficients: &[f64], x: f64) -> (f64, f64) {
    coefficients.iter().rev().fold((0.0, 0.0), |(value, slope), c| (value * x + c, slope * x + value))
}

/// Argument and value of the minimum over an interval.
#[must_use]
pub fn least(coefficients: &[f64], [from, to]: [f64; 2]) -> (f64, f64) {
    let at = |x| (x, value_and_slope(coefficients, x).0);
    sign_changes(&derivative(coefficients), from, to)
        .into_iter()
        .chain([to])
        .map(at)
        .fold(at(from), |least, place| if place.1 < least.1 { place } else { least })
}

fn derivative(coefficients: &[f64]) -> Vec<f64> {
    coefficients.iter().enumerate().skip(1).map(|(power, c)| power as f64 * c).collect()
}

/// Zeros of the polynomial with a change of sign in an interval: it is monotonic between those of its derivative, so
/// bisection finds each.
fn sign_changes(coefficients: &[f64], from: f64, to: f64) -> Vec<f64> {
    if coefficients.len() < 2 {
        return Vec::new();
    }
    let value = |x| value_and_slope(coefficients, x).0;
    let mut knots = vec![from];
    knots.extend(sign_changes(&derivative(coefficients), from, to));
    knots.push(to);
    let brackets = knots.windows(2).map(|pair| (pair[0], pair[1]));
    brackets.filter(|&(a, b)| value(a) * value(b) < 0.0).map(|(a, b)| bisect(value, a, b)).collect()
}

fn bisect(f: impl Fn(f64) -> f64, mut from: f64, mut to: f64) -> f64 {
    let rises = f(from) < 0.0;
    loop {
        let middle = 0.5 * (from + to);
        if middle <= from || middle >= to {
            return middle;
        }
        if (f(middle) < 0.0) == rises {
            from = middle;
        } else {
            to = middle;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn horner_gives_value_and_slope() {
        // 2 - 3 x + x3 at 2: 4 with slope 9.
        assert_eq!(value_and_slope(&[2.0, -3.0, 0.0, 1.0], 2.0), (4.0, 9.0));
        assert_eq!(value_and_slope(&[2.5], 7.0), (2.5, 0.0));
        assert_eq!(value_and_slope(&[], 7.0), (0.0, 0.0));
    }

    #[test]
    fn the_minimum_is_inside_or_at_an_end() {
        let (x, value) = least(&[9.0, -6.0, 1.0], [-10.0, 40.0]);
        assert!((x - 3.0).abs() < 1e-12 && value.abs() < 1e-12);
        assert_eq!(least(&[1.0, 2.0], [-1.0, 4.0]), (-1.0, -1.0));
        assert_eq!(least(&[1.0, -2.0], [-1.0, 4.0]), (4.0, -7.0));
    }

    proptest! {
        #[test]
        fn no_sample_is_below_the_minimum(
            coefficients in prop::collection::vec(-1.0..1.0_f64, 1..=6),
            share in 0.0..1.0_f64,
        ) {
            let (_, value) = least(&coefficients, [-2.0, 3.0]);
            let sample = value_and_slope(&coefficients, -2.0 + 5.0 * share).0;
            prop_assert!(sample >= value - 1e-9, "{sample} < {value}");
        }
    }
}
