//! Twenty and fifty coupled years of one design: stepping alone, and the whole run with error check and tables.

// A bench has no caller to return an error to.
#![allow(clippy::expect_used)]

mod cases;

use std::hint::black_box;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use loopdrift::bore::Pipe;
use loopdrift::cancel_token::CancelToken;
use loopdrift::design::Design;
use loopdrift::ground::{Ground, SurfaceWave};
use loopdrift::ground_side::GroundSideKind;
use loopdrift::ground_side::trench_field::{Laid, TrenchField};
use loopdrift::hourly::Hourly;
use loopdrift::loads::HOURS_PER_YEAR;
use loopdrift::prepared::conduction::{ErrorCheck, Responses, step_alone, step_together};
use loopdrift::run::run;
use loopdrift::simulation::{HourDemand, Simulation};
use loopdrift::stepper::Course;
use rayon::prelude::*;

/// Designs that share loads; their ground varies.
const DESIGNS: usize = 64;

/// The same building on ten trenches of four pipes.
fn trenches(design: &Design) -> Design {
    let field = TrenchField {
        length: 120.0,
        trenches: 10,
        spacing: Some(4.0),
        pipe: Pipe { outer_diameter: 0.032, wall_thickness: 0.0029, conductivity: 0.4, roughness: 1.5e-6 },
        laid: Laid::Straight { pipes: vec![[-0.3, 1.4], [0.3, 1.4], [-0.3, 2.0], [0.3, 2.0]] },
        surface: SurfaceWave { amplitude: 10.0, coldest_day: 31.0 },
    };
    Design { ground_side: GroundSideKind::TrenchField(field), flow: 4.0, ..design.clone() }
}

fn coupled_years(criterion: &mut Criterion) {
    let (design, loads, token) = (cases::design(), cases::loads(), CancelToken::default());
    let field = &cases::grid(4, 3);
    let mut group = criterion.benchmark_group("coupled years");
    for years in [20, 50] {
        let hours = years * HOURS_PER_YEAR;
        let responses =
            Responses::new(field, &design.ground, &design.fluid, design.flow, hours).expect("a good field");
        let demands = design.demands(&loads).expect("loads that the heat pump serves");
        let course = Course { designs: &[&design], demands: &[demands] };
        let mut hourly = Hourly::zeros(hours);
        group.bench_function(format!("stepping {years}"), |bencher| {
            bencher.iter(|| {
                let stepped = step_alone(&responses, &course, hours, Some(&mut hourly), &token);
                black_box((stepped.expect("a run"), &hourly));
            });
        });
        group.bench_function(format!("error check {years}"), |bencher| {
            bencher.iter(|| black_box(ErrorCheck::new(&responses, hours).wall_and_error(&course, &hourly)));
        });
    }
    group.throughput(Throughput::Elements(DESIGNS as u64));
    group.bench_function(format!("stepping 20, {DESIGNS} designs on all cores"), |bencher| {
        let hours = 20 * HOURS_PER_YEAR;
        let loops: Vec<Responses> = (0..DESIGNS)
            .map(|i| {
                let ground =
                    Ground { conductivity: 1.5 + i as f64 / DESIGNS as f64, ..design.ground.clone() };
                Responses::new(field, &ground, &design.fluid, design.flow, hours).expect("a good field")
            })
            .collect();
        let demands = design.demands(&loads).expect("loads that the heat pump serves");
        let step_few = |loops: &[Responses]| {
            let loops: Vec<&Responses> = loops.iter().collect();
            let (designs, demands) = (vec![&design; loops.len()], vec![demands; loops.len()]);
            let course = Course { designs: &designs, demands: &demands };
            step_together(&loops, &course, hours, &token).expect("runs")
        };
        bencher.iter(|| black_box(loops.par_chunks(8).map(step_few).collect::<Vec<_>>()));
    });
    group.throughput(Throughput::Elements(1));
    group.bench_function("whole run 20", |bencher| {
        bencher.iter(|| black_box(run(&design, &loads, 20, &token).expect("a run")));
    });
    group.bench_function("whole run 20, trenches", |bencher| {
        let trenches = trenches(&design);
        bencher.iter(|| black_box(run(&trenches, &loads, 20, &token).expect("a run")));
    });
    group.bench_function("one year step by step", |bencher| {
        let simulation = Simulation::new(design.clone(), loads.clone(), 1, &token).expect("a good design");
        let series = loads.series();
        bencher.iter(|| {
            let mut simulation = simulation.clone();
            for (&heating, &cooling) in series.heating.iter().zip(&series.cooling) {
                let demand = HourDemand { heating, cooling, ..HourDemand::default() };
                black_box(simulation.step(&demand).expect("an hour"));
            }
        });
    });
    group.finish();
}

criterion_group!(benches, coupled_years);
criterion_main!(benches);
