//! Designs that step side by side give the same results as each alone.

// If the setup fails, the test has failed.
#![allow(clippy::expect_used, clippy::unwrap_used)]

#[path = "../benches/cases/mod.rs"]
mod cases;

use loopdrift::bore::{Bore, Inside, Pipe, Pipes, UTube};
use loopdrift::cancel_token::CancelToken;
use loopdrift::design::Design;
use loopdrift::ground::Warming;
use loopdrift::ground_side::GroundSideKind;
use loopdrift::ground_side::bore_field::BoreField;
use loopdrift::heat_pump::{Demands, EnteringLoadCorrection, Scales};
use loopdrift::loads::{HOURS_PER_YEAR, Loads, Series};
use loopdrift::prepared::Stepped;
use loopdrift::prepared::conduction::{Responses, step_alone, step_together};
use loopdrift::stepper::Course;

const HOURS: usize = 3 * HOURS_PER_YEAR;

fn responses(design: &Design) -> Responses {
    let GroundSideKind::BoreField(field) = &design.ground_side else { unreachable!("all have bores") };
    Responses::new(field, &design.ground, &design.fluid, design.flow, HOURS).unwrap()
}

#[test]
fn every_design_gives_the_same_results_as_alone() {
    let case = cases::design();
    let field = cases::grid(4, 3);
    // More designs than any processor has lanes, and too few to fill the last vector.
    let designs: Vec<Design> = (0..11)
        .map(|i| {
            let of_all = f64::from(i) / 11.0;
            // Two of three are built, with films that change regime at other temperatures.
            let inside = if i % 3 == 0 {
                Inside::Measured { resistance: 0.08 + 0.05 * of_all }
            } else {
                let pipe = Pipe {
                    outer_diameter: 0.032,
                    wall_thickness: 0.002 + 0.001 * of_all,
                    conductivity: 0.42,
                    roughness: 1.5e-6,
                };
                let pipes = Pipes::UTube(UTube { pipe, shank_spacing: 0.06 });
                Inside::Built {
                    pipes,
                    grout_conductivity: 1.0 + of_all,
                    grout_heat_capacity: 3e6,
                    heat_capacity_inside: i % 2 == 0,
                }
            };
            let bore = Bore { depth: 70.0 + 60.0 * of_all, inside, ..field.bores[0] };
            let mut design = Design {
                ground_side: GroundSideKind::BoreField(BoreField { bores: vec![bore], ..field.clone() }),
                pump_stops: i % 2 == 0,
                pump_power: 200.0 + 300.0 * of_all,
                ..case.clone()
            };
            design.heat_pump.heating_lock_out = (i == 3).then_some(-4.0);
            if i == 5 {
                design.heat_pump.heating_low = design.heat_pump.heating.clone().map(|mut low| {
                    low.capacity.iter_mut().flatten().for_each(|coefficient| *coefficient *= 0.6);
                    low
                });
            }
            design.fluid.freezing_point = if i == 7 { 4.0 } else { -20.0 };
            design
        })
        .collect();
    let loads = cases::loads();
    let demands = vec![case.demands(&loads).unwrap(); designs.len()];
    let loops: Vec<Responses> = designs.iter().map(responses).collect();
    let together = together_as_alone(&loops, &designs, &demands);
    assert!(together[7].clone().liquid().is_err());
    assert!(together[6].clone().liquid().is_ok());
}

/// Steps designs side by side, checks each against its run alone, and returns the results.
fn together_as_alone(loops: &[Responses], designs: &[Design], demands: &[Demands]) -> Vec<Stepped> {
    let (loops, designs): (Vec<_>, Vec<_>) = (loops.iter().collect(), designs.iter().collect());
    let token = CancelToken::default();
    let course = Course { designs: &designs, demands };
    let together = step_together(&loops, &course, HOURS, &token).unwrap();
    assert_eq!(together.len(), designs.len());
    for (place, together) in together.iter().enumerate() {
        let course = Course { designs: &designs[place..=place], demands: &demands[place..=place] };
        let alone = step_alone(loops[place], &course, HOURS, None, &token).unwrap();
        assert_eq!(together, &alone, "design {place}");
    }
    together
}

/// Heating in winter, cooling in summer, hot water always and recharge at times, all of several years.
fn varied_loads(heating: f64, cooling: f64, years: usize) -> Loads {
    let wave = |hour: usize| (std::f64::consts::TAU * hour as f64 / HOURS_PER_YEAR as f64).cos();
    let series = |of: &dyn Fn(usize) -> f64| (0..years * HOURS_PER_YEAR).map(of).collect();
    Loads::new(Series {
        heating: series(&|hour| (heating * wave(hour) - 2e3).max(0.0)),
        cooling: series(&|hour| (-cooling * wave(hour) - 1e3).max(0.0)),
        hot_water: series(&|hour| if hour % 24 == 6 { 1.7e3 } else { 0.0 }),
        recharge: series(&|hour| {
            if hour % 24 == 13 && wave(hour) < 0.3 { 3e3 * (hour as f64).sin() } else { 0.0 }
        }),
        ..Series::default()
    })
    .unwrap()
}

/// Loads times factors, loads of other buildings, and runs that begin in other months: winter in one lane is summer in
/// another, and some lanes have no load at all.
#[test]
fn designs_with_loads_of_their_own_give_the_same_results_as_alone() {
    let both = [varied_loads(24e3, 13e3, 1), varied_loads(31e3, 6e3, 1)];
    let scales = |heating, cooling, hot_water, recharge| Scales { heating, cooling, hot_water, recharge };
    let factors = [
        scales(1.0, 1.0, 1.0, 1.0),
        scales(0.7, 1.3, 1.0, 1.0),
        scales(0.0, 0.0, 0.0, 0.0),
        scales(1.1, 0.0, 0.4, 2.5),
        scales(0.0, 1.7, 0.0, 0.3),
    ];
    for is_shifted in [false, true] {
        let designs: Vec<Design> = (0..13)
            .map(|i| {
                let start_month = if is_shifted { 1 + (5 * i) % 12 } else { 3 };
                let mut design = if i % 3 == 0 { cases::built() } else { cases::design() };
                design.start_month = start_month;
                design.pump_stops = i % 4 == 1;
                design.fluid.freezing_point = if i == 4 { 3.0 } else { -20.0 };
                design.heat_pump.cooling_lock_out = (i == 6).then_some(11.0);
                design
            })
            .collect();
        let demands: Vec<Demands> = (0..designs.len())
            .map(|i| Demands::scaled(&both[i / 5 % 2], factors[i % factors.len()]).unwrap())
            .collect();
        let loops: Vec<Responses> = designs.iter().map(responses).collect();
        together_as_alone(&loops, &designs, &demands);
    }
}

/// Loads of two years keep step with each other, and entering load temperatures differ from lane to lane.
#[test]
fn entering_load_temperatures_of_their_own_give_the_same_results_as_alone() {
    let with_sides = |warmer: f64, heating: f64| {
        let mut series = varied_loads(heating, 9e3, 2).into_series();
        let water = |hour: usize| warmer + 30.0 + (hour / 24 % 10) as f64;
        series.heating_entering_load_temperature = (0..2 * HOURS_PER_YEAR).map(water).collect();
        series.cooling_entering_load_temperature = vec![20.0 + warmer; 2 * HOURS_PER_YEAR];
        Loads::new(series).unwrap()
    };
    let both = [with_sides(0.0, 22e3), with_sides(3.0, 27e3)];
    let mut design = cases::design();
    for mode in [&mut design.heat_pump.heating, &mut design.heat_pump.cooling].into_iter().flatten() {
        mode.entering_load = Some(EnteringLoadCorrection {
            reference: 35.0,
            range: [15.0, 38.0],
            cop: vec![-0.05],
            capacity: vec![],
        });
    }
    let designs: Vec<Design> =
        (0..5).map(|i| Design { start_month: 1 + i % 2 * 6, ..design.clone() }).collect();
    let demands: Vec<Demands> = (0..5).map(|i| Demands::of(&both[i % 2])).collect();
    let loops: Vec<Responses> = designs.iter().map(responses).collect();
    together_as_alone(&loops, &designs, &demands);
}

/// Ground that warms at a rate, by a series or not at all, and walls with a limit.
#[test]
fn designs_in_warming_ground_give_the_same_results_as_alone() {
    let monthly = |i: usize| (0..=36).map(|month| (0.3 * (i * month) as f64).sin()).collect();
    let designs: Vec<Design> = (0..10)
        .map(|i| {
            let mut design = if i % 2 == 0 { cases::built() } else { cases::design() };
            let rate = 0.05 * i as f64;
            design.ground.warming = match i % 3 {
                0 => Some(Warming { rate, values: Vec::new(), interval: None }),
                1 => Some(Warming { rate, values: monthly(i), interval: Some(730.0) }),
                _ => None,
            };
            design.limits.wall_min = (i % 4 == 0).then_some(5.0);
            design
        })
        .collect();
    let loads = cases::loads();
    let demands = vec![cases::design().demands(&loads).unwrap(); designs.len()];
    let loops: Vec<Responses> = designs.iter().map(responses).collect();
    let together = together_as_alone(&loops, &designs, &demands);
    let warmest = |place: usize| together[place].clone().liquid().unwrap().years[2].entering_fluid_max;
    assert!(warmest(6) > warmest(0) + 0.5);
}
