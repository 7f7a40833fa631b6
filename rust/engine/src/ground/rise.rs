//! Properties that the tests require of every field's step response.

use std::ops::RangeInclusive;

use super::LaplaceCurve;

/// Checks that a response with one wall temperature is positive, rises, and nowhere exceeds that with uniform heat: one
/// wall temperature extracts a given heat with the smallest drop.
pub fn check_rise(wall: &LaplaceCurve, heat: &LaplaceCurve, times: &RangeInclusive<f64>) {
    let mut before = 0.0;
    for step in 0..=60 {
        let time = times.start() * (times.end() / times.start()).powf(f64::from(step) / 60.0);
        let (now, above) = (wall.step_response(time), heat.step_response(time));
        assert!(now > before * (1.0 - 1e-5) && now > 0.0, "{time} s: {before} {now}");
        assert!(above > now * (1.0 - 1e-5), "{time} s: {now} {above}");
        before = now;
    }
}
