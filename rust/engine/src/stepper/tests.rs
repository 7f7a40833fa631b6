//! One hour of an invented loop, whose solutions are known.

use super::bisection::Bisection;
use super::newton::HeatPumps;
use super::plan::{Plan, Solution, Work};
use super::{Course, TimeBlock};
use crate::bore::{Bore, Inside};
use crate::design::Design;
use crate::fluid::Fluid;
use crate::ground::Ground;
use crate::ground_side::Bend;
use crate::ground_side::bore_field::BoreField;
use crate::ground_side::{GroundSide, GroundSideKind, Offer};
use crate::heat_pump::{Demand, HeatPump, Mode, ReadyHeatPump, Tangent};
use crate::lane_layout::OneByOne;
use crate::limits::Limits;

/// Heat extracted [W] by a heat pump of COP 4 that gives 10 kW.
const HEAT: f64 = 7500.0;

/// Kelvins per watt of the flow: 3 K from end to end.
const KELVINS_PER_WATT: f64 = 3.0 / HEAT;

/// Where the film of the loop becomes turbulent [degC].
const BEND: f64 = 5.0;

/// A loop with a resistance over the mean fluid temperature.
struct Loop {
    /// Value [K/W] and slope [1/W].
    resistance: fn(f64) -> [f64; 2],
    bends: Vec<Bend<f64>>,
}

impl GroundSide<OneByOne, 1> for Loop {
    fn offer(&mut self) -> Offer<f64, 1> {
        offer(0.0)
    }

    fn resistance(&self, mean_fluid: f64) -> Tangent<f64> {
        let [value, slope] = (self.resistance)(mean_fluid);
        Tangent { value, slope }
    }

    fn kelvins_per_watt(&self, _mean_fluid: f64) -> Tangent<f64> {
        Tangent { value: KELVINS_PER_WATT, slope: 0.0 }
    }

    fn bends(&self) -> &[Bend<f64>] {
        &self.bends
    }

    fn commit(&mut self, _heat_extracted: &[f64; 1]) {}
}

fn offer(no_load_temperature: f64) -> Offer<f64, 1> {
    Offer { no_load_temperature: [no_load_temperature], pulse_response: [0.0] }
}

fn heat_pump() -> HeatPump {
    let heating = Mode { cop: vec![4.0], capacity: Some(vec![20_000.0]), ..Mode::default() };
    HeatPump { heating: Some(heating), ..HeatPump::default() }
}

/// A design of which only the heat pump counts here.
fn design() -> Design {
    let bore = Bore {
        depth: 100.0,
        buried_depth: 2.0,
        diameter: 0.15,
        inside: Inside::Measured { resistance: 0.1 },
    };
    Design {
        ground: Ground {
            conductivity: 2.1,
            volumetric_heat_capacity: 2.3e6,
            temperature: 10.5,
            gradient: 0.0,
        },
        ground_side: GroundSideKind::BoreField(BoreField {
            bores: vec![bore],
            positions: vec![[0.0, 0.0]],
            leans: Vec::new(),
        }),
        fluid: Fluid {
            name: "an invented fluid".to_owned(),
            freezing_point: -12.0,
            first_temperature: -20.0,
            temperature_step: 10.0,
            density: vec![1020.0; 2],
            heat_capacity: vec![3900.0; 2],
            conductivity: vec![0.45; 2],
            viscosity: vec![0.004; 2],
        },
        flow: 0.5,
        pump_power: 0.0,
        pump_stops: false,
        heat_pump: heat_pump(),
        limits: Limits::default(),
        start_month: 1,
    }
}

fn time_block() -> TimeBlock<1> {
    TimeBlock::of(&[Demand { heating: 10_000.0, ..Demand::default() }])
}

/// A film that is laminar up to the bend and turbulent from 2 K above it: the resistance takes 15 K, then 7.5 K. Between the two the
/// fluid's temperature less the fall across the film decreases as it gets warmer.
fn bent() -> Loop {
    let resistance = |mean: f64| match mean {
        ..=BEND => [2e-3, 0.0],
        BEND..7.0 => [2e-3 - 5e-4 * (mean - BEND), -5e-4],
        _ => [1e-3, 0.0],
    };
    Loop { resistance, bends: vec![Bend { temperature: BEND, resistance: 2e-3 }] }
}

/// Mean fluid temperatures of an hour by bisection and by Newton's iteration from some entering fluid temperature.
fn mean_fluid(ground_side: &Loop, no_load_temperature: f64, begin: f64) -> [f64; 2] {
    let (heat_pump, time_block, offer) = (heat_pump(), time_block(), offer(no_load_temperature));
    let ready = ReadyHeatPump::new((), |_| &heat_pump);
    let bisection = Bisection { layout: OneByOne, heat_pump: &ready, offer: &offer, ground_side, lane: 0 };
    let [(entering, heat)] = bisection.solve(&time_block).unwrap();
    assert!((heat - HEAT).abs() < 1e-9);

    let design = design();
    let course = Course { designs: &[&design], demands: &[] };
    let heat_pumps = HeatPumps { layout: OneByOne, course: &course, ready };
    let (mut plan, mut work) = (Plan::none(0.0), Work::none(0.0));
    work.begin(&[begin]);
    plan.work_out(OneByOne, &ready, &mut work, &offer, ground_side, &time_block);
    let mut solution = Solution::none(0.0);
    heat_pumps.solve(&mut plan, &mut work, &offer, ground_side, &time_block, &mut solution);
    assert!((solution.heat[0] - HEAT).abs() < 1e-9);
    [entering, solution.entering_fluid[0]].map(|entering| entering - 0.5 * KELVINS_PER_WATT * HEAT)
}

#[test]
fn an_hour_has_the_mean_fluid_that_its_resistance_gives() {
    let straight = Loop { resistance: |_| [1e-3, 0.0], bends: Vec::new() };
    for mean in mean_fluid(&straight, 12.0, 0.0) {
        assert!((mean - 4.5).abs() < 1e-9, "{mean}");
    }
}

/// Films of both regimes solve an hour whose loop meets 14.5 to 20 degC: the colder one counts, wherever the search begins.
#[test]
fn the_coldest_of_several_solutions_counts() {
    for (no_load_temperature, expected) in [(19.99, 4.99), (20.01, 12.51), (14.6, -0.4), (25.0, 17.5)] {
        for begin in [-20.0, 4.0, 6.5, 14.0, 40.0] {
            for mean in mean_fluid(&bent(), no_load_temperature, begin) {
                assert!((mean - expected).abs() < 1e-6, "{no_load_temperature} from {begin}: {mean}");
            }
        }
    }
}

/// A resistance whose fall always lacks a kelvin of what the loop meets.
#[test]
fn an_hour_that_no_temperature_solves_is_said_to_be_so() {
    let insoluble = Loop { resistance: |mean| [(11.0 - mean) / HEAT, -1.0 / HEAT], bends: Vec::new() };
    let (heat_pump, offer) = (heat_pump(), offer(10.0));
    let ready = ReadyHeatPump::new((), |_| &heat_pump);
    let bisection =
        Bisection { layout: OneByOne, heat_pump: &ready, offer: &offer, ground_side: &insoluble, lane: 0 };
    assert_eq!(bisection.solve(&time_block()), Err(0));
}
