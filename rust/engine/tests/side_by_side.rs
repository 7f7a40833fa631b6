//! Designs that step side by side find what each finds alone.

// A test that can't begin has failed.
#![allow(clippy::expect_used, clippy::unwrap_used)]

#[path = "../benches/cases/mod.rs"]
mod cases;

use loopdrift::bore::{Bore, Inside};
use loopdrift::ground_side::bore_field::BoreField;
use loopdrift::ground_side::conduction::{ConductionMemory, Responses};
use loopdrift::heat_pump::ReadyHeatPump;
use loopdrift::history::BLOCK;
use loopdrift::lanes::Lanes;
use loopdrift::loads::HOURS_PER_YEAR;
use loopdrift::stepper::{Course, Moments, Record, Stretch, step};
use loopdrift::watch::Watch;

const LANES: usize = 4;
const HOURS: usize = 3 * HOURS_PER_YEAR;

/// Entering fluid temperature and electricity of each hour.
struct Kept<const L: usize>(Vec<[Lanes<L>; 2]>);

impl<const L: usize> Record<L, BLOCK> for Kept<L> {
    fn take(&mut self, _first: usize, _stretch: &Stretch<BLOCK>, moments: &Moments<L, BLOCK>) {
        let hours = moments.entering_fluid.0.iter().zip(&moments.electricity.0);
        self.0.extend(hours.map(|(&entering, &electricity)| [entering, electricity]));
    }
}

fn stepped<const L: usize>(fields: [&Responses; L]) -> Kept<L> {
    let design = cases::design();
    let demands = design.demands(&cases::loads()).unwrap();
    let course = Course {
        demands: &demands,
        start: 0,
        pump_power: Lanes::all(300.0),
        pump_stops: [false; L],
        freezing_point: Lanes::all(design.fluid.freezing_point),
    };
    let heat_pumps = ReadyHeatPump::new([&design.heat_pump; L]);
    let mut kept = Kept(Vec::new());
    let mut memory = ConductionMemory::at_rest(fields);
    step::<L, BLOCK, BLOCK, _, _>(&mut memory, &heat_pumps, &course, HOURS, &mut kept, &Watch::default())
        .unwrap();
    kept
}

#[test]
fn every_lane_is_a_run_of_its_own() {
    let design = cases::design();
    let field = cases::grid(4, 3);
    let fields: [Responses; LANES] =
        [(100.0, 0.1), (80.0, 0.1), (120.0, 0.15), (70.0, 0.08)].map(|(depth, resistance)| {
            let bore = Bore { depth, inside: Inside::Measured { resistance }, ..field.bores[0] };
            let field = BoreField { bores: vec![bore], ..field.clone() };
            Responses::new(&field, &design.ground, &design.fluid, design.flow, HOURS).unwrap()
        });
    let together = stepped(fields.each_ref());
    for (lane, field) in fields.iter().enumerate() {
        let alone = stepped([field]);
        for (hour, (together, alone)) in together.0.iter().zip(&alone.0).enumerate() {
            assert_eq!(together.map(|of| of.0[lane]), alone.map(|of| of.0[0]), "lane {lane}, hour {hour}");
        }
    }
}
