//! Pipes on the bottom: natural convection outside, wall and film inside.

use std::f64::consts::PI;

use super::Pond;
use crate::bore::{Pipe, pipe_resistance};
use crate::error::Error;
use crate::fluid::Fluid;
use crate::ground_side::conduction::ResistanceTable;
use crate::ground_side::fresh_water::{DENSEST, GRAVITY, density};

/// Film coefficient of water around a level pipe [W/(m2 K)], for the temperatures of water and pipe [degC].
///
/// Churchill & Chu (1975), Int. J. Heat Mass Transfer 18, 1049, for all Rayleigh numbers. What drives the water is the difference
/// of densities itself, the largest between the two temperatures: around 4 degC a coefficient of expansion says nothing.
#[must_use]
pub fn outside_film(diameter: f64, water: &Fluid, water_temperature: f64, pipe_temperature: f64) -> f64 {
    let film = water.at(0.5 * (water_temperature + pipe_temperature));
    let (low, high) = (water_temperature.min(pipe_temperature), water_temperature.max(pipe_temperature));
    let densest = density(DENSEST.clamp(low, high));
    let lightest = density(low).min(density(high));
    let kinematic = film.viscosity / film.density;
    let diffusivity = film.conductivity / (film.density * film.heat_capacity);
    let rayleigh =
        GRAVITY * (densest - lightest) / film.density * diameter.powi(3) / (kinematic * diffusivity);
    let by_prandtl = (1.0 + (0.559 / film.prandtl()).powf(9.0 / 16.0)).powf(8.0 / 27.0);
    let root = 0.60 + 0.387 * rayleigh.powf(1.0 / 6.0) / by_prandtl;
    root * root * film.conductivity / diameter
}

/// Water temperatures of the table of outside resistances [degC], and differences of the pipe from them [K].
const ROWS: usize = 43;
const FIRST_WATER: f64 = -1.0;
const COLUMNS: usize = 81;
const LARGEST_DIFFERENCE: f64 = 10.0;
const DIFFERENCE_STEP: f64 = 2.0 * LARGEST_DIFFERENCE / (COLUMNS - 1) as f64;

/// Resistance of the water around one metre of pipe over temperatures [m K/W]; beyond the table that of its edge.
#[derive(Debug, Clone, PartialEq)]
pub struct OutsideTable {
    values: Vec<[f64; COLUMNS]>,
}

impl OutsideTable {
    fn new(diameter: f64, water: &Fluid) -> Self {
        let row = |row: usize| {
            let temperature = FIRST_WATER + row as f64;
            std::array::from_fn(|column| {
                let difference = column as f64 * DIFFERENCE_STEP - LARGEST_DIFFERENCE;
                1.0 / (PI * diameter * outside_film(diameter, water, temperature, temperature + difference))
            })
        };
        Self { values: (0..ROWS).map(row).collect() }
    }

    /// Between rows and columns along straight lines.
    #[inline(always)]
    pub fn at(&self, water: f64, difference: f64) -> f64 {
        let (row, down) = place(water - FIRST_WATER, ROWS);
        let (column, across) = place((difference + LARGEST_DIFFERENCE) / DIFFERENCE_STEP, COLUMNS);
        let read = |row: &[f64; COLUMNS]| row[column] + across * (row[column + 1] - row[column]);
        let (above, below) = (read(&self.values[row]), read(&self.values[row + 1]));
        above + down * (below - above)
    }
}

/// Whole number below a place in a table of `count` rows, with one after it, and the share beyond it.
#[inline(always)]
fn place(place: f64, count: usize) -> (usize, f64) {
    let held = place.max(0.0).min((count - 1) as f64);
    let below = (held as usize).min(count - 2);
    (below, held - below as f64)
}

/// The coils of a pond with one flow.
#[derive(Debug, Clone)]
pub struct Coils {
    /// Of film and wall inside for one metre of pipe [m K/W], and kelvins per watt of the whole flow.
    pub inside: ResistanceTable,
    /// Of the water outside.
    pub outside: OutsideTable,
    /// Length of each coil [m].
    pub length: f64,
    /// Number of coils.
    pub circuits: f64,
}

/// Step of the table of what is inside the pipe [K].
const TEMPERATURE_STEP: f64 = 1.0;

impl Coils {
    pub fn new(pond: &Pond, fluid: &Fluid, flow: f64) -> Result<Self, Error> {
        let inside = inside(&pond.pipe, fluid, flow, pond.flow_each(flow))?;
        let outside = OutsideTable::new(pond.pipe.outer_diameter, &pond.water);
        Ok(Self { inside, outside, length: pond.length, circuits: pond.circuits as f64 })
    }

    pub fn total_length(&self) -> f64 {
        self.circuits * self.length
    }
}

fn inside(pipe: &Pipe, fluid: &Fluid, flow: f64, each: f64) -> Result<ResistanceTable, Error> {
    let [first, last] = fluid.temperatures();
    let steps = ((last - first) / TEMPERATURE_STEP).ceil().max(1.0) as usize;
    let row = |row: usize| {
        let state = fluid.at(first + row as f64 * TEMPERATURE_STEP);
        Ok([pipe_resistance(pipe, &state, each)?.local, 1.0 / (flow * state.heat_capacity)])
    };
    let rows = (0..=steps).map(row).collect::<Result<Vec<_>, Error>>()?;
    Ok(ResistanceTable::new(first, TEMPERATURE_STEP, &rows))
}
