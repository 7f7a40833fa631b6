//! Designs that step side by side give the same results as each alone.

// If the setup fails, the test has failed.
#![allow(clippy::expect_used, clippy::unwrap_used)]

#[path = "../benches/cases/mod.rs"]
mod cases;

use loopdrift::bore::{Bore, Inside, Pipe, Pipes, UTube};
use loopdrift::cancel_token::CancelToken;
use loopdrift::design::Design;
use loopdrift::ground_side::GroundSideKind;
use loopdrift::ground_side::bore_field::BoreField;
use loopdrift::loads::HOURS_PER_YEAR;
use loopdrift::prepared::conduction::{Responses, step_alone, step_together};
use loopdrift::stepper::Course;

const HOURS: usize = 3 * HOURS_PER_YEAR;

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
    let demands = case.demands(&cases::loads()).unwrap();
    let loops: Vec<Responses> = designs
        .iter()
        .map(|design| {
            let GroundSideKind::BoreField(field) = &design.ground_side else {
                unreachable!("all have bores")
            };
            Responses::new(field, &design.ground, &design.fluid, design.flow, HOURS).unwrap()
        })
        .collect();
    let (loops, designs): (Vec<_>, Vec<_>) = (loops.iter().collect(), designs.iter().collect());
    let token = CancelToken::default();
    let together = step_together(&loops, &designs, &demands, HOURS, &token).unwrap();
    assert_eq!(together.len(), designs.len());
    for (place, together) in together.iter().enumerate() {
        let course = Course { designs: &designs[place..=place], demands: &demands };
        let alone = step_alone(loops[place], &course, HOURS, None, &token).unwrap();
        assert_eq!(together, &alone, "design {place}");
    }
    assert!(together[7].clone().liquid().is_err());
    assert!(together[6].clone().liquid().is_ok());
}
