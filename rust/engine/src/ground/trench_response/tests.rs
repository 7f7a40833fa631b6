use super::*;
use faer::c64;

const HOUR: f64 = 3600.0;
const GROUND: Ground = Ground {
    conductivity: 1.5,
    volumetric_heat_capacity: 2.4e6,
    temperature: 10.0,
    gradient: 0.0,
    darcy_flux: 0.0,
    flow_direction: 0.0,
    warming: None,
};
const TIMES: RangeInclusive<f64> = HOUR..=20.0 * 8760.0 * HOUR;
const OWN: f64 = 0.05;

fn lines(axes: &[[f64; 2]]) -> Lines {
    Lines { length: 60.0, radius: 0.016, axes: axes.to_vec() }
}

fn curve(sources: &dyn Sources, trenches: [f64; 2]) -> LaplaceCurve {
    trench_response(&GROUND, sources, trenches, OWN, &TIMES).unwrap()
}

fn times() -> impl Iterator<Item = f64> {
    (0..=40).map(|i| TIMES.start() * (TIMES.end() / TIMES.start()).powf(f64::from(i) / 40.0))
}

#[test]
fn sources_respond_as_their_integrals_over_time() {
    let pipe = lines(&[[0.0, 1.5]]);
    let rings =
        |orientation| Rings { ring: 0.4, radius: 0.016, pitch: 0.5, count: 20, depth: 1.5, orientation };
    let (flat, upright) = (rings(Orientation::Flat), rings(Orientation::Upright));
    let each: [&dyn Sources; 3] = [&pipe, &flat, &upright];
    for (number, sources) in each.into_iter().enumerate() {
        let curve = curve(sources, [1.0, 3.0]);
        for time in times() {
            let exact = response_in_time(&GROUND, sources, time, 0.0, [0, 0]);
            let error = curve.step_response(time) / exact - 1.0;
            assert!(error.abs() < 3e-5, "{number}, {time} s: {error:e}");
        }
    }
}

/// A trench of two pipes equals two trenches of one pipe.
#[test]
fn one_trench_of_two_pipes_equals_two_trenches_of_one() {
    let together = curve(&lines(&[[0.0, 1.5], [0.6, 1.5], [1.2, 1.5], [1.8, 1.5]]), [1.0, 9.0]);
    let apart = curve(&lines(&[[0.0, 1.5], [0.6, 1.5]]), [2.0, 1.2]);
    for time in times() {
        let (a, b) = (together.at(1.0 / time), apart.at(1.0 / time));
        assert!((a / b - 1.0).abs() < 1e-12, "{time} s: {a}, {b}");
    }
}

#[test]
fn pipes_far_apart_do_not_interact() {
    let one = curve(&lines(&[[0.0, 1.5]]), [1.0, 3.0]);
    let three = curve(&lines(&[[0.0, 1.5]]), [3.0, 1000.0]);
    for time in times() {
        let (a, b) = (one.at(1.0 / time), three.at(1.0 / time));
        assert!((a / b - 1.0).abs() < 1e-12, "{time} s: {a}, {b}");
    }
}

/// Analytic: below a surface of constant temperature an infinite line approaches ln(2 depth / radius) (Carslaw & Jaeger
/// 1959).
#[test]
fn a_long_pipe_reaches_the_steady_state() {
    let pipe = Lines { length: 2000.0, ..lines(&[[0.0, 0.6]]) };
    let steady = curve(&pipe, [1.0, 3.0]).step_response(*TIMES.end());
    let end = 0.6 * 0.6 / (GROUND.diffusivity() * TIMES.end());
    assert!((steady + end - (1.2_f64 / 0.016).ln()).abs() < 0.005, "{steady}");
}

#[test]
fn weights_sum_to_one_and_are_largest_for_the_outer_pipe() {
    let pipes = lines(&[[-0.3, 1.5], [0.0, 1.5], [0.3, 1.5]]);
    let weights = no_load_weights(&pipes, [1.0, 3.0], OWN, |r| c64::new(-r.ln(), 0.0)).unwrap();
    let sum: c64 = weights.iter().sum();
    assert!((sum - 1.0).norm() < 1e-12);
    assert!((weights[0] - weights[2]).norm() < 1e-12);
    assert!(weights[0].re > weights[1].re);
}

/// Rings so large that they are nearly straight, at the depth of a line.
#[test]
fn a_large_ring_responds_as_a_line() {
    let ring =
        Rings { ring: 40.0, radius: 0.016, pitch: 1.0, count: 1, depth: 1.5, orientation: Orientation::Flat };
    let line = Lines { length: 1e5, ..lines(&[[0.0, 1.5]]) };
    let (ring, line) = (curve(&ring, [1.0, 3.0]), curve(&line, [1.0, 3.0]));
    for time in times() {
        let (a, b) = (ring.step_response(time), line.step_response(time));
        assert!((a / b - 1.0).abs() < 1e-3, "{time} s: {a}, {b}");
    }
}
