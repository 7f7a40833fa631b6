//! One hour of an invented loop with known solutions.

use super::bisection::Bisection;
use super::newton::HeatPumps;
use super::plan::{OperatingPoint, Plan, Solution};
use super::time_block::HourLoads;
use super::{Course, TimeBlock};
use crate::bore::{Bore, Inside};
use crate::design::Design;
use crate::fluid::Fluid;
use crate::ground::Ground;
use crate::ground_side::Bend;
use crate::ground_side::bore_field::BoreField;
use crate::ground_side::{GroundSide, GroundSideKind, Offer};
use crate::heat_pump::{HeatPump, Mode, PreparedHeatPump, Tangent};
use crate::lane_layout::OneByOne;
use crate::limits::Limits;

/// Heat extracted [W] by a heat pump that delivers 10 kW at a COP of 4.
const HEAT: f64 = 7500.0;

/// Kelvins per watt of the flow, so that entering and leaving fluid differ by 3 K.
const KELVINS_PER_WATT: f64 = 3.0 / HEAT;

/// Temperature above which the film is no longer laminar [degC].
const BEND: f64 = 5.0;

/// A loop whose resistance depends on the mean fluid temperature.
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

/// A design of which only the heat pump is used.
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
            darcy_flux: 0.0,
            flow_direction: 0.0,
            warming: None,
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

fn time_block() -> TimeBlock<f64, 1> {
    let mut time_block = TimeBlock::idle(0.0, [false; 2]);
    let loads =
        HourLoads { heating: [10_000.0, 0.0], cooling: 0.0, recharge: [0.0; 2], electricity: [0.0; 2] };
    time_block.set([1.0; 4], |_| loads);
    time_block
}

/// A film that is laminar up to the bend and turbulent from 2 K above it: the temperature difference across it is 15 K,
/// then 7.5 K. In between it falls faster than the fluid warms.
fn bent() -> Loop {
    let resistance = |mean: f64| match mean {
        ..=BEND => [2e-3, 0.0],
        BEND..7.0 => [2e-3 - 5e-4 * (mean - BEND), -5e-4],
        _ => [1e-3, 0.0],
    };
    Loop { resistance, bends: vec![Bend { temperature: BEND, resistance: 2e-3 }] }
}

/// Mean fluid temperatures of an hour by bisection, and by Newton's iteration from an entering fluid temperature.
fn mean_fluid(ground_side: &Loop, no_load_temperature: f64, begin: f64) -> [f64; 2] {
    let (heat_pump, time_block, offer) = (heat_pump(), time_block(), offer(no_load_temperature));
    let prepared = PreparedHeatPump::new((), |_| &heat_pump);
    let bisection = Bisection { layout: OneByOne, heat_pump: &prepared, offer: &offer, ground_side, lane: 0 };
    let [(entering, heat)] = bisection.solve(&time_block).unwrap();
    assert!((heat - HEAT).abs() < 1e-9);

    let design = design();
    let course = Course { designs: &[&design], demands: &[] };
    let heat_pumps = HeatPumps { layout: OneByOne, course: &course, prepared };
    let (mut plan, mut point) = (Plan::none(0.0), OperatingPoint::none(0.0));
    point.start_at(&[begin]);
    plan.linearize(OneByOne, &prepared, &mut point, &offer, ground_side, &time_block);
    let mut solution = Solution::none(0.0);
    heat_pumps.solve(&mut plan, &mut point, &offer, ground_side, &time_block, &mut solution);
    assert!((solution.heat[0] - HEAT).abs() < 1e-9);
    [entering, solution.entering_fluid[0]].map(|entering| entering - 0.5 * KELVINS_PER_WATT * HEAT)
}

#[test]
fn the_mean_fluid_follows_from_the_resistance() {
    let straight = Loop { resistance: |_| [1e-3, 0.0], bends: Vec::new() };
    for mean in mean_fluid(&straight, 12.0, 0.0) {
        assert!((mean - 4.5).abs() < 1e-9, "{mean}");
    }
}

/// With 14.5 to 20 degC at the loop, films of both regimes solve the hour: the colder one counts, from any start.
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

/// A resistance whose temperature difference is always a kelvin off.
#[test]
fn an_hour_without_a_solution_is_an_error() {
    let insoluble = Loop { resistance: |mean| [(11.0 - mean) / HEAT, -1.0 / HEAT], bends: Vec::new() };
    let (heat_pump, offer) = (heat_pump(), offer(10.0));
    let prepared = PreparedHeatPump::new((), |_| &heat_pump);
    let bisection =
        Bisection { layout: OneByOne, heat_pump: &prepared, offer: &offer, ground_side: &insoluble, lane: 0 };
    assert_eq!(bisection.solve(&time_block()), Err(0));
}
