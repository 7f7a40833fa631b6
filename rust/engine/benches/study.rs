//! A study of a grid of 6 x 6 bores over spacing, depth and conductivity, and its sizing.

// A bench has no caller to return an error to.
#![allow(clippy::expect_used)]

mod cases;

use std::hint::black_box;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use loopdrift::cancel_token::CancelToken;
use loopdrift::design::Design;
use loopdrift::ground_side::bore_field::BoreField;
use loopdrift::ground_side::{GroundSideKind, Measure};
use loopdrift::heat_pump::Demands;
use loopdrift::loads::Loads;
use loopdrift::study::{least, run_cases};

const YEARS: usize = 20;

/// The benches' building, with loads and bores tripled.
fn threefold() -> (Design, Loads) {
    let (mut design, loads) = (cases::design(), cases::loads());
    design.ground_side = GroundSideKind::BoreField(cases::grid(6, 6));
    design.flow *= 3.0;
    for mode in [&mut design.heat_pump.heating, &mut design.heat_pump.cooling].into_iter().flatten() {
        mode.capacity.iter_mut().flatten().for_each(|coefficient| *coefficient *= 3.0);
    }
    let mut series = loads.into_series();
    for heat in [&mut series.heating, &mut series.cooling] {
        heat.iter_mut().for_each(|load| *load *= 3.0);
    }
    (design, Loads::new(series).expect("loads of one year"))
}

/// `count` values of each of spacing, depth and conductivity.
fn grid_of_cases(base: &Design, count: usize) -> Vec<Design> {
    let spread = |first: f64, last: f64, i: usize| first + (last - first) * i as f64 / (count - 1) as f64;
    let case = |i: usize| {
        let mut design = base.clone();
        design.ground.conductivity = spread(1.5, 3.0, i % count);
        let scale = spread(4.0, 10.0, i / count / count) / 6.0;
        let BoreField { mut bores, mut positions, leans } = cases::grid(6, 6);
        bores[0].depth = spread(90.0, 140.0, i / count % count);
        positions.iter_mut().flatten().for_each(|value| *value *= scale);
        design.ground_side = GroundSideKind::BoreField(BoreField { bores, positions, leans });
        design
    };
    (0..count.pow(3)).map(case).collect()
}

fn study(criterion: &mut Criterion) {
    let (design, loads) = threefold();
    let designs = grid_of_cases(&design, 4);
    let demands = vec![Demands::of(&loads); designs.len()];
    let mut group = criterion.benchmark_group("study");
    group.sample_size(10).throughput(Throughput::Elements(designs.len() as u64));
    group.bench_function("20 years, 6 x 6 bores", |bencher| {
        bencher.iter(|| {
            black_box(run_cases(&designs, &demands, YEARS, None, &CancelToken::default()).expect("a study"))
        });
    });
    group.finish();
    criterion.bench_function("size 6 x 6 bores over 25 years", |bencher| {
        let size =
            || least(&design, &loads, 25, Measure::Depth, &(20.0..=300.0), 0.1, &CancelToken::default());
        bencher.iter(|| black_box(size().expect("a size")));
    });
}

criterion_group!(benches, study);
criterion_main!(benches);
