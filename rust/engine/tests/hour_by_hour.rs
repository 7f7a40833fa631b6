//! Plants stepped from outside, against their runs.

// If the setup fails, the test has failed.
#![allow(clippy::expect_used, clippy::unwrap_used, missing_docs)]

#[path = "../benches/cases/mod.rs"]
mod cases;

use loopdrift::Error;
use loopdrift::cancel_token::CancelToken;
use loopdrift::design::Design;
use loopdrift::history::{Ladder, PastHours, Superposition, TabulatedResponse};
use loopdrift::loads::HOURS_PER_YEAR;
use loopdrift::run::run;
use loopdrift::simulation::{HourDemand, HourResult, Simulation};

fn begun(design: &Design) -> Simulation {
    Simulation::new(design.clone(), cases::loads(), 1, &CancelToken::default()).unwrap()
}

/// The design's own demand in an hour.
fn own(hour: usize) -> HourDemand {
    let loads = cases::loads();
    let series = loads.series();
    HourDemand { heating: series.heating[hour], cooling: series.cooling[hour], ..HourDemand::default() }
}

#[test]
fn a_year_of_steps_is_the_run() {
    let loads = cases::loads();
    for design in [cases::design(), cases::built()] {
        let run = run(&design, &loads, 1, &CancelToken::default()).unwrap();
        let mut simulation = begun(&design);
        let series = loads.series();
        for hour in 0..HOURS_PER_YEAR {
            let (heating, cooling) = (series.heating[hour], series.cooling[hour]);
            let found = simulation.step(&HourDemand { heating, cooling, ..HourDemand::default() }).unwrap();
            let apart = (found.entering_fluid - run.hourly.entering_fluid[hour]).abs();
            assert!(apart < 1e-7 + run.error.iteration, "hour {hour}: {apart}");
            let electricity = run.hourly.electricity[hour];
            assert!((found.electricity - electricity).abs() < 0.1 + 1e-6 * electricity, "hour {hour}");
        }
        assert_eq!(simulation.hour(), HOURS_PER_YEAR);
        assert!(matches!(simulation.step(&HourDemand::default()), Err(Error::InvalidInput { .. })));
    }
}

/// Bit for bit: an outlook, a refused hour, and a state that is taken up by another simulation.
#[test]
fn only_a_step_changes_the_state() {
    let mut simulation = begun(&cases::built());
    for hour in 0..13 {
        let before = simulation.numbers();
        let ahead = simulation.outlook(&own(hour)).unwrap();
        let refused = simulation.step(&HourDemand { recharge: -1e7, ..own(hour) });
        assert!(matches!(refused, Err(Error::FluidFreezes { year: 1, hour: at, .. }) if at == hour));
        let negative = simulation.step(&HourDemand { heating: -1.0, ..own(hour) });
        assert!(matches!(negative, Err(Error::InvalidInput { .. })));
        assert_eq!(simulation.numbers(), before);
        assert_eq!(simulation.step(&own(hour)).unwrap(), ahead);
    }
    let mut other = begun(&cases::built());
    other.restore(simulation.hour(), &simulation.numbers()).unwrap();
    let steps = |simulation: &mut Simulation| -> Vec<HourResult> {
        (13..50).map(|hour| simulation.step(&own(hour)).unwrap()).collect()
    };
    assert_eq!(steps(&mut other), steps(&mut simulation));
    let mut numbers = simulation.numbers();
    numbers.remove("drops");
    let before = other.numbers();
    assert!(other.restore(3, &numbers).unwrap_err().to_string().contains("Simulation.drops = 0 numbers"));
    assert!(other.restore(HOURS_PER_YEAR + 1, &simulation.numbers()).is_err());
    assert_eq!((other.hour(), other.numbers()), (50, before));
}

/// Heat in three hours of four against exact superposition of the same response.
#[test]
fn past_hours_follow_exact_superposition() {
    let hours = 3000;
    let response = TabulatedResponse::new(hours, |time| 0.01 * (1.0 + time / 3600.0).ln());
    let ladder = Ladder::for_horizon(hours);
    let mut past = PastHours::none(&ladder, &ladder.fit(&response));
    let heat: Vec<f64> = (0..hours).map(|hour| if hour % 4 == 3 { 0.0 } else { 1.0 }).collect();
    let ln_hours: Vec<f64> = (1..=hours).map(|hour| (hour as f64).ln()).collect();
    let exact = Superposition::new(hours, [response.hourly(&ln_hours)]).of(&heat).swap_remove(0);
    for (hour, (&heat, exact)) in heat.iter().zip(exact).enumerate() {
        let drop = past.per_watt().mul_add(heat, past.no_load_drop());
        assert!((drop - exact).abs() < 1e-7, "hour {hour}: {drop} {exact}");
        past.take(heat);
    }
}
