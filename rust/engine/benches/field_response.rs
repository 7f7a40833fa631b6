//! The g-function of fields from one bore to a thousand.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use loopdrift::ground::{Condition, Ground, LineSource, field_response};

fn fields(criterion: &mut Criterion) {
    let ground =
        Ground { conductivity: 2.0, volumetric_heat_capacity: 2e6, temperature: 10.0, gradient: 0.0 };
    let bore = LineSource { depth: 100.0, top: 4.0, radius: 0.075 };
    let times = 3600.0..=100.0 * 8760.0 * 3600.0;
    let mut group = criterion.benchmark_group("field response");
    group.sample_size(10);
    for side in [1_u32, 10, 20, 32] {
        let positions: Vec<[f64; 2]> = (0..side * side)
            .map(|bore| [6.0 * f64::from(bore % side), 6.0 * f64::from(bore / side)])
            .collect();
        let answer = || {
            let condition = Condition::UniformWallTemperature;
            field_response(&ground, &[bore], black_box(&positions), &times, condition)
        };
        group.bench_function(format!("{side} x {side}"), |bencher| bencher.iter(answer));
    }
    // Depths spread over 80 to 150 m without a pattern.
    let unequal: Vec<LineSource> =
        (0..50_u32).map(|i| LineSource { depth: 80.0 + f64::from(i * 29 % 71), ..bore }).collect();
    let positions: Vec<[f64; 2]> =
        (0..50_u32).map(|i| [7.0 * f64::from(i % 10), 7.0 * f64::from(i / 10)]).collect();
    let answer = || {
        field_response(&ground, &unequal, black_box(&positions), &times, Condition::UniformWallTemperature)
    };
    group.bench_function("50 unequal", |bencher| bencher.iter(answer));
    group.finish();
}

criterion_group!(benches, fields);
criterion_main!(benches);
