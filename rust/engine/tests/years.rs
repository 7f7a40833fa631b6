//! The yearly table and the deciding hour, against the hours themselves.

// If the setup fails, the test has failed.
#![allow(clippy::expect_used, clippy::unwrap_used, missing_docs)]

#[path = "../benches/cases/mod.rs"]
mod cases;

use loopdrift::cancel_token::CancelToken;
use loopdrift::design::Design;
use loopdrift::heat_pump::{Demand, Demands, EnteringLoadCorrection};
use loopdrift::hourly::Hourly;
use loopdrift::judgement::When;
use loopdrift::loads::{HOURS_PER_YEAR, Loads};
use loopdrift::run::{Run, run};
use loopdrift::study::run_cases;
use loopdrift::yearly::RunYear;

const YEARS: usize = 3;

/// A heat pump that is too small and has a narrow table; the loop exceeds its limits.
fn design() -> Design {
    let mut design = cases::design();
    for mode in [&mut design.heat_pump.heating, &mut design.heat_pump.cooling].into_iter().flatten() {
        mode.capacity.iter_mut().flatten().for_each(|coefficient| *coefficient *= 0.55);
        mode.entering_load = Some(EnteringLoadCorrection {
            reference: 35.0,
            range: [30.0, 40.0],
            cop: vec![-0.05],
            capacity: vec![],
        });
    }
    design.heat_pump.heating.as_mut().unwrap().entering_fluid_range = Some([7.0, 25.0]);
    design.limits.entering_fluid_min = Some(6.0);
    design.limits.entering_fluid_max = Some(13.0);
    design.fluid.freezing_point = -6.0;
    design.limits.freezing_margin = 11.0;
    let fluid = &mut design.fluid;
    for values in
        [&mut fluid.density, &mut fluid.heat_capacity, &mut fluid.conductivity, &mut fluid.viscosity]
    {
        values.truncate(36);
    }
    design.start_month = 5;
    design
}

/// The cases' loads with an entering load that is too warm for the table on some days.
fn loads() -> Loads {
    let mut series = cases::loads().into_series();
    let water = |hour: usize| 33.0 + (hour / 24 % 10) as f64;
    series.heating_entering_load_temperature = (0..HOURS_PER_YEAR).map(water).collect();
    series.cooling_entering_load_temperature = vec![35.0; HOURS_PER_YEAR];
    Loads::new(series).unwrap()
}

fn is_outside_table(design: &Design, demand: &Demand, entering: f64) -> bool {
    let modes = [
        (&design.heat_pump.heating, demand.heating, demand.heating_entering_load_temperature),
        (&design.heat_pump.cooling, demand.cooling, demand.cooling_entering_load_temperature),
    ];
    modes.into_iter().any(|(mode, load, side)| {
        let [least, most] = mode.as_ref().unwrap().entering_fluid_range.unwrap();
        let [coolest, warmest] = mode.as_ref().unwrap().entering_load.as_ref().unwrap().range;
        let is_in = (least..=most).contains(&entering) && (coolest..=warmest).contains(&side.unwrap());
        load > 0.0 && !is_in
    })
}

/// Demand in an hour of the run.
fn demand_in(design: &Design, demands: &Demands, hour: usize) -> Demand {
    demands.at((design.start_hour() + hour) % demands.len())
}

fn year_of(design: &Design, demands: &Demands, hourly: &Hourly, year: usize) -> RunYear {
    let hours = || year * HOURS_PER_YEAR..(year + 1) * HOURS_PER_YEAR;
    let sum = |of: &dyn Fn(usize) -> f64| hours().map(of).sum::<f64>();
    let kwh = |of: &dyn Fn(usize) -> f64| sum(of) / 1000.0;
    let least = |series: &[f64]| hours().map(|hour| series[hour]).fold(f64::INFINITY, f64::min);
    let demand = |hour: usize| demand_in(design, demands, hour);
    let count = |is_so: &dyn Fn(usize) -> bool| {
        hours().filter(|&hour| demand(hour).asks_heat_pump() && is_so(hour)).count() as u32
    };
    let (entering, leaving, heat) = (&hourly.entering_fluid, &hourly.leaving_fluid, &hourly.heat_extracted);
    let (backup, unmet) = (&hourly.heating_shortfall, &hourly.cooling_shortfall);
    RunYear {
        entering_fluid_min: least(entering),
        entering_fluid_mean: sum(&|hour| entering[hour]) / HOURS_PER_YEAR as f64,
        entering_fluid_max: hours().map(|hour| entering[hour]).fold(f64::NEG_INFINITY, f64::max),
        leaving_fluid_min: least(leaving),
        heat_extracted_kwh: kwh(&|hour| heat[hour].max(0.0)),
        heat_rejected_kwh: kwh(&|hour| (-heat[hour]).max(0.0)),
        heating_kwh: kwh(&|hour| demand(hour).heating + demand(hour).recovered - backup[hour]),
        cooling_kwh: kwh(&|hour| demand(hour).cooling - unmet[hour]),
        electricity_kwh: kwh(&|hour| hourly.electricity[hour]),
        backup_kwh: kwh(&|hour| backup[hour]),
        unmet_cooling_kwh: kwh(&|hour| unmet[hour]),
        element_kwh: kwh(&|hour| demand(hour).element),
        hours_running: count(&|_| true),
        hours_below_limit: count(&|hour| {
            design.limits.entering_fluid_min.is_some_and(|least| entering[hour] < least)
        }),
        hours_above_limit: count(&|hour| {
            design.limits.entering_fluid_max.is_some_and(|most| entering[hour] > most)
        }),
        hours_outside_table: count(&|hour| is_outside_table(design, &demand(hour), entering[hour])),
        hours_near_freezing: count(&|hour| leaving[hour] < 5.0),
        hours_fluid_too_warm: hours()
            .filter(|&hour| {
                !demand(hour).is_idle() && entering[hour].max(leaving[hour]) > design.fluid.highest()
            })
            .count() as u32,
        hours_short_of_capacity: count(&|hour| backup[hour] > 0.0 || unmet[hour] > 0.0),
    }
}

#[test]
fn years_are_the_sums_of_their_hours() {
    let (design, loads) = (design(), loads());
    let demands = design.demands(&loads).unwrap();
    let Run { hourly, yearly, .. } = run(&design, &loads, YEARS, &CancelToken::default()).unwrap();
    assert_eq!(yearly.len(), YEARS);
    for (year, found) in yearly.iter().enumerate() {
        let expected = year_of(&design, &demands, &hourly, year);
        let counts = |year: &RunYear| {
            [
                year.hours_running,
                year.hours_below_limit,
                year.hours_above_limit,
                year.hours_outside_table,
                year.hours_near_freezing,
                year.hours_fluid_too_warm,
                year.hours_short_of_capacity,
            ]
        };
        assert_eq!(counts(found), counts(&expected), "year {year}");
        assert!(
            counts(found).iter().all(|&count| count > 20),
            "the test counts nothing: {:?}",
            counts(found)
        );
        let numbers = |year: &RunYear| {
            [
                year.entering_fluid_min,
                year.entering_fluid_mean,
                year.entering_fluid_max,
                year.leaving_fluid_min,
                year.heat_extracted_kwh,
                year.heat_rejected_kwh,
                year.heating_kwh,
                year.cooling_kwh,
                year.electricity_kwh,
                year.backup_kwh,
                year.unmet_cooling_kwh,
            ]
        };
        for (place, (found, expected)) in numbers(found).into_iter().zip(numbers(&expected)).enumerate() {
            assert!((found - expected).abs() <= 1e-11 * expected.abs(), "{place}: {found} {expected}");
        }
    }
}

#[test]
fn the_deciding_hour_is_the_first_with_the_smallest_margin() {
    let (design, loads) = (design(), loads());
    let demands = design.demands(&loads).unwrap();
    let Run { hourly, .. } = run(&design, &loads, YEARS, &CancelToken::default()).unwrap();
    let margins = (0..hourly.len())
        .filter(|&hour| demand_in(&design, &demands, hour).asks_heat_pump())
        .flat_map(|hour| {
            let (entering, leaving) = (hourly.entering_fluid[hour], hourly.leaving_fluid[hour]);
            [
                (entering - 6.0, "entering_fluid_min", hour),
                (13.0 - entering, "entering_fluid_max", hour),
                (leaving - 5.0, "freezing_margin", hour),
                (15.0 - entering.max(leaving), "fluid_max", hour),
            ]
        });
    let closest = margins.reduce(|a, b| if b.0 < a.0 { b } else { a }).unwrap();
    let cases =
        run_cases(std::slice::from_ref(&design), &[demands], YEARS, None, &CancelToken::default()).unwrap();
    let judgement = cases[0].judgement.as_ref().unwrap();
    let found = judgement.deciding().unwrap();
    assert_eq!((found.margin(), found.name, found.when), (closest.0, closest.1, When::Hour(closest.2)));
    assert!(!judgement.holds());
}
