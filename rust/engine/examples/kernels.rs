//! The kernels whose instructions are counted. `kernels hours 2` steps one design for a year, twice; `kernels cases 2`
//! steps eight designs side by side. `built-hours` and `built-cases` do the same with built bores. `kernels field 2`
//! computes the responses of 200 equal and of 60 unequal bores, twice.

// An example has no caller to return an error to.
#![allow(clippy::panic, clippy::expect_used)]

#[path = "../benches/cases/mod.rs"]
mod cases;

use std::hint::black_box;

use loopdrift::cancel_token::CancelToken;
use loopdrift::design::Design;
use loopdrift::ground::{Condition, LineSource, field_response};
use loopdrift::ground_side::GroundSideKind;
use loopdrift::hourly::Hourly;
use loopdrift::loads::HOURS_PER_YEAR;
use loopdrift::prepared::conduction::{Responses, step_alone, step_together};
use loopdrift::stepper::Course;

fn main() {
    let arguments: Vec<String> = std::env::args().collect();
    let times = arguments.get(2).and_then(|times| times.parse().ok()).expect("a number of times");
    match arguments[1].as_str() {
        "hours" => hours(&cases::design(), times, 1),
        "cases" => hours(&cases::design(), times, 8),
        "built-hours" => hours(&cases::built(), times, 1),
        "built-cases" => hours(&cases::built(), times, 8),
        "field" => field(times),
        other => panic!("hours, cases, built-hours, built-cases or field, not {other}"),
    }
}

/// Steps a year of one design, or of several side by side.
fn hours(design: &Design, times: usize, designs: usize) {
    let (loads, token) = (cases::loads(), CancelToken::default());
    let GroundSideKind::BoreField(field) = &design.ground_side else { unreachable!("the case has bores") };
    let responses = Responses::new(field, &design.ground, &design.fluid, design.flow, HOURS_PER_YEAR)
        .expect("a good field");
    let demands = design.demands(&loads).expect("loads that the heat pump serves");
    let course = Course { designs: &[design], demands: &demands };
    let mut hourly = Hourly::zeros(HOURS_PER_YEAR);
    for _ in 0..times {
        if designs == 1 {
            let stepped = step_alone(&responses, &course, HOURS_PER_YEAR, Some(&mut hourly), &token);
            black_box((stepped.expect("a run"), &hourly));
        } else {
            let (loops, designs) = (vec![&responses; designs], vec![design; designs]);
            let stepped = step_together(&loops, &designs, &demands, HOURS_PER_YEAR, &token);
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
