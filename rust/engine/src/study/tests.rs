//! Studies and sizing of one invented design.

use super::*;
use crate::Error;
use crate::bore::{Bore, Inside};
use crate::cancel_token::CancelToken;
use crate::design::Design;
use crate::fluid::Fluid;
use crate::ground::Ground;
use crate::ground_side::bore_field::BoreField;
use crate::ground_side::well::{Aquifer, Well};
use crate::ground_side::{GroundSideKind, Measure};
use crate::heat_pump::{Demands, HeatPump, Mode, Scales};
use crate::judgement::{Criterion, Judgement, When};
use crate::limits::Limits;
use crate::loads::{HOURS_PER_YEAR, Loads, Series};
use crate::run::run;
use crate::yearly::RunYear;

const YEARS: usize = 2;

fn design(conductivity: f64, depth: f64, spacing: f64) -> Design {
    let bore =
        Bore { depth, buried_depth: 2.0, diameter: 0.15, inside: Inside::Measured { resistance: 0.1 } };
    let positions = (0..6).map(|i| [spacing * f64::from(i % 3), spacing * f64::from(i / 3)]).collect();
    let row = |value| vec![value; 2];
    Design {
        ground: Ground {
            conductivity,
            volumetric_heat_capacity: 2.3e6,
            temperature: 10.5,
            gradient: 0.0,
            darcy_flux: 0.0,
            flow_direction: 0.0,
            warming: None,
        },
        ground_side: GroundSideKind::BoreField(BoreField { bores: vec![bore], positions, leans: Vec::new() }),
        fluid: Fluid {
            name: "an invented fluid".to_owned(),
            freezing_point: -12.0,
            first_temperature: -20.0,
            temperature_step: 10.0,
            density: row(1020.0),
            heat_capacity: row(3900.0),
            conductivity: row(0.45),
            viscosity: row(0.004),
        },
        flow: 2.0,
        pump_power: 200.0,
        pump_stops: false,
        heat_pump: HeatPump {
            heating: Some(Mode { cop: vec![3.6, 0.08], ..Mode::default() }),
            cooling: Some(Mode { cop: vec![7.0, -0.09], ..Mode::default() }),
            ..HeatPump::default()
        },
        limits: Limits {
            entering_fluid_min: Some(-1.0),
            entering_fluid_max: Some(30.0),
            freezing_margin: 3.0,
            ..Limits::default()
        },
        start_month: 1,
    }
}

/// Heating in winter, half as much cooling in summer, idle hours between.
fn loads() -> Loads {
    let wave = |hour: usize| (std::f64::consts::TAU * hour as f64 / HOURS_PER_YEAR as f64).cos();
    let series = |of: &dyn Fn(f64) -> f64| (0..HOURS_PER_YEAR).map(|hour| of(wave(hour)).max(0.0)).collect();
    let (heating, cooling) = (series(&|w| 22e3 * w - 2e3), series(&|w| -11e3 * w - 1e3));
    Loads::new(Series { heating, cooling, ..Series::default() }).unwrap()
}

/// The cases of designs with the same loads.
fn cases_of(designs: &[Design]) -> Vec<Case> {
    let loads = loads();
    let demands = vec![Demands::of(&loads); designs.len()];
    run_cases(designs, &demands, YEARS, None, &CancelToken::default()).unwrap()
}

#[test]
fn each_case_equals_the_run_of_its_design_to_the_bit() {
    let mut designs = vec![design(2.1, 100.0, 6.0), design(1.4, 100.0, 6.0), design(2.1, 140.0, 5.0)];
    designs[1].start_month = 7;
    designs.extend((0..9).map(|i| design(1.2 + 0.2 * f64::from(i), 90.0, 6.0)));
    let cases = cases_of(&designs);
    assert_eq!(cases.len(), designs.len());
    for (design, case) in designs.iter().zip(cases) {
        assert_eq!(case.yearly, run(design, &loads(), YEARS, &CancelToken::default()).unwrap().yearly);
    }
}

/// Loads times factors, other loads, other months and a limit of the wall: none changes the bits of a case.
#[test]
fn each_case_with_loads_of_its_own_equals_the_run_of_its_design() {
    let loads = loads();
    let mut larger = loads.clone().into_series();
    larger.heating.iter_mut().for_each(|heating| *heating *= 1.25);
    larger.cooling.iter_mut().for_each(|cooling| *cooling += 500.0);
    let both = [&loads, &Loads::new(larger).unwrap()];
    let mut designs: Vec<Design> = (0..12).map(|i| design(2.1, 100.0 + f64::from(i % 3), 6.0)).collect();
    let mut demands = Vec::new();
    for (place, design) in designs.iter_mut().enumerate() {
        design.start_month = [1, 1, 4, 11][place % 4];
        design.limits.wall_min = (place % 5 == 3).then_some(4.0);
        let scales = Scales { heating: 0.8 + 0.1 * (place / 4) as f64, cooling: 1.1, ..Scales::default() };
        demands.push(Demands::scaled(both[place % 2], scales).unwrap());
    }
    let cases = run_cases(&designs, &demands, YEARS, None, &CancelToken::default()).unwrap();
    for ((design, demands), case) in designs.iter().zip(&demands).zip(cases) {
        let Scales { heating, cooling, .. } = demands.scales();
        let mut series = demands.series().clone();
        series.heating.iter_mut().for_each(|value| *value *= heating);
        series.cooling.iter_mut().for_each(|value| *value *= cooling);
        let alone = run(design, &Loads::new(series).unwrap(), YEARS, &CancelToken::default()).unwrap();
        assert_eq!(case.yearly, alone.yearly);
        let decides = |judgement: &Judgement| judgement.deciding().cloned();
        assert_eq!(decides(&case.judgement.unwrap()), decides(&alone.judgement));
    }
}

#[test]
fn the_mean_heat_of_neighbours_is_that_of_their_hours() {
    let designs: Vec<Design> = (0..11).map(|i| design(2.1, 90.0 + f64::from(i), 6.0)).collect();
    let loads = loads();
    let demands = vec![Demands::of(&loads); designs.len()];
    let neighbours =
        |interval| run_neighbours(&designs, &demands, YEARS, interval, None, &CancelToken::default());
    for (design, case) in designs.iter().zip(neighbours(120).unwrap()) {
        let alone = run(design, &loads, YEARS, &CancelToken::default()).unwrap();
        assert_eq!(case.yearly, alone.yearly);
        assert_eq!(case.mean_heat.len(), YEARS * HOURS_PER_YEAR / 120);
        for (found, hours) in case.mean_heat.iter().zip(alone.hourly.heat_extracted.chunks(120)) {
            let mean = hours.iter().sum::<f64>() / 120.0;
            assert!((found - mean).abs() < 1e-9 * mean.abs().max(1.0), "{found} {mean}");
        }
    }
    for interval in [0, 100, 168] {
        let refusal = neighbours(interval).unwrap_err().to_string();
        assert!(refusal.contains("must be a multiple of 8 h that divides 8760 h"), "{refusal}");
    }
    assert!(cases_of(&designs[..1])[0].mean_heat.is_empty());
}

#[test]
fn factors_of_loads_are_checked() {
    let loads = loads();
    let refusal = |scales: Scales| Demands::scaled(&loads, scales).unwrap_err().to_string();
    let negative = refusal(Scales { heating: -0.1, ..Scales::default() });
    assert_eq!(negative, "Scales.heating = -0.1: must be a number, 0 or more");
    assert!(refusal(Scales { recharge: f64::NAN, ..Scales::default() }).starts_with("Scales.recharge"));
    let huge = refusal(Scales { cooling: 1e6, ..Scales::default() });
    assert!(huge.starts_with("Loads.cooling = ") && huge.contains("at most"), "{huge}");
    let mut series = loads.clone().into_series();
    series.recovered = series.cooling.iter().map(|cooling| 0.5 * cooling).collect();
    let recovering = Loads::new(series).unwrap();
    let scaled = |cooling| Demands::scaled(&recovering, Scales { cooling, ..Scales::default() });
    assert!(scaled(0.6).is_ok() && scaled(0.4).is_err());
}

/// A field that cools down until its fluid freezes: the years before are those of a fluid with a lower freezing point.
#[test]
fn years_before_the_fluid_freezes_are_kept() {
    let years = 4;
    let loads = loads();
    let liquid = design(1.4, 70.0, 3.0);
    let alone = run(&liquid, &loads, years, &CancelToken::default()).unwrap();
    let lowest: Vec<f64> = alone.yearly.iter().map(|year| year.leaving_fluid_min).collect();
    let mut freezing = liquid.clone();
    freezing.fluid.freezing_point = 0.5 * (lowest[1] + lowest[2]);
    assert!(freezing.fluid.freezing_point < lowest[0] && lowest[2] < lowest[1], "{lowest:?}");
    let cases = run_cases(
        &[freezing, liquid],
        &[Demands::of(&loads), Demands::of(&loads)],
        years,
        None,
        &CancelToken::default(),
    )
    .unwrap();
    let Some(Error::FluidFreezes { year, .. }) = cases[0].failure else { panic!("{:?}", cases[0].failure) };
    assert_eq!((year, cases[0].yearly.len()), (3, 2));
    for (kept, whole) in cases[0].yearly.iter().zip(&alone.yearly) {
        // The distance to freezing is another; everything else is the same.
        assert_eq!(RunYear { hours_near_freezing: whole.hours_near_freezing, ..*kept }, *whole);
    }
    let columns = CaseTable::of(cases, years).yearly;
    let column = |name: &str| &columns.iter().find(|(known, _)| *known == name).unwrap().1;
    let entering = column("entering_fluid_min_degC");
    assert_eq!(entering[..2], entering[years..years + 2]);
    assert!(entering[2..years].iter().all(|value| value.is_nan()) && entering[years + 3].is_finite());
    assert!(column("limits_broken")[1].is_finite() && column("limits_broken")[2].is_nan());
}

#[test]
fn columns_of_wells_equal_those_of_their_runs() {
    let aquifer = Aquifer { temperature: 11.0, thickness: 15.0, transmissivity: 2e-3, storativity: 1e-4 };
    let well = |distance: f64| {
        GroundSideKind::Well(Well {
            aquifer,
            diameter: 0.3,
            depth: None,
            sustained_yield: 10.0,
            lift: 12.0,
            pump_efficiency: 0.5,
            flow: Some(2.0),
            effectiveness: Some(0.8),
            return_distance: Some(distance),
            lowest_discharge: 3.0,
            available_drawdown: None,
            pump_stops: true,
        })
    };
    let of = |ground_side| Design { ground_side, ..design(2.1, 100.0, 6.0) };
    let designs = [of(well(20.0)), design(2.1, 100.0, 6.0), of(well(60.0))];
    let cases = cases_of(&designs);
    for (design, case) in designs.iter().zip(&cases) {
        let alone = run(design, &loads(), YEARS, &CancelToken::default()).unwrap();
        assert_eq!(&case.yearly, &alone.yearly);
        assert_eq!(case.kind_yearly, alone.kind_yearly);
    }
    assert!(cases[1].kind_yearly.is_empty());
    let years = |case: &Case, name: &str| {
        case.kind_yearly.iter().find(|(known, _)| *known == name).unwrap().1.clone()
    };
    let [near, far] = [0, 2].map(|case| years(&cases[case], "hours_after_breakthrough"));
    assert!(near[0] > far[0] && near[1] >= far[1], "{near:?} {far:?}");
    assert!(years(&cases[0], "well_water_min_degC")[YEARS - 1] < 11.0);
}

#[test]
fn a_case_that_fails_leaves_the_others_alone() {
    let mut freezing = design(2.1, 100.0, 6.0);
    freezing.fluid.freezing_point = 1.0;
    let mut one_mode = design(2.1, 100.0, 6.0);
    one_mode.heat_pump.cooling = None;
    let designs =
        [design(2.1, 100.0, 0.0), design(2.1, 100.0, 6.0), freezing, one_mode, design(-1.0, 9.0, 9.0)];
    let cases = cases_of(&designs);
    let fields: Vec<_> = cases
        .into_iter()
        .map(|case| match case.failure {
            None => "ran".to_owned(),
            Some(Error::InvalidInput { owner, field, .. }) => format!("{owner}.{field}"),
            Some(Error::FluidFreezes { .. }) => "freezes".to_owned(),
            Some(other) => other.to_string(),
        })
        .collect();
    let expected = ["BoreField.positions", "ran", "freezes", "HeatPump.cooling_cop", "Ground.conductivity"];
    assert_eq!(fields, expected);
}

fn hour_of(criterion: &Criterion) -> usize {
    let When::Hour(hour) = criterion.when else { panic!("{} has no hour", criterion.name) };
    hour
}

#[test]
fn a_case_that_freezes_is_judged_as_if_liquid() {
    let mut designs = vec![design(2.1, 100.0, 6.0); 2];
    designs[0].fluid.freezing_point = 1.0;
    let cases = cases_of(&designs);
    let [frozen, liquid] =
        [0, 1].map(|case| cases[case].judgement.as_ref().unwrap().deciding().unwrap().clone());
    assert!(cases[0].failure.is_some() && cases[1].failure.is_none());
    assert_eq!((frozen.name, liquid.name), ("freezing_margin", "entering_fluid_min"));
    let coldest = run(&designs[1], &loads(), YEARS, &CancelToken::default()).unwrap();
    assert_eq!(frozen.margin(), coldest.hourly.leaving_fluid[hour_of(&frozen)] - 4.0);
}

#[test]
fn the_judgement_is_the_worst_hour_of_the_run() {
    let design = design(2.1, 100.0, 6.0);
    let run = run(&design, &loads(), YEARS, &CancelToken::default()).unwrap();
    let case = cases_of(std::slice::from_ref(&design)).remove(0);
    let judgement = case.judgement.unwrap();
    let deciding = judgement.deciding().unwrap();
    assert_eq!(deciding.name, "entering_fluid_min");
    assert_eq!(deciding.margin(), run.hourly.entering_fluid[hour_of(deciding)] + 1.0);
    let heating = |hour: usize| run.hourly.electricity[hour] > 0.0;
    let lowest =
        (0..run.hourly.len()).filter(|&hour| heating(hour)).map(|hour| run.hourly.entering_fluid[hour]);
    assert_eq!(deciding.margin(), lowest.fold(f64::INFINITY, f64::min) + 1.0);
}

#[test]
fn a_cancelled_study_ends() {
    let token = CancelToken::default();
    token.stop();
    let loads = loads();
    let stopped = run_cases(&[design(2.1, 100.0, 6.0)], &[Demands::of(&loads)], YEARS, None, &token);
    assert!(matches!(stopped, Err(Error::Stopped)));
}

#[test]
fn the_shortest_bores_hold_and_shorter_ones_do_not() {
    let base = design(2.1, 100.0, 6.0);
    let (token, resolution) = (CancelToken::default(), 0.1);
    let size = |measure, range| least(&base, &loads(), YEARS, measure, &range, resolution, &token).unwrap();
    for (measure, range) in
        [(Measure::Depth, 20.0..=300.0), (Measure::Depth, 60.0..=120.0), (Measure::Spacing, 0.5..=20.0)]
    {
        let sized = size(measure, range.clone());
        assert!(sized.holds() && sized.runs <= 14, "{measure:?}: {sized:?}");
        let shorter = size(measure, *range.start()..=sized.value - 1.01 * resolution);
        assert!(!shorter.holds(), "{measure:?}: {sized:?}, {shorter:?}");
        assert_eq!(shorter.value, sized.value - 1.01 * resolution);
    }
    let enough = size(Measure::Depth, 180.0..=220.0);
    assert!(enough.holds() && enough.value == 180.0);
}

#[test]
fn a_design_that_cannot_run_does_not_hold_and_gives_its_error() {
    let base = design(2.1, 100.0, 6.0);
    let size = |range| least(&base, &loads(), YEARS, Measure::Depth, &range, 0.1, &CancelToken::default());
    let sized = size(30.0..=900.0).unwrap();
    assert!(sized.holds() && sized.runs <= 10, "{sized:?}");
    let mut warm = base.clone();
    warm.limits.entering_fluid_min = Some(9.9);
    let none =
        least(&warm, &loads(), YEARS, Measure::Depth, &(30.0..=900.0), 0.1, &CancelToken::default()).unwrap();
    assert!(!none.holds() && (150.0..900.0).contains(&none.value), "{none:?}");
    assert_eq!(none.refusal.unwrap().to_string().split(' ').next(), Some("Design.flow"));
    let mut deep = base.clone();
    deep.ground_side = design(2.1, 890.0, 6.0).ground_side;
    let found =
        least(&deep, &loads(), YEARS, Measure::Depth, &(30.0..=900.0), 0.1, &CancelToken::default()).unwrap();
    assert!(found.holds() && (found.value - sized.value).abs() < 0.1, "{found:?}");
    let short = size(20.0..=30.0).unwrap();
    assert!(!short.holds() && short.value == 30.0 && short.refusal.is_none());
    assert!(size(800.0..=900.0).unwrap_err().to_string().starts_with("Design.flow = 2 kg/s"));
    assert!(size(90.0..=80.0).unwrap_err().to_string().starts_with("Sizing.between"));
    assert!(
        least(&base, &loads(), YEARS, Measure::Depth, &(20.0..=30.0), 0.0, &CancelToken::default()).is_err()
    );
}

#[test]
fn the_first_design_that_holds_is_found() {
    let designs: Vec<_> = [60.0, 75.0, 80.0, 110.0, 130.0, 150.0].map(|depth| design(2.1, depth, 6.0)).into();
    let found = first_that_holds(&designs, &loads(), YEARS, &CancelToken::default()).unwrap();
    assert!(found.holds());
    for (place, design) in designs.iter().enumerate() {
        let case = cases_of(std::slice::from_ref(design)).remove(0);
        assert_eq!(case.judgement.unwrap().holds(), place >= found.value);
    }
    let none = first_that_holds(&designs[..1], &loads(), YEARS, &CancelToken::default()).unwrap();
    assert!(!none.holds() && none.value == 0);
    assert!(first_that_holds(&[], &loads(), YEARS, &CancelToken::default()).is_err());
}
