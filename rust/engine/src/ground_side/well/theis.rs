//! Drawdown around a pumped well.

use std::f64::consts::PI;

use super::{Aquifer, Well};
use crate::ground_side::fresh_water::DENSITY;

/// Euler's constant.
const EULER: f64 = 0.577_215_664_901_532_9;

/// Argument from which the continued fraction is used.
const SERIES_END: f64 = 1.0;

/// Enough terms of either for full precision where it is used.
const MOST_TERMS: usize = 100;

/// The well function W(u), the exponential integral E1, for u above 0.
///
/// Abramowitz & Stegun (1964), eq. 5.1.11, below 1; their continued fraction, eq. 5.1.22, from there on, by Lentz's
/// method.
#[must_use]
pub fn well_function(u: f64) -> f64 {
    if u < SERIES_END {
        let mut sum = -EULER - u.ln();
        let mut power = 1.0;
        for term in 1..MOST_TERMS {
            power *= -u / term as f64;
            let next = power / term as f64;
            sum -= next;
            if next.abs() < f64::EPSILON * sum.abs() {
                break;
            }
        }
        return sum;
    }
    let mut b = u + 1.0;
    let mut c = f64::MAX;
    let mut d = 1.0 / b;
    let mut value = d;
    for term in 1..MOST_TERMS {
        let a = -((term * term) as f64);
        b += 2.0;
        d = 1.0 / (a * d + b);
        c = b + a / c;
        value *= c * d;
        if (c * d - 1.0).abs() < f64::EPSILON {
            break;
        }
    }
    value * (-u).exp()
}

impl Aquifer {
    /// Drawdown at a distance (m) per m3/s, a time (s) after pumping began (s/m2).
    ///
    /// Theis (1935), Trans. Am. Geophys. Union 16, 519.
    #[must_use]
    pub fn drawdown(&self, distance: f64, time: f64) -> f64 {
        let u = distance * distance * self.storativity / (4.0 * self.transmissivity * time);
        well_function(u) / (4.0 * PI * self.transmissivity)
    }
}

impl Well {
    /// Drawdown in the well for a flow (kg/s), a time (s) after pumping began (m); the return well reduces it.
    #[must_use]
    pub fn drawdown(&self, flow: f64, time: f64) -> f64 {
        let own = self.aquifer.drawdown(0.5 * self.diameter, time);
        let lifted = self.return_distance.map_or(0.0, |distance| self.aquifer.drawdown(distance, time));
        flow / DENSITY * (own - lifted)
    }
}
