use super::state::WellState;
use super::*;
use crate::fluid::Fluid;
use crate::ground::Ground;
use crate::ground_side::GroundSide;
use crate::ground_side::well::{Aquifer, returned_share, well_function};
use crate::hourly::Hourly;

const YEAR: usize = 8760;
const GROUND: Ground = Ground {
    conductivity: 2.0,
    volumetric_heat_capacity: 2.5e6,
    temperature: 10.0,
    gradient: 0.0,
    darcy_flux: 0.0,
    flow_direction: 0.0,
    warming: None,
};

fn water() -> Fluid {
    Fluid {
        name: "water as in a book".to_owned(),
        freezing_point: 0.0,
        first_temperature: 0.0,
        temperature_step: 40.0,
        density: vec![1000.0; 2],
        heat_capacity: vec![4200.0; 2],
        conductivity: vec![0.57; 2],
        viscosity: vec![1.3e-3; 2],
    }
}

fn well() -> Well {
    Well {
        aquifer: Aquifer { temperature: 11.0, thickness: 10.0, transmissivity: 2e-3, storativity: 1e-4 },
        diameter: 0.3,
        depth: None,
        sustained_yield: 10.0,
        lift: 12.0,
        pump_efficiency: 0.55,
        flow: Some(2.0),
        effectiveness: Some(0.8),
        return_distance: Some(40.0),
        lowest_discharge: 3.0,
        available_drawdown: None,
        pump_stops: false,
    }
}

#[test]
fn the_well_function_agrees_with_a_published_table() {
    // Wenzel (1942), USGS Water-Supply Paper 887, table of W(u); from state.
    for (u, expected) in
        [(1e-10, 22.4486), (1e-4, 8.6332), (0.01, 4.0379), (0.1, 1.8229), (1.0, 0.2194), (5.0, 0.001_148)]
    {
        let found = well_function(u);
        assert!((found - expected).abs() < 6e-5, "{u}: {found}");
    }
    assert!((well_function(1.0 - 1e-12) / well_function(1.0) - 1.0).abs() < 1e-11);
}

#[test]
fn all_returned_water_eventually_arrives() {
    assert_eq!(returned_share(1.0), 0.0);
    let mut before = 0.0;
    for time in [1.001, 1.1, 2.0, 10.0, 1e3, 1e6] {
        let share = returned_share(time);
        assert!(share > before && share < 1.0);
        before = share;
    }
    assert!(before > 0.98);
}

#[test]
fn water_temperature_is_constant_until_breakthrough_and_falls_afterwards() {
    let well = well();
    let prepared = Arc::new(PreparedWell::new(&well, &GROUND, &water(), 1.5, YEAR).unwrap());
    let mut state = prepared.initial(YEAR);
    let arrival = breakthrough(2.0, 40.0, 10.0, 2.5e6) / 3600.0;
    for hour in 0..YEAR {
        let offer = state.offer();
        let given = offer.no_load_temperature[0];
        if (hour as f64) < arrival - 36.0 {
            assert_eq!(given, 11.0);
        }
        if hour as f64 > 2.0 * arrival {
            assert!(given < 10.5);
        }
        state.commit(&[20_000.0]);
    }
    assert!(arrival > 500.0 && arrival < 4000.0);
}

#[test]
fn heat_from_the_well_follows_from_the_effectiveness() {
    let prepared = Arc::new(PreparedWell::new(&well(), &GROUND, &water(), 1.5, YEAR).unwrap());
    let mut state = prepared.initial(YEAR);
    let (offer, heat) = (state.offer(), 15_000.0);
    let mean = offer.no_load_temperature[0] - (offer.pulse_response[0] + state.resistance(8.0).value) * heat;
    let leaving = mean - 0.5 * state.kelvins_per_watt(8.0).value * heat;
    assert!((0.8 * 1.5 * 4200.0 * (11.0 - leaving) - heat).abs() < 1e-6);
}

#[test]
fn shares_arrive_at_the_times_of_their_streamlines() {
    for angle in [1e-3, 0.02, 0.4, 1.2, 1.6, 2.5, 3.0, 3.13] {
        let (sin, cos): (f64, f64) = f64::sin_cos(angle);
        let time = 3.0 * (1.0 - angle * cos / sin) / (sin * sin);
        let share = returned_share(time);
        let exact = angle / std::f64::consts::PI;
        // Early on the time hardly depends on the angle.
        let blurred = 1e-12 + 1e-15 / angle.powi(3);
        assert!((share - exact).abs() < blurred, "{angle}: {share} for {exact}");
    }
}

#[test]
fn the_interval_error_is_confirmed_by_short_intervals() {
    let prepared = Arc::new(PreparedWell::new(&well(), &GROUND, &water(), 1.5, YEAR).unwrap());
    let heat = |hour: usize| if hour % 24 < 15 { 25_000.0 } else { 0.0 };
    let mut state = prepared.initial(YEAR);
    let mut hourly = Hourly::zeros(YEAR);
    for hour in 0..YEAR {
        state.commit(&[heat(hour)]);
        hourly.heat_extracted[hour] = heat(hour);
    }
    let results = state.results(prepared.level(YEAR), &mut hourly, &mut []);
    let lost = {
        let shares: Vec<f64> =
            hourly.heat_extracted.iter().map(|&heat| f64::from(u8::from(heat != 0.0))).collect();
        prepared.difference_from_intervals(1, &hourly.heat_extracted, &shares, &results.wall)
    };
    assert!(lost > 0.01, "{lost}");
    assert!(
        (0.5..2.0).contains(&(results.error.steps / lost)),
        "{} reported, {lost} actual",
        results.error.steps
    );
}

#[test]
fn tabulation_does_not_affect_the_drawdown() {
    let (well, hours) = (well(), 20 * YEAR);
    let prepared = Arc::new(PreparedWell::new(&well, &GROUND, &water(), 1.5, hours).unwrap());
    let level = prepared.level(hours).of(&vec![1.0; hours]).swap_remove(0);
    for hour in [1, 2, 7, 100, 5000, 20 * YEAR] {
        let exact = well.drawdown(2.0, 3600.0 * hour as f64);
        assert!((level[hour - 1] - exact).abs() < 1e-7 * exact, "{hour} h: {} for {exact}", level[hour - 1]);
    }
}

#[test]
fn electricity_of_the_pump_is_added() {
    let prepared = Arc::new(PreparedWell::new(&well(), &GROUND, &water(), 1.5, YEAR).unwrap());
    let mut state = prepared.initial(YEAR);
    let mut hourly = Hourly::zeros(YEAR);
    for hour in 0..YEAR {
        let heat = if hour < 4000 { 15_000.0 } else { 0.0 };
        state.commit(&[heat]);
        hourly.heat_extracted[hour] = heat;
        hourly.electricity[hour] = heat / 4.0;
    }
    let results = state.results(prepared.level(YEAR), &mut hourly, &mut []);
    let column = |columns: &[Column], name: &str| {
        columns.iter().find(|(known, _)| *known == name).map(|(_, values)| values.clone()).unwrap()
    };
    let pump = column(&results.hourly, "electricity_well_W");
    for (hour, &pump) in pump.iter().enumerate() {
        assert_eq!(hourly.electricity[hour], hourly.heat_extracted[hour] / 4.0 + pump);
        assert_eq!(pump > 0.0, hour < 4000);
    }
    let year = column(&results.yearly, "electricity_well_kWh")[0];
    assert!((year - pump.iter().sum::<f64>() / 1000.0).abs() < 1e-9 * year);
}

/// Entering and leaving fluid of an hour with the share that follows from the fluid, solved as in the stepper.
fn solve_hour(state: &mut WellState, heat: f64, share_at: impl Fn(f64) -> f64) -> (f64, f64) {
    state.set_flow_shares(&[share_at(8.0)]);
    let mut offer = state.offer();
    loop {
        let mut mean = offer.no_load_temperature[0];
        for _ in 0..20 {
            mean = offer.no_load_temperature[0]
                - (offer.pulse_response[0] + state.resistance(mean).value) * heat;
        }
        let half = 0.5 * state.kelvins_per_watt(mean).value * heat;
        state.set_flow_shares(&[share_at(mean + half)]);
        match state.refined(&[heat]) {
            Some(refined) => offer = refined,
            None => {
                state.commit(&[heat]);
                return (mean + half, mean - half);
            }
        }
    }
}

#[test]
fn the_exchanger_sees_the_full_flow_while_the_pump_runs() {
    let well = Well { pump_stops: true, ..well() };
    let prepared = Arc::new(PreparedWell::new(&well, &GROUND, &water(), 1.5, YEAR).unwrap());
    let mut state = prepared.initial(YEAR);
    // Capacity of 9 kW at 0 degC and 0.3 kW more per kelvin, with a load of 400 W.
    let share_at = |entering: f64| 400.0 / (9e3 + 300.0 * entering);
    let (entering, leaving) = solve_hour(&mut state, 300.0, share_at);
    let share = share_at(entering);
    let while_running = 300.0 / share;
    assert!((0.8 * 1.5 * 4200.0 * (11.0 - leaving) - while_running).abs() < 1e-3);
    assert!((1.5 * 4200.0 * (entering - leaving) - while_running).abs() < 1e-3);
    assert!(state.flow_stops());
    assert_eq!(state.shares.len(), 1);
    assert!((state.shares[0] / share - 1.0).abs() < 1e-7, "{} {share}", state.shares[0]);
    assert!((2.0 * 4200.0 * (11.0 - state.discharged[0]) - while_running).abs() < 0.1);
    // An idle hour pumps nothing.
    solve_hour(&mut state, 0.0, |_| 0.0);
    assert_eq!(state.shares[1], 0.0);
}

#[test]
fn a_pump_that_stops_moves_only_the_water_of_its_running_time() {
    let well = Well { pump_stops: true, ..well() };
    let pumps_always = self::well();
    let arrival_of = |well: &Well, share: f64| {
        let prepared = Arc::new(PreparedWell::new(well, &GROUND, &water(), 1.5, 3 * YEAR).unwrap());
        let mut state = prepared.initial(3 * YEAR);
        for _ in 0..3 * YEAR {
            solve_hour(&mut state, 20e3 * share, |_| share);
        }
        state.given.iter().position(|&given| given != 11.0).unwrap()
    };
    let (always, stops) = (arrival_of(&pumps_always, 1.0), arrival_of(&well, 0.2));
    assert!((stops as f64 / always as f64 / 5.0 - 1.0).abs() < 0.02, "{stops} {always}");
}

#[test]
fn the_drawdown_is_that_of_the_running_pump() {
    let well = Well { pump_stops: true, ..well() };
    let prepared = Arc::new(PreparedWell::new(&well, &GROUND, &water(), 1.5, YEAR).unwrap());
    let mut state = prepared.initial(YEAR);
    let mut hourly = Hourly::zeros(YEAR);
    hourly.heat_extracted[0] = 4e3;
    for heat in hourly.heat_extracted.clone() {
        solve_hour(&mut state, heat, |_| if heat > 0.0 { 0.25 } else { 0.0 });
    }
    let results = state.results(prepared.level(YEAR), &mut hourly, &mut []);
    let column = |name: &str| results.hourly.iter().find(|(known, _)| *known == name).unwrap().1.clone();
    let (drawdown, power) = (column("drawdown_m"), column("electricity_well_W"));
    let running = well.drawdown(2.0, 900.0);
    assert!((drawdown[0] / running - 1.0).abs() < 1e-9, "{} {running}", drawdown[0]);
    let head = 12.0 + running;
    assert!((power[0] / (0.25 * 9.80665 * 2.0 * head / 0.55) - 1.0).abs() < 1e-9);
    assert_eq!(power[1], 0.0);
    assert!((column("well_flow_kg_per_s")[0] - 0.5).abs() < 1e-12);
    assert_eq!(hourly.electricity, power);
}
