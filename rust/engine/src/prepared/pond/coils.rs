//! Pipes on the bottom: natural convection outside, wall and film inside.

use std::f64::consts::PI;
use std::sync::Arc;

use crate::bore::{Pipe, in_pipe, pipe_resistance};
use crate::error::Error;
use crate::fluid::{Fluid, FluidState};
use crate::ground_side::fresh_water::{DENSEST, GRAVITY, density};
use crate::ground_side::pond::Pond;
use crate::prepared::ResistanceTable;

/// Film coefficient of water around a horizontal pipe (W/(m2 K)), for the temperatures of water and pipe (degC).
///
/// Churchill & Chu (1975), Int. J. Heat Mass Transfer 18, 1049, their formula for laminar flow, Ra up to 1e9:
///
/// ```text
/// Nu = 0.36 + 0.518 Ra^(1/4) / (1 + (0.559 / Pr)^(9/16))^(4/9)
/// ```
///
/// Their formula for all Rayleigh numbers gives 12 to 35 % more for water at Ra from 1e6 to 1e8, where Kuehn &
/// Goldstein, Raithby & Hollands and Fand are within 10 % of this one (`tests/reference/test_second_sources_pond.py`).
/// Above Ra 1e7 this one is the lowest.
///
/// Buoyancy follows from the density difference itself, the largest between the two temperatures: near 4 degC an
/// expansion coefficient is meaningless.
#[must_use]
pub fn outside_film(diameter: f64, water: &Fluid, water_temperature: f64, pipe_temperature: f64) -> f64 {
    let film = FilmProperties::of(diameter, &water.at(0.5 * (water_temperature + pipe_temperature)));
    film.coefficient(diameter, drive(water_temperature, pipe_temperature))
}

/// Largest density difference between two temperatures (kg/m3).
#[inline(always)]
fn drive(one: f64, other: f64) -> f64 {
    let (low, high) = (one.min(other), one.max(other));
    density(DENSEST.clamp(low, high)) - density(low).min(density(high))
}

/// Properties at a film temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
struct FilmProperties {
    /// Coefficient of the fourth root of the density difference in Nusselt's number.
    by_drive: f64,
    /// Conductivity of the water (W/(m K)).
    conductivity: f64,
}

impl FilmProperties {
    fn of(diameter: f64, film: &FluidState) -> Self {
        let kinematic = film.viscosity / film.density;
        let diffusivity = film.conductivity / (film.density * film.heat_capacity);
        let rayleigh = GRAVITY / film.density * diameter.powi(3) / (kinematic * diffusivity);
        let by_prandtl = (1.0 + (0.559 / film.prandtl()).powf(9.0 / 16.0)).powf(4.0 / 9.0);
        Self { by_drive: 0.518 * rayleigh.powf(0.25) / by_prandtl, conductivity: film.conductivity }
    }

    #[inline(always)]
    fn coefficient(&self, diameter: f64, drive: f64) -> f64 {
        (0.36 + self.by_drive * drive.sqrt().sqrt()) * self.conductivity / diameter
    }
}

/// Film temperatures of the table.
const ROWS: usize = 121;
const FIRST_FILM: f64 = -10.0;
const FILM_STEP: f64 = 0.5;

/// The water around pipes of one diameter: its properties over temperatures, constant beyond the ends of the table.
#[derive(Debug, Clone, PartialEq)]
pub struct Outside {
    diameter: f64,
    films: Vec<FilmProperties>,
}

impl Outside {
    fn new(diameter: f64, water: &Fluid) -> Self {
        let film = |row: usize| FilmProperties::of(diameter, &water.at(FIRST_FILM + row as f64 * FILM_STEP));
        Self { diameter, films: (0..ROWS).map(film).collect() }
    }

    /// Resistance of the water around one metre of pipe (m K/W) for its temperature (degC) and the excess temperature
    /// of the pipe (K).
    #[inline(always)]
    pub fn at(&self, water: f64, difference: f64) -> f64 {
        let place = (water + 0.5 * difference - FIRST_FILM) / FILM_STEP;
        let held = place.max(0.0).min((ROWS - 1) as f64);
        let below = (held as usize).min(ROWS - 2);
        let ([low, high], share) = ([self.films[below], self.films[below + 1]], held - below as f64);
        let between = |low: f64, high: f64| low + share * (high - low);
        let film = FilmProperties {
            by_drive: between(low.by_drive, high.by_drive),
            conductivity: between(low.conductivity, high.conductivity),
        };
        1.0 / (PI * self.diameter * film.coefficient(self.diameter, drive(water, water + difference)))
    }
}

/// The coils of a pond with one flow.
#[derive(Debug, Clone)]
pub struct Coils {
    /// Of the inside film and wall for one metre of pipe (m K/W), and kelvins per watt of the whole flow.
    pub inside: Arc<ResistanceTable>,
    /// Resistance of the water outside.
    pub outside: Outside,
    /// Length of each coil (m).
    pub length: f64,
    /// Number of coils.
    pub circuits: f64,
}

impl Coils {
    pub fn new(pond: &Pond, fluid: &Fluid, flow: f64) -> Result<Self, Error> {
        let inside = Arc::new(inside(&pond.pipe, fluid, flow, pond.flow_each(flow))?);
        let outside = Outside::new(pond.pipe.outer_diameter, &pond.water);
        Ok(Self { inside, outside, length: pond.length, circuits: pond.circuits as f64 })
    }

    pub fn total_length(&self) -> f64 {
        self.circuits * self.length
    }
}

fn inside(pipe: &Pipe, fluid: &Fluid, flow: f64, each: f64) -> Result<ResistanceTable, Error> {
    let resistances = |states: &[FluidState]| {
        states.iter().map(|state| Ok(pipe_resistance(pipe, state, each)?.local)).collect()
    };
    ResistanceTable::new(fluid, flow, |state| vec![in_pipe(pipe, state, each).reynolds], resistances)
}
