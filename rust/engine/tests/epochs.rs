//! Plants that change from one year to another, against superposition by hand and against runs that don't change.

// If the setup fails, the test has failed.
#![allow(clippy::expect_used, clippy::unwrap_used, missing_docs)]

#[path = "../benches/cases/mod.rs"]
mod cases;

use loopdrift::Error;
use loopdrift::bore::Inside;
use loopdrift::cancel_token::CancelToken;
use loopdrift::design::Design;
use loopdrift::ground::{Condition, LineSource, Warming, g_function};
use loopdrift::ground_side::GroundSideKind;
use loopdrift::heat_pump::{Demands, Scales};
use loopdrift::judgement::When;
use loopdrift::loads::{HOURS_PER_YEAR, Loads};
use loopdrift::run::{Epoch, Run, run, run_epochs};

const YEARS: usize = 5;

/// A larger unit with other curves and a greater flow from year 3 on.
fn larger(design: &Design) -> Design {
    let mut larger = Design { pump_power: 450.0, ..design.clone() };
    for mode in [&mut larger.heat_pump.heating, &mut larger.heat_pump.cooling].into_iter().flatten() {
        mode.capacity.iter_mut().flatten().for_each(|coefficient| *coefficient *= 1.6);
        mode.cop.iter_mut().for_each(|coefficient| *coefficient *= 1.1);
    }
    larger
}

fn epochs<'a>(first: &'a Design, later: &'a Design, loads: &'a Loads, extended: &'a Loads) -> [Epoch<'a>; 2] {
    [
        Epoch { design: first, demands: Demands::of(loads), first_year: 0 },
        Epoch { design: later, demands: Demands::of(extended), first_year: 2 },
    ]
}

fn extended(loads: &Loads) -> Loads {
    let mut series = loads.clone().into_series();
    series.heating.iter_mut().for_each(|heating| *heating *= 1.35);
    Loads::new(series).unwrap()
}

fn changing(epochs: &[Epoch]) -> Run {
    run_epochs(epochs, YEARS, &CancelToken::default()).unwrap()
}

#[test]
fn a_plant_that_does_not_change_is_its_run_to_the_bit() {
    let (design, loads) = (cases::built(), cases::loads());
    let alone = run(&design, &loads, YEARS, &CancelToken::default()).unwrap();
    let one = Epoch { design: &design, demands: Demands::of(&loads), first_year: 0 };
    assert_eq!(changing(&[one]), alone);
}

/// Cut into parts that are alike, a run differs only by what the plans of the year before leave of the iteration.
#[test]
fn a_change_to_the_same_changes_nothing() {
    let (design, loads) = (cases::built(), cases::loads());
    let alone = run(&design, &loads, YEARS, &CancelToken::default()).unwrap();
    let parts = [0, 1, 4].map(|first_year| Epoch {
        design: &design,
        demands: Demands::of(&loads).after(first_year),
        first_year,
    });
    let found = changing(&parts);
    let difference = |one: &[f64], other: &[f64]| {
        one.iter().zip(other).map(|(one, other)| (one - other).abs()).fold(0.0, f64::max)
    };
    assert!(difference(&found.hourly.entering_fluid, &alone.hourly.entering_fluid) < 1e-6);
    assert!(difference(&found.hourly.wall, &alone.hourly.wall) < 1e-6);
    assert_eq!(found.yearly.len(), YEARS);
    for (found, alone) in found.yearly.iter().zip(&alone.yearly) {
        assert!((found.electricity_kwh / alone.electricity_kwh - 1.0).abs() < 1e-8);
        assert_eq!(found.hours_running, alone.hours_running);
    }
    let deciding = |run: &Run| run.judgement.deciding().map(|criterion| (criterion.name, criterion.when));
    assert_eq!(deciding(&found), deciding(&alone));
}

/// Bores given by their resistance R: the fluid of each hour is the ground's temperature minus the drops of all hours'
/// heat, summed one by one, minus R times the hour's heat, before and after the change. The ground itself cools.
#[test]
fn the_ground_remembers_the_heat_of_the_plant_before() {
    let (mut design, loads) = (cases::design(), cases::loads());
    let (resistance, rate) = (0.1, -0.2);
    design.ground.warming = Some(Warming { rate, values: Vec::new(), interval: None });
    let GroundSideKind::BoreField(field) = &mut design.ground_side else { panic!("the case has bores") };
    assert_eq!(field.bores[0].inside, Inside::Measured { resistance });
    let field = field.clone();
    let (later, extended) = (larger(&design), extended(&loads));
    let Run { hourly, error, .. } = changing(&epochs(&design, &later, &loads, &extended));
    let ground = design.ground.clone();
    let length = field.bores[0].depth * field.positions.len() as f64;
    let per_watt = 1.0 / (std::f64::consts::TAU * ground.conductivity * length);
    let hours = YEARS * HOURS_PER_YEAR;
    let times: Vec<f64> = (1..=hours).map(|hour| 3600.0 * hour as f64).collect();
    let bore = &field.bores[0];
    let source =
        LineSource { depth: bore.depth, buried_depth: bore.buried_depth, radius: 0.5 * bore.diameter };
    let condition = Condition::UniformWallTemperature;
    let token = CancelToken::default();
    let g = g_function(&ground, &[source], &field.positions, &[], &times, condition, &token).unwrap();
    let heat = &hourly.heat_extracted;
    assert_eq!(ground.gradient, 0.0);
    // In the hours around the change and in the coldest of each later year.
    let coldest = |year: usize| {
        let hours = year * HOURS_PER_YEAR..(year + 1) * HOURS_PER_YEAR;
        hours.min_by(|&a, &b| hourly.entering_fluid[a].total_cmp(&hourly.entering_fluid[b])).unwrap()
    };
    let change = 2 * HOURS_PER_YEAR;
    for hour in [change - 1, change, change + 1, change + 9, change + 100, coldest(2), coldest(4), hours - 1]
    {
        let pulse = |age: usize| g[age] - if age == 0 { 0.0 } else { g[age - 1] };
        let drop: f64 = (0..=hour).map(|past| heat[past] * pulse(hour - past)).sum();
        let years = (hour + 1) as f64 / HOURS_PER_YEAR as f64;
        let wall = ground.temperature + rate * years - per_watt * drop;
        let mean = wall - resistance / length * heat[hour];
        let found = 0.5 * (hourly.entering_fluid[hour] + hourly.leaving_fluid[hour]);
        assert!((hourly.wall[hour] - wall).abs() < 1e-4, "hour {hour}: {} {wall}", hourly.wall[hour]);
        assert!((found - mean).abs() < 1e-4, "hour {hour}: {found} {mean}");
    }
    assert!(error.exponentials < 1e-5, "{error:?}");
}

#[test]
fn years_before_a_change_are_those_without_it() {
    let (design, loads) = (cases::built(), cases::loads());
    let (later, extended) = (larger(&design), extended(&loads));
    let alone = run(&design, &loads, YEARS, &CancelToken::default()).unwrap();
    let found = changing(&epochs(&design, &later, &loads, &extended));
    let change = 2 * HOURS_PER_YEAR;
    assert_eq!(found.hourly.entering_fluid[..change], alone.hourly.entering_fluid[..change]);
    assert_eq!(found.yearly[..2], alone.yearly[..2]);
    assert!(found.yearly[2].heat_extracted_kwh > 1.2 * alone.yearly[2].heat_extracted_kwh);
    // The years of the extension depend on those before, less and less.
    let fresh = run(&later, &extended, YEARS, &CancelToken::default()).unwrap();
    let apart = |year: usize| {
        (found.yearly[2 + year].entering_fluid_min - fresh.yearly[year].entering_fluid_min).abs()
    };
    assert!(apart(0) > 0.01 && apart(2) < apart(0), "{} {}", apart(0), apart(2));
}

#[test]
fn loads_of_several_years_go_on_or_begin_anew() {
    let (design, loads) = (cases::design(), cases::loads());
    let one = loads.series().heating.clone();
    let mut series = loads.clone().into_series();
    for (factor, more) in [(1.4, 1), (0.6, 2)] {
        series.heating.extend(one.iter().map(|heating| factor * heating));
        series.cooling.extend_from_within(..HOURS_PER_YEAR);
        let hours = (more + 1) * HOURS_PER_YEAR;
        for (_, values) in series.named() {
            if !values.is_empty() {
                values.resize(hours, 0.0);
            }
        }
    }
    let three = Loads::new(series).unwrap();
    let kwh = |epochs: &[Epoch]| -> Vec<f64> {
        let found = changing(epochs);
        found.yearly.iter().map(|year| (year.heating_kwh + year.backup_kwh) / 1000.0).collect()
    };
    let first = Epoch { design: &design, demands: Demands::of(&three), first_year: 0 };
    let on = Epoch { demands: Demands::of(&three).after(2), first_year: 2, ..first };
    let anew = Epoch { demands: Demands::of(&three), first_year: 2, ..first };
    let (whole, on, anew) = (kwh(&[first]), kwh(&[first, on]), kwh(&[first, anew]));
    for year in 0..YEARS {
        assert!((on[year] - whole[year]).abs() < 1e-6, "{on:?} {whole:?}");
        let expected = if year < 2 { whole[year] } else { whole[year - 2] };
        assert!((anew[year] - expected).abs() < 1e-6, "{anew:?} {whole:?}");
    }
}

/// A greater flow in built bores: the error includes the heat stored inside, which follows the new film at once.
#[test]
fn flow_may_change() {
    let (design, loads) = (cases::built(), cases::loads());
    let faster = Design { flow: 1.5 * design.flow, ..design.clone() };
    let found = changing(&epochs(&design, &faster, &loads, &loads));
    let alone = run(&design, &loads, YEARS, &CancelToken::default()).unwrap();
    assert!(found.error.inside > alone.error.inside);
    assert!(found.error.inside < 0.5 && found.error.exponentials < 1e-4, "{:?}", found.error);
    let spread = |run: &Run, hour: usize| run.hourly.entering_fluid[hour] - run.hourly.leaving_fluid[hour];
    let hour = 3 * HOURS_PER_YEAR + 10;
    let ratio = spread(&found, hour) / spread(&alone, hour);
    assert!((ratio - 1.0 / 1.5).abs() < 0.02, "{ratio}");
}

#[test]
fn each_year_is_judged_by_the_limits_of_its_plant() {
    let (mut design, loads) = (cases::design(), cases::loads());
    design.limits.entering_fluid_min = Some(-15.0);
    let coldest = run(&design, &loads, YEARS, &CancelToken::default()).unwrap().yearly[4].entering_fluid_min;
    let mut strict = design.clone();
    strict.limits.entering_fluid_min = Some(coldest + 1.0);
    let epochs = [
        Epoch { design: &design, demands: Demands::of(&loads), first_year: 0 },
        Epoch { design: &strict, demands: Demands::of(&loads), first_year: 4 },
    ];
    let found = changing(&epochs).judgement;
    let criterion = found.criteria.iter().find(|one| one.name == "entering_fluid_min").unwrap();
    assert!(!found.holds() && (criterion.margin() + 1.0).abs() < 0.01);
    let When::Hour(hour) = criterion.when else { panic!("an hour") };
    assert_eq!(hour / HOURS_PER_YEAR, 4);
    assert_eq!(criterion.hours_broken[..4], [0; 4]);
    assert!(criterion.hours_broken[4] > 0 && found.broken_in(4) == 1 && found.broken_in(3) == 0);
}

#[test]
fn what_cannot_change_is_refused() {
    let (design, loads) = (cases::design(), cases::loads());
    let refusal = |later: &Design, first_year: usize| {
        let parts = [
            Epoch { design: &design, demands: Demands::of(&loads), first_year: 0 },
            Epoch { design: later, demands: Demands::of(&loads), first_year },
        ];
        run_epochs(&parts, YEARS, &CancelToken::default()).unwrap_err().to_string()
    };
    let mut deeper = design.clone();
    let GroundSideKind::BoreField(field) = &mut deeper.ground_side else { panic!("the case has bores") };
    field.bores[0].depth += 10.0;
    assert!(refusal(&deeper, 2).starts_with("Design.ground_side = another: must stay the same"));
    assert!(refusal(&Design { start_month: 7, ..design.clone() }, 2).starts_with("Design.start_month"));
    let mut warmer = design.clone();
    warmer.ground.temperature += 0.5;
    assert!(refusal(&warmer, 2).starts_with("Design.ground = another"));
    assert_eq!(
        refusal(&design, 0),
        "run.year = 1: must be after that of the change before, and at most the last year, 5"
    );
    assert!(refusal(&design, YEARS).starts_with("run.year = 6"));
    assert!(run_epochs(&[], YEARS, &CancelToken::default()).is_err());
    let none = Scales { heating: 0.0, cooling: 0.0, hot_water: 0.0, recharge: 0.0 };
    let idle = Epoch { design: &design, demands: Demands::scaled(&loads, none).unwrap(), first_year: 0 };
    assert!(changing(&[idle]).yearly.iter().all(|year| year.hours_running == 0));
}

#[test]
fn a_fluid_that_freezes_after_a_change_names_the_year_of_the_run() {
    let (design, loads) = (cases::design(), cases::loads());
    let coldest = run(&design, &loads, YEARS, &CancelToken::default()).unwrap().yearly[4].leaving_fluid_min;
    let mut weak = design.clone();
    weak.fluid.freezing_point = coldest + 0.2;
    weak.limits.freezing_margin = 0.0;
    let epochs = [
        Epoch { design: &design, demands: Demands::of(&loads), first_year: 0 },
        Epoch { design: &weak, demands: Demands::of(&loads), first_year: 3 },
    ];
    let Err(Error::FluidFreezes { year, .. }) = run_epochs(&epochs, YEARS, &CancelToken::default()) else {
        panic!("the fluid freezes")
    };
    assert!(year == 4 || year == 5, "{year}");
}
