//! Heat transport from a return well to the production well.
//!
//! Water flows along circular arcs between the two wells; its heat is retarded by the rock around the pores. Conduction
//! along and across the flow, the layers above and below, and regional groundwater flow are neglected.

use std::f64::consts::{FRAC_PI_2, PI};

use crate::ground_side::fresh_water::{DENSITY, HEAT_CAPACITY};

/// Time until heat from the return well first arrives, for a steady flow (kg/s) between wells a distance (m) apart in
/// an aquifer of a thickness (m) and a heat capacity (J/(m3 K)), in s.
///
/// Gringarten & Sauty (1975), J. Geophys. Res. 80, 4956: pi/3 x (heat capacity of the aquifer / of water) x thickness x
/// distance^2 / flow.
#[must_use]
pub fn breakthrough(flow: f64, distance: f64, thickness: f64, heat_capacity: f64) -> f64 {
    PI / 3.0 * heat_capacity / (DENSITY * HEAT_CAPACITY) * thickness * distance * distance / (flow / DENSITY)
}

/// Share of the water that comes from the return well with its heat, at a time relative to that of breakthrough.
///
/// Water that leaves the return well at an angle a from the straight line arrives after 3 (1 - a cot a) / sin^2 a times
/// as long, and leaves evenly in all directions: the share is a / pi. From the stream function of a source and a sink.
#[must_use]
pub fn returned_share(time: f64) -> f64 {
    if time <= 1.0 {
        return 0.0;
    }
    let (mut low, mut high) = (0.0, PI);
    // At both ends of the range the angle has a closed form, one more accurate early, the other late.
    let mut angle = ((time - 1.0) / 0.4).sqrt().min(PI - (3.0 * PI / time).cbrt()).max(SMALL);
    for _ in 0..MOST_STEPS {
        let (arrival, slope) = delay(angle);
        if arrival < time {
            low = angle
        } else {
            high = angle
        }
        let step = (time - arrival) / slope;
        if step.abs() < LAST_STEP {
            return (angle + step) / PI;
        }
        let newton = angle + step;
        angle = if newton > low && newton < high { newton } else { 0.5 * (low + high) };
    }
    angle / PI
}

/// Arrival time at an angle relative to the straight line, and its derivative.
fn delay(angle: f64) -> (f64, f64) {
    if angle < SMALL {
        return (1.0 + 0.4 * angle * angle, 0.8 * angle);
    }
    let (sin, cos) = angle.sin_cos();
    // Above a right angle the terms of the numerator add; below it they cancel, less so for larger angles.
    let numerator = if angle < FRAC_PI_2 { sin - angle * cos } else { sin + angle * cos.abs() };
    let arrival = 3.0 * numerator / (sin * sin * sin);
    (arrival, 3.0 * (angle / sin - arrival * cos) / sin)
}

/// Enough Newton or bisection steps for all cases, and the step (rad) after which no further one is needed.
const MOST_STEPS: usize = 60;
const LAST_STEP: f64 = 1e-9;

/// Angle below which two terms of the series are exact to 1e-9.
const SMALL: f64 = 5e-3;

/// Weights of the water returned 1, 2, ... intervals of pumping ago in the current water of the well.
///
/// `arrival` is the breakthrough in intervals.
pub fn weights(arrival: f64, intervals: usize) -> Vec<f64> {
    // Water that arrives within the interval itself is assigned to the previous one.
    let mut before = 0.0;
    let weight = |ago: usize| {
        let share = returned_share((ago as f64 + 0.5) / arrival);
        share - std::mem::replace(&mut before, share)
    };
    (1..=intervals).map(weight).collect()
}
