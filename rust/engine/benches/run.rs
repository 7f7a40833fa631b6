//! Twenty and fifty coupled years of one design: stepping alone, and the whole run with its check and tables.

// A bench has nobody to hand an error to.
#![allow(clippy::expect_used)]

mod cases;

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use loopdrift::bore::Pipe;
use loopdrift::design::Design;
use loopdrift::ground::SurfaceWave;
use loopdrift::ground_side::GroundSideKind;
use loopdrift::ground_side::conduction::{ConductionMemory, ErrorCheck, Responses};
use loopdrift::ground_side::trench_field::{Laid, TrenchField};
use loopdrift::heat_pump::ReadyHeatPump;
use loopdrift::history::BLOCK;
use loopdrift::hourly::Hourly;
use loopdrift::lanes::Lanes;
use loopdrift::loads::HOURS_PER_YEAR;
use loopdrift::run::run;
use loopdrift::stepper::{Course, Moments, Record, Stretch, step};
use loopdrift::watch::Watch;

/// Keeps the coldest entering fluid of each design and nothing else.
struct Coldest<const L: usize>(Lanes<L>);

impl<const L: usize> Record<L, BLOCK> for Coldest<L> {
    fn take(&mut self, _first: usize, _stretch: &Stretch<BLOCK>, moments: &Moments<L, BLOCK>) {
        self.0 = moments.entering_fluid.0.iter().fold(self.0, |coldest, &entering| coldest.min(entering));
    }
}

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
    let (design, loads, watch) = (cases::design(), cases::loads(), Watch::default());
    let field = &cases::grid(4, 3);
    let mut group = criterion.benchmark_group("coupled years");
    for years in [20, 50] {
        let hours = years * HOURS_PER_YEAR;
        let responses =
            Responses::new(field, &design.ground, &design.fluid, design.flow, hours).expect("a good field");
        let demands = design.demands(&loads).expect("loads that the heat pump serves");
        let heat_pump = ReadyHeatPump::new([&design.heat_pump]);
        let course = Course {
            demands: &demands,
            start: 0,
            pump_power: Lanes([300.0]),
            pump_stops: [false],
            freezing_point: Lanes([-20.0]),
        };
        let mut hourly = Hourly::zeros(hours);
        group.bench_function(format!("stepping {years}"), |bencher| {
            bencher.iter(|| {
                let mut memory = responses.at_rest();
                step::<1, BLOCK, 4, _, _>(&mut memory, &heat_pump, &course, hours, &mut hourly, &watch)
                    .expect("a run");
                black_box(&hourly);
            });
        });
        group.bench_function(format!("error check {years}"), |bencher| {
            bencher.iter(|| black_box(ErrorCheck::new(&responses, hours).wall_and_error(&hourly)));
        });
    }
    group.bench_function("stepping 20, 8 designs side by side", |bencher| {
        let hours = 20 * HOURS_PER_YEAR;
        let responses =
            Responses::new(field, &design.ground, &design.fluid, design.flow, hours).expect("a good field");
        let demands = design.demands(&loads).expect("loads that the heat pump serves");
        let heat_pumps = ReadyHeatPump::new([&design.heat_pump; 8]);
        let course = Course {
            demands: &demands,
            start: 0,
            pump_power: Lanes::all(300.0),
            pump_stops: [false; 8],
            freezing_point: Lanes::all(-20.0),
        };
        bencher.iter(|| {
            let mut coldest = Coldest(Lanes::all(f64::INFINITY));
            let mut memory = ConductionMemory::at_rest([&responses; 8]);
            step::<8, BLOCK, 8, _, _>(&mut memory, &heat_pumps, &course, hours, &mut coldest, &watch)
                .expect("a run");
            black_box(coldest.0);
        });
    });
    group.bench_function("whole run 20", |bencher| {
        bencher.iter(|| black_box(run(&design, &loads, 20, &watch).expect("a run")));
    });
    group.bench_function("whole run 20, trenches", |bencher| {
        let trenches = trenches(&design);
        bencher.iter(|| black_box(run(&trenches, &loads, 20, &watch).expect("a run")));
    });
    group.finish();
}

criterion_group!(benches, coupled_years);
criterion_main!(benches);
