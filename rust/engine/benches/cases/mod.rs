//! One invented design with loads, shared by the benches.

// Not every bench uses all of it.
#![allow(dead_code)]

use std::f64::consts::TAU;

use loopdrift::bore::{Bore, Inside, Pipe, Pipes, UTube};
use loopdrift::design::Design;
use loopdrift::fluid::Fluid;
use loopdrift::ground::Ground;
use loopdrift::ground_side::GroundSideKind;
use loopdrift::ground_side::bore_field::BoreField;
use loopdrift::heat_pump::{HeatPump, Mode};
use loopdrift::limits::Limits;
use loopdrift::loads::{HOURS_PER_YEAR, Loads, Series};

/// A grid of bores 6 m apart.
pub fn grid(columns: usize, rows: usize) -> BoreField {
    let bore = Bore {
        depth: 100.0,
        buried_depth: 2.0,
        diameter: 0.15,
        inside: Inside::Measured { resistance: 0.1 },
    };
    let place = |i: usize| [6.0 * (i % columns) as f64, 6.0 * (i / columns) as f64];
    BoreField { bores: vec![bore], positions: (0..columns * rows).map(place).collect(), leans: Vec::new() }
}

/// Typical ground.
pub fn ground() -> Ground {
    Ground {
        conductivity: 2.1,
        volumetric_heat_capacity: 2.3e6,
        temperature: 10.5,
        gradient: 0.0,
        darcy_flux: 0.0,
        flow_direction: 0.0,
        warming: None,
    }
}

/// A heat pump of 45 kW on a grid of 4 x 3 bores.
pub fn design() -> Design {
    let fluid = Fluid {
        name: "an invented fluid".to_owned(),
        freezing_point: -20.0,
        first_temperature: -20.0,
        temperature_step: 1.0,
        density: vec![1020.0; 80],
        heat_capacity: vec![3900.0; 80],
        conductivity: vec![0.45; 80],
        viscosity: (0..80).map(|row| 0.006 * (-0.03 * f64::from(row)).exp()).collect(),
    };
    let heating = Mode {
        cop: vec![3.6, 0.08, -0.0004],
        capacity: Some(vec![45_000.0, 900.0, 2.0]),
        entering_fluid_range: Some([-8.0, 35.0]),
        entering_load: None,
    };
    let cooling = Mode {
        cop: vec![7.0, -0.09, 0.0002],
        capacity: Some(vec![50_000.0, -200.0, -1.0]),
        entering_fluid_range: Some([0.0, 45.0]),
        entering_load: None,
    };
    Design {
        ground: ground(),
        ground_side: GroundSideKind::BoreField(grid(4, 3)),
        fluid,
        flow: 2.4,
        pump_power: 300.0,
        pump_stops: false,
        heat_pump: HeatPump {
            heating: Some(heating),
            cooling: Some(cooling),
            degradation_coefficient: 0.1,
            ..HeatPump::default()
        },
        limits: Limits {
            entering_fluid_min: Some(-5.0),
            entering_fluid_max: Some(35.0),
            freezing_margin: 3.0,
            ..Limits::default()
        },
        start_month: 1,
    }
}

/// The same with grouted U-tubes, whose flow changes from laminar to turbulent over the year.
pub fn built() -> Design {
    let pipe = Pipe { outer_diameter: 0.032, wall_thickness: 0.0029, conductivity: 0.42, roughness: 1.5e-6 };
    let inside = Inside::Built {
        pipes: Pipes::UTube(UTube { pipe, shank_spacing: 0.07 }),
        grout_conductivity: 1.5,
        grout_heat_capacity: 3e6,
        heat_capacity_inside: true,
    };
    let bore = Bore { inside, ..grid(1, 1).bores[0] };
    let field = BoreField { bores: vec![bore], ..grid(4, 3) };
    Design { ground_side: GroundSideKind::BoreField(field), ..design() }
}

/// A year with more heating than cooling, and daily and weekly variation.
pub fn loads() -> Loads {
    let season = |hour: usize| (TAU * hour as f64 / HOURS_PER_YEAR as f64).cos();
    let day = |hour: usize| (TAU * hour as f64 / 24.0).cos() + 0.5 * (TAU * hour as f64 / 168.0).sin();
    let heating = |hour| f64::max(0.0, 28_000.0 * season(hour) + 6_000.0 * day(hour) + 4_000.0);
    let cooling = |hour| f64::max(0.0, -22_000.0 * season(hour) - 5_000.0 * day(hour) - 6_000.0);
    let series = |of: &dyn Fn(usize) -> f64| (0..HOURS_PER_YEAR).map(of).collect::<Vec<_>>();
    Loads::new(Series { heating: series(&heating), cooling: series(&cooling), ..Series::default() })
        .expect("loads of one year")
}
