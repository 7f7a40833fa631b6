//! The g-function of fields from one bore to a hundred thousand.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use loopdrift::cancel_token::CancelToken;
use loopdrift::ground::{Condition, Ground, LineSource, field_response};

fn fields(criterion: &mut Criterion) {
    let ground = Ground {
        conductivity: 2.0,
        volumetric_heat_capacity: 2e6,
        temperature: 10.0,
        gradient: 0.0,
        darcy_flux: 0.0,
        flow_direction: 0.0,
        warming: None,
    };
    let bore = LineSource { depth: 100.0, buried_depth: 4.0, radius: 0.075 };
    let times = 3600.0..=100.0 * 8760.0 * 3600.0;
    let mut group = criterion.benchmark_group("field response");
    group.sample_size(10);
    for side in [1_u32, 10, 32] {
        let positions: Vec<[f64; 2]> = (0..side * side)
            .map(|bore| [6.0 * f64::from(bore % side), 6.0 * f64::from(bore / side)])
            .collect();
        let response = || {
            let condition = Condition::UniformWallTemperature;
            field_response(
                &ground,
                &[bore],
                black_box(&positions),
                &times,
                condition,
                &CancelToken::default(),
            )
        };
        group.bench_function(format!("{side} x {side}"), |bencher| bencher.iter(response));
    }
    for count in [1_000, 10_000, 100_000] {
        let positions = scattered(count);
        let response = || {
            let condition = Condition::UniformWallTemperature;
            field_response(
                &ground,
                &[bore],
                black_box(&positions),
                &times,
                condition,
                &CancelToken::default(),
            )
        };
        group.bench_function(format!("{count} at random"), |bencher| bencher.iter(response));
    }
    for count in [30, 1_000] {
        let unequal: Vec<LineSource> = (0..count)
            .map(|i| LineSource {
                depth: 60.0 + 90.0 * fraction(i, 0.754_877_666),
                buried_depth: 6.0 * fraction(i, 0.569_840_29),
                ..bore
            })
            .collect();
        let positions = scattered(count);
        let response = || {
            let condition = Condition::UniformWallTemperature;
            field_response(
                &ground,
                &unequal,
                black_box(&positions),
                &times,
                condition,
                &CancelToken::default(),
            )
        };
        group.bench_function(format!("{count} unequal"), |bencher| bencher.iter(response));
    }
    group.finish();
}

/// Irregular bores, one in each square of 7 m and at least 1 m apart.
fn scattered(count: u32) -> Vec<[f64; 2]> {
    let side = f64::from(count).sqrt().ceil() as u32;
    let place = |i| {
        let [x, y] = [i % side, i / side].map(f64::from);
        [7.0 * x + 6.0 * fraction(i, 0.618_033_989), 7.0 * y + 6.0 * fraction(i, 0.414_213_562)]
    };
    (0..count).map(place).collect()
}

fn fraction(index: u32, step: f64) -> f64 {
    (f64::from(index) * step).fract()
}

criterion_group!(benches, fields);
criterion_main!(benches);
