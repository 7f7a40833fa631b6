//! Fields over the whole range of the schema: each gives a plausible response or an error of its own. Cancelled work
//! ends.

// A test has no caller to return an error to.
#![allow(clippy::panic, clippy::expect_used, clippy::unwrap_used)]

use std::thread;
use std::time::Duration;

use loopdrift::Error;
use loopdrift::cancel_token::CancelToken;
use loopdrift::ground::{Condition, Ground, Lean, LineSource, Shape, closest, inclined_response};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;

/// Fields drawn, the same in each run.
const CASES: u32 = 40;

const DAY: f64 = 86_400.0;
const YEAR: f64 = 365.0 * DAY;

fn grid(columns: usize, rows: usize, spacing: f64) -> Vec<[f64; 2]> {
    (0..columns * rows).map(|i| [(i % columns) as f64 * spacing, (i / columns) as f64 * spacing]).collect()
}

fn ground(conductivity: f64, volumetric_heat_capacity: f64) -> Ground {
    Ground {
        conductivity,
        volumetric_heat_capacity,
        temperature: 10.0,
        gradient: 0.0,
        darcy_flux: 0.0,
        flow_direction: 0.0,
        warming: None,
    }
}

/// Checks a field's responses from an hour on: finite, rising, and one wall temperature no higher than the same heat
/// everywhere.
fn check(ground: &Ground, sources: &[LineSource], positions: &[[f64; 2]], years: f64) {
    let token = CancelToken::default();
    let times = 3600.0..=years * YEAR;
    let (shape, slower) = Shape::of(ground, sources, positions, &[], &times);
    let uniform =
        inclined_response(ground, sources, positions, &[], &times, Condition::UniformHeatFlux, &token);
    let (wall, uniform) = match (shape.response(&token), uniform) {
        (Ok(wall), Ok(uniform)) => (wall.slowed(slower), uniform),
        (Err(error), _) | (_, Err(error)) => {
            assert!(matches!(error, Error::InvalidInput { .. }), "{error}");
            return;
        }
    };
    let last = wall.step_response(*times.end());
    let is_near = closest(positions) < 4.0 * sources[0].radius;
    let mut before = -1e-5 * last;
    for step in 0..=30 {
        let time = times.start() * (times.end() / times.start()).powf(f64::from(step) / 30.0);
        let (now, above) = (wall.step_response(time), uniform.step_response(time));
        assert!(now.is_finite() && above.is_finite());
        assert!(now > before - 1e-5 * last, "{time} s: {before} {now}");
        // Closer than four radii, both approximate a neighbour's wall by its axis, and differ by up to 5 % in the first
        // day.
        assert!(is_near || now < above * (1.0 + wall.error()) + 1e-5 * last, "{time} s: {now} {above}");
        before = now;
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: CASES, rng_seed: RngSeed::Fixed(15), ..ProptestConfig::default() })]

    #[test]
    fn gives_a_response_or_an_error(
        columns in 1..9_usize,
        rows in 1..6_usize,
        radius in 0.025..0.6_f64,
        slenderness in prop_oneof![20.0..400.0_f64, 400.0..4000.0_f64],
        cover in prop_oneof![Just(0.0), 0.0..2.0_f64, 0.0..200.0_f64],
        apart in prop_oneof![Just(2.0), 2.0..60.0_f64],
        conductivity in 0.1..10.0_f64,
        capacity in 2e5..6e6_f64,
        years in prop_oneof![0.01..1.0_f64, 1.0..200.0_f64],
        spread in prop_oneof![Just(0.0), 0.0..0.9_f64],
    ) {
        let depth = (slenderness * radius).clamp(1.0, 1000.0);
        let source = LineSource { depth, buried_depth: cover * radius, radius };
        let of_bore = |bore: usize| {
            let share = (bore as f64 * 0.754_877_67).fract();
            LineSource { depth: depth * (1.0 + spread * share), ..source }
        };
        let sources: Vec<LineSource> =
            if spread == 0.0 { vec![source] } else { (0..columns * rows).map(of_bore).collect() };
        check(&ground(conductivity, capacity), &sources, &grid(columns, rows, apart * radius), years);
    }
}

/// Two fields that once caused a panic: their heat could not be distinguished from rounding errors.
#[test]
fn shallow_bores_close_together_are_solved() {
    for radius in [0.03, 0.04, 0.05] {
        for buried_depth in [0.0, 0.5, 2.0, 20.4] {
            let source = LineSource { depth: 1.0, buried_depth, radius };
            check(&ground(2.0, 2e5), &[source], &grid(10, 8, 0.85), 20.0);
            check(&ground(5.0, 2e5), &[source], &grid(24, 1, 0.85), 100.0);
        }
    }
}

/// Cancellation at any moment ends in [`Error::Stopped`]: for equal bores on lattices, unequal bores, and inclined
/// bores.
#[test]
fn cancelled_work_ends() {
    let bore = LineSource { depth: 100.0, buried_depth: 2.0, radius: 0.075 };
    let unequal = |count: usize| -> Vec<LineSource> {
        (0..count).map(|i| LineSource { depth: 80.0 + (i % 97) as f64, ..bore }).collect()
    };
    let leans: Vec<Lean> =
        (0..60).map(|i| Lean { inclination: 15.0, direction: 6.0 * f64::from(i) }).collect();
    let cases = [
        (vec![bore], grid(700, 500, 6.0), vec![]),
        (unequal(40_000), grid(200, 200, 6.0), vec![]),
        (unequal(60), grid(10, 6, 40.0), leans),
    ];
    let times = 3600.0..=50.0 * YEAR;
    for (sources, positions, leans) in &cases {
        let condition = Condition::UniformWallTemperature;
        for wait in [0, 200, 700] {
            let token = CancelToken::default();
            let found = thread::scope(|scope| {
                scope.spawn(|| {
                    thread::sleep(Duration::from_millis(wait));
                    token.stop();
                });
                inclined_response(&ground(2.0, 2e6), sources, positions, leans, &times, condition, &token)
            });
            assert!(matches!(found, Err(Error::Stopped)), "{wait} ms: {found:?}");
        }
    }
}
