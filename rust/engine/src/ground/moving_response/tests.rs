use super::*;
use crate::ground::inclined_response;

const YEAR: f64 = 8760.0 * 3600.0;
const GROUND: Ground = Ground {
    conductivity: 2.0,
    volumetric_heat_capacity: 2e6,
    temperature: 10.0,
    gradient: 0.0,
    darcy_flux: 0.0,
    flow_direction: 0.0,
    warming: None,
};
const BORE: LineSource = LineSource { depth: 100.0, buried_depth: 2.0, radius: 0.075 };
const TIMES: RangeInclusive<f64> = 3600.0..=100.0 * YEAR;

fn response(drift: [f64; 2], sources: &[LineSource], positions: &[[f64; 2]]) -> LaplaceCurve {
    moving_response(&GROUND, drift, sources, positions, &[], &TIMES, &CancelToken::default()).unwrap()
}

fn times() -> impl Iterator<Item = f64> {
    (0..=60).map(|i| TIMES.start() * (TIMES.end() / TIMES.start()).powf(f64::from(i) / 60.0))
}

fn largest_difference(a: impl Fn(f64) -> f64, b: impl Fn(f64) -> f64) -> f64 {
    times().map(|time| (a(time) / b(time) - 1.0).abs()).fold(0.0, f64::max)
}

/// A field in a row along the flow, and one across it.
fn row() -> Vec<[f64; 2]> {
    (0..4).map(|i| [6.0 * f64::from(i), 0.0]).collect()
}

#[test]
fn slow_water_gives_the_response_of_still_ground() {
    let still = |sources: &[LineSource]| {
        let condition = Condition::UniformWallTemperature;
        inclined_response(&GROUND, sources, &row(), &[], &TIMES, condition, &CancelToken::default()).unwrap()
    };
    let unequal: Vec<LineSource> =
        [60.0, 100.0, 80.0, 60.0].map(|depth| LineSource { depth, ..BORE }).to_vec();
    for sources in [vec![BORE], unequal] {
        let (moving, still) = (response([1e-13, 0.0], &sources, &row()), still(&sources));
        let apart = largest_difference(|t| moving.step_response(t), |t| still.step_response(t));
        assert!(apart < 3e-4, "{apart:e}");
    }
}

/// A bore in fast water: the steady state of the moving infinite line source, mean around its wall; Carslaw & Jaeger
/// 1959, section 10.7: I0(U r / 2 a) K0(U r / 2 a).
#[test]
fn fast_water_ends_in_the_steady_state_of_a_moving_line() {
    let speed = 4e-6;
    let found = response([0.0, speed], &[BORE], &[[0.0, 0.0]]).step_response(100.0 * YEAR);
    let x = speed * BORE.radius / (2.0 * GROUND.diffusivity());
    // Series of I0 and K0 for small arguments.
    let i0 = 1.0 + x * x / 4.0 + x.powi(4) / 64.0;
    let k0 = -((x / 2.0).ln() + 0.577_215_664_901_532_9) * i0 + x * x / 4.0 + 3.0 * x.powi(4) / 128.0;
    assert!((found / (i0 * k0) - 1.0).abs() < 0.01, "{found}, {}", i0 * k0);
}

#[test]
fn directions_turn_with_the_field_and_order_has_no_effect() {
    let speed = 1e-6;
    let along = response([speed, 0.0], &[BORE], &row());
    let turned: Vec<[f64; 2]> = row().iter().rev().map(|[x, y]| [*y, *x]).collect();
    let turned = response([0.0, speed], &[BORE], &turned);
    let across = response([0.0, speed], &[BORE], &row());
    let back = response([-speed, 0.0], &[BORE], &row());
    let at = |curve: &LaplaceCurve| curve.step_response(20.0 * YEAR);
    assert!((at(&along) / at(&turned) - 1.0).abs() < 1e-6);
    // One temperature for all walls: a field behaves alike from both sides.
    assert!((at(&along) / at(&back) - 1.0).abs() < 1e-6);
    assert!(at(&across) < 0.97 * at(&along), "{} {}", at(&across), at(&along));
}

#[test]
fn faster_water_lowers_the_response() {
    let mut before = f64::INFINITY;
    for speed in [1e-8, 1e-7, 1e-6, 1e-5] {
        let curve = response([speed * 0.3_f64.sin(), speed * 0.3_f64.cos()], &[BORE], &row());
        let mut earlier = 0.0;
        for time in times() {
            let now = curve.step_response(time);
            assert!(now > earlier - 1e-4 * now, "{speed} m/s falls at {time} s: {earlier} {now}");
            earlier = now;
        }
        assert!(earlier < before, "{speed} m/s: {earlier} {before}");
        before = earlier;
    }
    // A bore alone ends at I0(0.375) K0(0.375), from tables; the row's bores also feel each other.
    assert!(before > 1.21, "{before}");
}

#[test]
fn inclined_bores_and_too_many_are_refused() {
    let lean = Lean { inclination: 10.0, direction: 0.0 };
    let token = CancelToken::default();
    let refused = |positions: &[[f64; 2]], leans: &[Lean]| {
        moving_response(&GROUND, [1e-6, 0.0], &[BORE], positions, leans, &TIMES, &token)
            .unwrap_err()
            .to_string()
    };
    assert!(refused(&row(), &[lean]).contains("Ground.darcy_flux"));
    let many: Vec<[f64; 2]> = (0..900).map(|i| [6.0 * f64::from(i % 30), 6.0 * f64::from(i / 30)]).collect();
    assert!(refused(&many, &[]).contains("BoreField.positions = 900 bores"));
}
