//! The kernels whose instructions are counted: `kernels hours 2` steps one design for a year, twice; `kernels cases 2`
//! steps eight designs side by side, `scaled-cases` and `shifted-cases` eight with loads times other factors and with
//! other first months. `built-hours` and `built-cases` do the same with built bores. With `later-` before any of these,
//! one run takes two years more than the first. `kernels field 2` computes the responses of 200 equal and of 60 unequal
//! bores, twice.

// An example has no caller to return an error to.
#![allow(clippy::panic, clippy::expect_used)]

#[path = "../benches/cases/mod.rs"]
mod cases;

use std::hint::black_box;

use loopdrift::cancel_token::CancelToken;
use loopdrift::design::Design;
use loopdrift::ground::{Condition, LineSource, field_response};
use loopdrift::ground_side::GroundSideKind;
use loopdrift::heat_pump::{Demands, Scales};
use loopdrift::hourly::Hourly;
use loopdrift::loads::HOURS_PER_YEAR;
use loopdrift::prepared::conduction::{Responses, step_alone, step_together};
use loopdrift::stepper::Course;

fn main() {
    let arguments: Vec<String> = std::env::args().collect();
    let times = arguments.get(2).and_then(|times| times.parse().ok()).expect("a number of times");
    let (kernel, later) = match arguments[1].strip_prefix("later-") {
        Some(kernel) => (kernel, true),
        None => (&arguments[1][..], false),
    };
    // Repeated first years, or one run of more years.
    let (runs, years) = if later { (1, 1 + times) } else { (times, 1) };
    let same = |_| Scales::default();
    let scaled = |design: usize| Scales { heating: 0.8 + 0.05 * design as f64, ..Scales::default() };
    match kernel {
        "hours" => step(&[cases::design()], &same, runs, years),
        "cases" => step(&vec![cases::design(); 8], &same, runs, years),
        "scaled-cases" => step(&vec![cases::design(); 8], &scaled, runs, years),
        "shifted-cases" => step(&shifted(), &same, runs, years),
        "built-hours" => step(&[cases::built()], &same, runs, years),
        "built-cases" => step(&vec![cases::built(); 8], &same, runs, years),
        "field" => field(times),
        other => panic!("no kernel is called {other}"),
    }
}

/// Years for which the loop of a run of several years is prepared, so that runs of two and of three years differ by one.
const HORIZON: usize = 3;

/// Eight designs that begin in different months.
fn shifted() -> Vec<Design> {
    (1..=8).map(|start_month| Design { start_month, ..cases::design() }).collect()
}

/// Steps runs of one design, or of several side by side, with the loads times a factor for each.
fn step(designs: &[Design], scales: &dyn Fn(usize) -> Scales, runs: usize, years: usize) {
    let (loads, token, design) = (cases::loads(), CancelToken::default(), &designs[0]);
    let GroundSideKind::BoreField(field) = &design.ground_side else { unreachable!("the case has bores") };
    let hours = years * HOURS_PER_YEAR;
    let horizon = if years == 1 { hours } else { hours.max(HORIZON * HOURS_PER_YEAR) };
    let responses =
        Responses::new(field, &design.ground, &design.fluid, design.flow, horizon).expect("a good field");
    let demands: Vec<Demands> = (0..designs.len())
        .map(|design| Demands::scaled(&loads, scales(design)).expect("loads within bounds"))
        .collect();
    let designs: Vec<&Design> = designs.iter().collect();
    let course = Course { designs: &designs, demands: &demands };
    let mut hourly = Hourly::zeros(horizon);
    for _ in 0..runs {
        if designs.len() == 1 {
            let stepped = step_alone(&responses, &course, hours, Some(&mut hourly), &token);
            black_box((stepped.expect("a run"), &hourly));
        } else {
            let stepped = step_together(&vec![&responses; designs.len()], &course, hours, &token);
            black_box(stepped.expect("runs"));
        }
    }
}

/// Computes the step responses of 200 equal bores and of 60 unequal ones, from an hour to 50 years.
fn field(times: usize) {
    let span = 3600.0..=50.0 * 8760.0 * 3600.0;
    let source = LineSource { depth: 100.0, buried_depth: 2.0, radius: 0.075 };
    let unequal: Vec<LineSource> = (0..60)
        .map(|bore| LineSource {
            depth: 80.0 + f64::from(bore * 17 % 60),
            buried_depth: 1.0 + f64::from(bore % 7),
            ..source
        })
        .collect();
    let condition = Condition::UniformWallTemperature;
    for _ in 0..times {
        for (sources, columns, rows) in [(&[source][..], 20, 10), (&unequal, 10, 6)] {
            let positions = cases::grid(columns, rows).positions;
            let found = field_response(
                &cases::ground(),
                sources,
                black_box(&positions),
                &span,
                condition,
                &CancelToken::default(),
            );
            black_box(found.expect("a good field"));
        }
    }
}
