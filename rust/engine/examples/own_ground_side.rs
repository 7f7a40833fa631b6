//! A custom ground side: a buried tank of water, stepped with the engine's heat pump.
//!
//! The engine's stepper needs three things of a ground side: what it offers for the next hours without and per watt of
//! heat, the resistance and the flow between it and the fluid, and that it stores the effect of the heat. Tank,
//! building and heat pump are invented: they are not meant for construction.

use std::f64::consts::TAU;

use loopdrift::Error;
use loopdrift::bore::{Bore, Inside};
use loopdrift::cancel_token::CancelToken;
use loopdrift::design::Design;
use loopdrift::fluid::Fluid;
use loopdrift::ground::Ground;
use loopdrift::ground_side::bore_field::BoreField;
use loopdrift::ground_side::{Bend, GroundSide, GroundSideKind, Offer};
use loopdrift::heat_pump::{HeatPump, Mode, Tangent};
use loopdrift::hourly::Hourly;
use loopdrift::lane_layout::OneByOne;
use loopdrift::limits::Limits;
use loopdrift::loads::{HOURS_PER_YEAR, Loads, Series};
use loopdrift::stepper::{Course, TimeBlock, step};
use pulp::{Arch, Simd, WithSimd};

const HOUR: f64 = 3600.0;

/// A stirred tank in soil of constant temperature.
///
/// C dT/dt = G (T_soil - T) - q, with the heat q extracted constant in each hour.
struct Tank {
    /// Temperature of the water (degC).
    temperature: f64,
    /// Temperature of the soil (degC).
    soil: f64,
    /// Heat capacity C (J/K).
    capacity: f64,
    /// Conductance to the soil G (W/K).
    conductance: f64,
    /// Resistance between water and mean fluid (K/W), and kelvins per watt of the flow (K/W).
    coil: f64,
    flow: f64,
}

impl Tank {
    /// Share of a difference from the soil that is left after an hour: exp(-G x 1 h / C).
    fn left(&self) -> f64 {
        (-self.conductance * HOUR / self.capacity).exp()
    }
}

impl GroundSide<OneByOne, 1> for Tank {
    fn offer(&mut self) -> Offer<f64, 1> {
        let left = self.left();
        Offer {
            no_load_temperature: [self.soil + (self.temperature - self.soil) * left],
            pulse_response: [(1.0 - left) / self.conductance],
        }
    }

    fn resistance(&self, _mean_fluid: f64) -> Tangent<f64> {
        Tangent { value: self.coil, slope: 0.0 }
    }

    fn kelvins_per_watt(&self, _mean_fluid: f64) -> Tangent<f64> {
        Tangent { value: self.flow, slope: 0.0 }
    }

    fn bends(&self) -> &[Bend<f64>] {
        &[]
    }

    fn commit(&mut self, heat_extracted: &[f64; 1]) {
        let Offer { no_load_temperature: [alone], pulse_response: [per_watt] } = self.offer();
        self.temperature = alone - per_watt * heat_extracted[0];
    }
}

/// The stepper, with the instructions of this processor.
struct Stepping<'a> {
    tank: &'a mut Tank,
    course: &'a Course<'a>,
    hourly: &'a mut Hourly,
}

impl WithSimd for Stepping<'_> {
    type Output = Result<(), Error>;

    #[inline(always)]
    fn with_simd<S: Simd>(self, _simd: S) -> Self::Output {
        let Self { tank, course, mut hourly } = self;
        let hours = hourly.len();
        let mut blocks = TimeBlock::all(course);
        step(OneByOne, tank, course, &mut blocks, hours, &mut hourly, &CancelToken::default())
    }
}

fn main() -> Result<(), Error> {
    let years = 3;
    let design = design();
    let season = |hour: usize| (TAU * hour as f64 / HOURS_PER_YEAR as f64).cos();
    let heating: Vec<f64> = (0..HOURS_PER_YEAR).map(|hour| f64::max(0.0, 4000.0 * season(hour))).collect();
    let loads = Loads::new(Series { heating, ..Series::default() })?;
    let demands = design.demands(&loads)?;
    let course = Course { designs: &[&design], demands: &[demands] };
    // 200 m3 of water.
    let mut tank = Tank {
        temperature: 10.0,
        soil: 10.0,
        capacity: 200.0 * 4.18e6,
        conductance: 250.0,
        coil: 6e-4,
        flow: 1.0 / (design.flow * 3900.0),
    };
    let mut hourly = Hourly::zeros(years * HOURS_PER_YEAR);
    Arch::new().dispatch(Stepping { tank: &mut tank, course: &course, hourly: &mut hourly })?;
    println!("year  lowest entering fluid (degC)  heat extracted (kWh)");
    for year in 0..years {
        let of_year = year * HOURS_PER_YEAR..(year + 1) * HOURS_PER_YEAR;
        let lowest = hourly.entering_fluid[of_year.clone()].iter().copied().fold(f64::INFINITY, f64::min);
        let heat = hourly.heat_extracted[of_year].iter().sum::<f64>() / 1000.0;
        println!("{:4}  {lowest:28.2}  {heat:20.0}", year + 1);
    }
    println!("the tank ends at {:.2} degC", tank.temperature);
    Ok(())
}

/// A design for its heat pump, flow and start; the stepper doesn't use its bores.
fn design() -> Design {
    let inside = Inside::Measured { resistance: 0.1 };
    let bore = Bore { depth: 80.0, buried_depth: 1.5, diameter: 0.15, inside };
    let field = BoreField { bores: vec![bore], positions: vec![[0.0, 0.0]], leans: Vec::new() };
    let heating = Mode { cop: vec![3.6, 0.08], capacity: Some(vec![5000.0, 120.0]), ..Mode::default() };
    Design {
        ground: Ground {
            conductivity: 2.2,
            volumetric_heat_capacity: 2.3e6,
            temperature: 10.0,
            gradient: 0.0,
            darcy_flux: 0.0,
            flow_direction: 0.0,
            warming: None,
        },
        ground_side: GroundSideKind::BoreField(field),
        fluid: Fluid {
            name: "an invented fluid".to_owned(),
            freezing_point: -12.0,
            first_temperature: -12.0,
            temperature_step: 1.0,
            density: vec![1020.0; 60],
            heat_capacity: vec![3900.0; 60],
            conductivity: vec![0.45; 60],
            viscosity: vec![0.004; 60],
        },
        flow: 0.4,
        pump_power: 60.0,
        pump_stops: true,
        heat_pump: HeatPump { heating: Some(heating), ..HeatPump::default() },
        limits: Limits::default(),
        start_month: 1,
    }
}
