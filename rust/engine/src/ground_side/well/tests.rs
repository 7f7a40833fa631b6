use super::*;
use crate::fluid::Fluid;
use crate::ground::Ground;
use crate::ground_side::GroundSide;
use crate::hours::Hours;
use crate::lanes::Lanes;

const YEAR: usize = 8760;
const GROUND: Ground =
    Ground { conductivity: 2.0, volumetric_heat_capacity: 2.5e6, temperature: 10.0, gradient: 0.0 };

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
        sustained_yield: 10.0,
        lift: 12.0,
        pump_efficiency: 0.55,
        flow: Some(2.0),
        effectiveness: Some(0.8),
        return_distance: Some(40.0),
        lowest_discharge: 3.0,
        available_drawdown: None,
    }
}

#[test]
fn the_well_function_is_that_of_the_table() {
    // Wenzel (1942), USGS Water-Supply Paper 887, table of W(u); from memory.
    for (u, expected) in
        [(1e-10, 22.4486), (1e-4, 8.6332), (0.01, 4.0379), (0.1, 1.8229), (1.0, 0.2194), (5.0, 0.001_148)]
    {
        let found = well_function(u);
        assert!((found - expected).abs() < 6e-5, "{u}: {found}");
    }
    assert!((well_function(1.0 - 1e-12) / well_function(1.0) - 1.0).abs() < 1e-11);
}

#[test]
fn all_that_is_returned_arrives_in_the_end() {
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
fn water_keeps_its_temperature_until_breakthrough_and_cools_after_it() {
    let well = well();
    let ready = ReadyWell::new(&well, &GROUND, &water(), 1.5, YEAR).unwrap();
    let mut memory = ready.at_rest();
    let arrival = breakthrough(2.0, 40.0, 10.0, 2.5e6) / 3600.0;
    for hour in 0..YEAR {
        let offer = memory.offer();
        let given = offer.settled[0].0[0];
        if (hour as f64) < arrival - 36.0 {
            assert_eq!(given, 11.0);
        }
        if hour as f64 > 2.0 * arrival {
            assert!(given < 10.5);
        }
        memory.commit(&Hours([Lanes([20_000.0])]), &Hours([Lanes([given])]));
    }
    assert!(arrival > 500.0 && arrival < 4000.0);
}

#[test]
fn heat_flows_from_the_well_to_the_fluid_by_the_exchangers_effectiveness() {
    let ready = ReadyWell::new(&well(), &GROUND, &water(), 1.5, YEAR).unwrap();
    let offer = ready.at_rest().offer();
    let heat = 15_000.0;
    let entering = offer.settled[0].0[0] - offer.answers[0].0[0] * heat;
    let leaving = entering - offer.kelvins_per_watt.0[0] * heat;
    assert!((0.8 * 1.5 * 4200.0 * (11.0 - leaving) - heat).abs() < 1e-6);
}
