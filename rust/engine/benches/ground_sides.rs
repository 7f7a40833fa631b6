//! Twenty hourly years of each kind of ground side except bores: whole runs with error checks and tables, and their
//! preparation.

// A bench has no caller to return an error to.
#![allow(clippy::expect_used)]

mod cases;

use std::f64::consts::TAU;
use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use loopdrift::bore::Pipe;
use loopdrift::cancel_token::CancelToken;
use loopdrift::design::Design;
use loopdrift::fluid::Fluid;
use loopdrift::ground::SurfaceWave;
use loopdrift::ground_side::GroundSideKind;
use loopdrift::ground_side::pond::{Pond, Weather};
use loopdrift::ground_side::trench_field::{Coil, Laid, TrenchField};
use loopdrift::ground_side::well::{Aquifer, Well};
use loopdrift::loads::HOURS_PER_YEAR;
use loopdrift::prepared::prepare;
use loopdrift::run::run;
use loopdrift::stepper::Course;

const YEARS: usize = 20;

fn pipe() -> Pipe {
    Pipe { outer_diameter: 0.032, wall_thickness: 0.0029, conductivity: 0.4, roughness: 1.5e-6 }
}

/// Ten trenches.
fn trenches(laid: Laid) -> GroundSideKind {
    GroundSideKind::TrenchField(TrenchField {
        length: 120.0,
        trenches: 10,
        spacing: Some(4.0),
        pipe: pipe(),
        laid,
        surface: SurfaceWave { amplitude: 10.0, coldest_day: 31.0 },
    })
}

/// A deep pond in a mild climate.
fn pond() -> GroundSideKind {
    let year = |hour: usize| (TAU * hour as f64 / HOURS_PER_YEAR as f64).cos();
    let series = |of: &dyn Fn(usize) -> f64| (0..HOURS_PER_YEAR).map(of).collect::<Vec<_>>();
    GroundSideKind::Pond(Pond {
        bathymetry: vec![[0.0, 8000.0], [2.0, 6000.0], [4.0, 3000.0]],
        extinction_depth: 1.2,
        inflow: 0.5,
        inflow_temperature: Some(9.0),
        pipe: pipe(),
        circuits: 20,
        length: 120.0,
        weather: Weather {
            dry_bulb: series(&|hour| 9.0 - 13.0 * year(hour)),
            relative_humidity: vec![70.0; HOURS_PER_YEAR],
            ghi: series(&|hour| {
                if hour % 24 > 8 && hour % 24 < 16 { 320.0 - 180.0 * year(hour) } else { 0.0 }
            }),
            wind_speed: series(&|hour| (hour % 7) as f64),
            latitude: 48.0,
            altitude: 300.0,
        },
        water: water(),
    })
}

fn water() -> Fluid {
    Fluid {
        name: "water as in a book".to_owned(),
        freezing_point: 0.0,
        first_temperature: 0.0,
        temperature_step: 10.0,
        density: vec![1000.0; 5],
        heat_capacity: vec![4200.0; 5],
        conductivity: vec![0.57; 5],
        viscosity: vec![1.3e-3; 5],
    }
}

/// A pair of wells close enough for returned heat to arrive.
fn well() -> GroundSideKind {
    GroundSideKind::Well(Well {
        aquifer: Aquifer { temperature: 11.0, thickness: 15.0, transmissivity: 2e-3, storativity: 1e-4 },
        diameter: 0.3,
        depth: None,
        sustained_yield: 10.0,
        lift: 12.0,
        pump_efficiency: 0.55,
        flow: Some(2.5),
        effectiveness: Some(0.8),
        return_distance: Some(80.0),
        lowest_discharge: 3.0,
        available_drawdown: None,
        pump_stops: true,
    })
}

fn twenty_years(criterion: &mut Criterion) {
    let (loads, token) = (cases::loads(), CancelToken::default());
    let straight = Laid::Straight { pipes: vec![[-0.3, 1.4], [0.3, 1.4], [-0.3, 2.0], [0.3, 2.0]] };
    let coil = Laid::Coil(Coil { diameter: 0.8, pitch: 0.4, depth: 1.8, upright: false });
    let upright = Laid::Coil(Coil { diameter: 0.8, pitch: 0.4, depth: 1.8, upright: true });
    let sides = [
        ("trenches", trenches(straight)),
        ("flat coils", trenches(coil)),
        ("upright coils", trenches(upright)),
        ("pond", pond()),
        ("well", well()),
    ];
    let mut group = criterion.benchmark_group("ground sides");
    group.sample_size(20);
    for (name, ground_side) in sides {
        let design = Design { ground_side, flow: 4.0, ..cases::design() };
        let hours = YEARS * HOURS_PER_YEAR;
        group.bench_function(format!("preparing {name}"), |bencher| {
            bencher.iter(|| {
                black_box(
                    prepare(&design, hours, &|shape| shape.response(&CancelToken::default()))
                        .expect("a good one"),
                )
            });
        });
        let prepared =
            prepare(&design, hours, &|shape| shape.response(&CancelToken::default())).expect("a good one");
        let demands = design.demands(&loads).expect("loads that the heat pump serves");
        let course = Course { designs: &[&design], demands: &[demands] };
        group.bench_function(format!("stepping {YEARS}, {name}"), |bencher| {
            bencher.iter(|| black_box(prepared.step(&course, hours, &token).expect("a run")));
        });
        group.bench_function(format!("whole run {YEARS}, {name}"), |bencher| {
            bencher.iter(|| black_box(run(&design, &loads, YEARS, &token).expect("a run")));
        });
    }
    group.finish();
}

criterion_group!(benches, twenty_years);
criterion_main!(benches);
