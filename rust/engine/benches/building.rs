//! A year of an invented house.

// A bench has no caller to return an error to.
#![allow(clippy::expect_used)]

use std::f64::consts::TAU;
use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use loopdrift::building::{Building, Mass, Opaque, Week, Window};
use loopdrift::loads::HOURS_PER_YEAR;

fn house() -> Building {
    let constant = |value: f64| Week::new(vec![value; 168]);
    let window = |azimuth| Window {
        area: 8.0,
        u_value: 1.3,
        g_value: 0.55,
        azimuth,
        tilt: 90.0,
        shading: 0.8,
        frame_share: 0.25,
    };
    Building {
        floor_area: 150.0,
        height: 2.6,
        opaque: vec![Opaque { area: 380.0, u_value: 0.3, exposure: 0.9 }],
        windows: [0.0, 90.0, 180.0, 270.0].map(window).into(),
        mass: Mass::Medium,
        heat_capacity: None,
        ventilation: 0.4,
        heat_recovery: 0.7,
        infiltration: 0.1,
        occupants: 4.0,
        occupancy: constant(0.6),
        equipment: 500.0,
        equipment_use: constant(0.5),
        heating_set_point: Some(constant(20.0)),
        cooling_set_point: Some(constant(26.0)),
        heating_power: None,
        cooling_power: None,
    }
}

fn building(criterion: &mut Criterion) {
    let hours = || (0..HOURS_PER_YEAR).map(|hour| hour as f64);
    let day = |hour: f64| (TAU * hour / 24.0).cos();
    let outdoor: Vec<f64> =
        hours().map(|hour| 8.0 - 12.0 * (TAU * hour / 8760.0).cos() - 5.0 * day(hour)).collect();
    let sun: Vec<f64> = hours().map(|hour| (-600.0 * day(hour)).max(0.0)).collect();
    let (house, irradiance) = (house(), vec![sun; 4]);
    criterion.bench_function("building year", |bencher| {
        bencher.iter(|| black_box(house.year(&outdoor, &irradiance, false).expect("a year")));
    });
}

criterion_group!(benches, building);
criterion_main!(benches);
