use std::f64::consts::PI;

use super::basin::Basin;
use super::coils::outside_film;
use super::*;
use crate::bore::Pipe;
use crate::ground::Ground;
use crate::ground_side::pond::Weather;
use crate::ground_side::{GroundSide, Offer};
use crate::hourly::Hourly;
use crate::lane_layout::OneByOne;

const YEAR: usize = 8760;
const GROUND: Ground = Ground {
    conductivity: 1.5,
    volumetric_heat_capacity: 2.4e6,
    temperature: 8.0,
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

fn pond() -> Pond {
    let year = |hour: usize| (std::f64::consts::TAU * hour as f64 / YEAR as f64).cos();
    Pond {
        bathymetry: vec![[0.0, 5000.0], [2.0, 3500.0], [4.0, 1500.0]],
        extinction_depth: 1.2,
        inflow: 0.5,
        inflow_temperature: Some(9.0),
        pipe: Pipe { outer_diameter: 0.032, wall_thickness: 0.0029, conductivity: 0.4, roughness: 1.5e-6 },
        circuits: 10,
        length: 100.0,
        weather: Weather {
            dry_bulb: (0..YEAR).map(|hour| 6.0 - 16.0 * year(hour)).collect(),
            relative_humidity: vec![70.0; YEAR],
            ghi: (0..YEAR).map(|hour| if hour % 24 > 8 && hour % 24 < 16 { 250.0 } else { 0.0 }).collect(),
            wind_speed: (0..YEAR).map(|hour| (hour % 7) as f64).collect(),
            latitude: 48.0,
            altitude: 300.0,
        },
        water: water(),
    }
}

fn prepared(pond: &Pond) -> Arc<PreparedPond> {
    let fluid = Fluid { freezing_point: -15.0, ..water() };
    Arc::new(PreparedPond::new(pond, &GROUND, &fluid, 2.0, 0).unwrap())
}

/// Entering and leaving fluid temperature of an hour with a heat.
fn fluid(ground_side: &impl GroundSide<OneByOne, 1>, offer: &Offer<f64, 1>, heat: f64) -> [f64; 2] {
    let met = offer.no_load_temperature[0] - offer.pulse_response[0] * heat;
    let mean = (0..20).fold(met, |mean, _| met - ground_side.resistance(mean).value * heat);
    let half = 0.5 * ground_side.kelvins_per_watt(mean).value * heat;
    [mean + half, mean - half]
}

/// A year with heat in winter, hour by hour.
fn stepped(prepared: &Arc<PreparedPond>, heat: impl Fn(usize) -> f64) -> (Hourly, GroundSideResults) {
    let mut hourly = Hourly::zeros(YEAR);
    let mut state = prepared.initial(YEAR);
    for hour in 0..YEAR {
        let (heat, mut offer) = (heat(hour), state.offer());
        while let Some(refined) = state.refined(&[heat]) {
            offer = refined;
        }
        let [entering, leaving] = fluid(&state, &offer, heat);
        state.commit(&[heat]);
        hourly.entering_fluid[hour] = entering;
        hourly.leaving_fluid[hour] = leaving;
        hourly.heat_extracted[hour] = heat;
    }
    let results = state.results(&hourly.heat_extracted);
    (hourly, results)
}

#[test]
fn layers_contain_the_whole_pond_and_absorb_all_light() {
    let pond = pond();
    let basin = Basin::new(&pond);
    let volume = 2.0 * (5000.0 + 3500.0) / 2.0 + 2.0 * (3500.0 + 1500.0) / 2.0;
    assert!((basin.volumes.iter().sum::<f64>() - volume).abs() < 1e-9 * volume);
    assert!((basin.beds.iter().sum::<f64>() - 5000.0).abs() < 1e-9);
    assert!((basin.lit.iter().sum::<f64>() - 5000.0).abs() < 1e-9);
}

#[test]
fn heat_is_balanced_every_hour_through_freezing_and_thaw() {
    let prepared = prepared(&pond());
    let (hourly, results) =
        stepped(&prepared, |hour| if hour % 9 < 5 && hour < 2000 { 60_000.0 } else { 0.0 });
    let series = |name: &str| &results.hourly.iter().find(|(known, _)| *known == name).unwrap().1;
    let stored = series("stored_kWh");
    let ice = series("ice_m");
    assert!(ice.iter().fold(0.0, |most: f64, ice| most.max(*ice)) > 0.1);
    assert!(ice.contains(&0.0) && ice.iter().all(|ice| *ice >= 0.0));
    for hour in 1..YEAR {
        let gained = series("heat_from_above_W")[hour]
            + series("heat_from_ground_W")[hour]
            + series("heat_from_inflow_W")[hour]
            - hourly.heat_extracted[hour];
        let change = (stored[hour] - stored[hour - 1]) * 1000.0;
        let scale = stored[hour].abs() + gained.abs();
        assert!((gained - change).abs() < 1e-9 * scale, "hour {hour}: {gained} {change}");
    }
}

#[test]
fn the_offer_predicts_the_water_temperature() {
    let prepared = prepared(&pond());
    let (hourly, results) = stepped(&prepared, |hour| if hour % 2 == 0 { 30_000.0 } else { -10_000.0 });
    let coil = &results.hourly.iter().find(|(name, _)| *name == "coil_surface_degC").unwrap().1;
    for (hour, coil) in coil.iter().enumerate() {
        // Heat flows from the warmer to the colder.
        let mean = 0.5 * (hourly.entering_fluid[hour] + hourly.leaving_fluid[hour]);
        assert!((coil - mean) * hourly.heat_extracted[hour] > 0.0, "hour {hour}");
    }
}

#[test]
fn water_under_ice_is_layered_by_density() {
    let prepared = prepared(&pond());
    let (_, results) = stepped(&prepared, |_| 0.0);
    let ice = &results.hourly[0].1;
    let coldest = (0..YEAR).max_by(|&a, &b| ice[a].total_cmp(&ice[b])).unwrap();
    assert!(ice[coldest] > 0.1);
    assert!((2.5..=4.5).contains(&results.wall[coldest]), "{}", results.wall[coldest]);
}

#[test]
fn the_time_step_error_is_confirmed_by_short_steps() {
    let prepared = prepared(&pond());
    let (hourly, results) =
        stepped(&prepared, |hour| if hour % 24 < 9 && hour < 2500 { 40_000.0 } else { 0.0 });
    // Sixteen steps an hour have a sixteenth of the error.
    let lost = prepared.difference_from_steps(16, &hourly.heat_extracted, &results.wall) * 16.0 / 15.0;
    assert!(lost > 0.005, "{lost}");
    assert!(
        (0.5..2.0).contains(&(results.error.steps / lost)),
        "{} reported, {lost} actual",
        results.error.steps
    );
}

#[test]
fn the_film_is_that_of_the_heat_of_the_hour() {
    let (pond, abrupt) = (pond(), [0.0, 40_000.0, 9_000.0, -20_000.0]);
    let (prepared, diameter) = (prepared(&pond), pond.pipe.outer_diameter);
    let mut state = prepared.initial(YEAR);
    for hour in 0..YEAR {
        let heat = abrupt[hour / 3 % 4];
        state.offer();
        while state.refined(&[heat]).is_some() {}
        let (met, rise) = (state.met_by_coils(heat), state.rise(heat));
        let outside = 1.0 / (PI * diameter * outside_film(diameter, &water(), met, met + rise));
        let exact = -heat / prepared.coils.total_length() * outside;
        assert!((rise - exact).abs() < 0.006, "hour {hour}: {rise}, {exact}");
        state.commit(&[heat]);
    }
    assert!(state.film_error < 0.006, "{}", state.film_error);
}
