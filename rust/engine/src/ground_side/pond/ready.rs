//! A pond made ready for runs, and while its run steps.

use multiversion::multiversion;

use super::Pond;
use super::basin::{Basin, LAYERS};
use super::bed::Bed;
use super::body::{Body, Gains, Hour, Water};
use super::coils::Coils;
use super::sky::Above;
use crate::bore::exchanged_along;
use crate::error::Error;
use crate::fluid::Fluid;
use crate::ground::Ground;
use crate::ground_side::conduction::RunError;
use crate::ground_side::fresh_water::HEAT_CAPACITY;
use crate::ground_side::{Found, GroundSide, Offer};
use crate::hourly::Hourly;
use crate::hours::Hours;
use crate::lanes::Lanes;

/// Years without heat after which a run begins: what was assumed at their beginning is forgotten.
const YEARS_BEFORE: usize = 3;

/// One kilowatt-hour [J].
const KILOWATT_HOUR: f64 = 3.6e6;

/// Difference between coil and water before any heat has flowed [K].
const FIRST_DIFFERENCE: f64 = 1.0;

/// A pond with all that can be known before the first hour.
#[derive(Debug, Clone)]
pub struct ReadyPond {
    body: Body,
    coils: Coils,
    /// The weather's year, from the hour on in which the run begins.
    above: Vec<Above>,
    /// The water as that hour begins.
    water: Water,
}

impl ReadyPond {
    /// Makes a pond ready for runs that begin in the hour `start` of the calendar year, with a total mass `flow` [kg/s].
    ///
    /// # Errors
    /// [`Error::InvalidInput`] for what the flow can't do.
    pub fn new(pond: &Pond, ground: &Ground, fluid: &Fluid, flow: f64, start: usize) -> Result<Self, Error> {
        let basin = Basin::new(pond);
        let mut above = pond.weather.above(&basin);
        let hours = above.len();
        above.rotate_left(start % hours);
        let bed = Bed::new(ground, basin.thickness * LAYERS as f64);
        let mean = pond.undisturbed();
        let water = Water {
            layers: [mean; LAYERS],
            ice: 0.0,
            surface: mean,
            columns: Bed::even(0.5 * (mean + bed.deep)),
        };
        let inflow_temperature = pond.inflow_temperature.unwrap_or(0.0);
        let body = Body { basin, bed, inflow: pond.inflow * HEAT_CAPACITY, inflow_temperature };
        let coils = Coils::new(pond, fluid, flow)?;
        let mut ready = Self { body, coils, above, water };
        ready.water = without_heat(ready.at_rest(), YEARS_BEFORE * hours);
        Ok(ready)
    }

    /// The pond as the run begins.
    #[must_use]
    pub fn at_rest(&self) -> PondMemory<'_> {
        PondMemory {
            pond: self,
            place: 0,
            hour: self.body.begin(&self.water, &self.above[0]),
            water: self.water,
            outside: 0.0,
            difference: FIRST_DIFFERENCE,
            fluid: self.water.layers[LAYERS - 1],
        }
    }

    /// Steps the heat of a run once more: temperature of the water at the coils in each hour, and what else the pond has to tell.
    #[must_use]
    pub fn found(&self, hourly: &Hourly) -> Found {
        let names = [
            "ice_m",
            "water_surface_degC",
            "coil_surface_degC",
            "heat_from_above_W",
            "heat_from_ground_W",
            "heat_from_inflow_W",
            "stored_kWh",
        ];
        let mut series = names.map(|name| (name, Vec::with_capacity(hourly.len())));
        let mut at_coils = Vec::with_capacity(hourly.len());
        again(self.at_rest(), hourly, |at_coil, values| {
            at_coils.push(at_coil);
            for ((_, series), value) in series.iter_mut().zip(values) {
                series.push(value);
            }
        });
        Found { wall: at_coils, error: RunError::NONE, beside: series.into() }
    }
}

/// The water after `hours` hours without heat.
#[multiversion(targets("x86_64+avx+avx2+fma"))]
fn without_heat(mut memory: PondMemory<'_>, hours: usize) -> Water {
    for _ in 0..hours {
        memory.end(0.0);
    }
    memory.water
}

/// Steps through the heat of a run and tells of each hour the temperature of the water at the coils and what else there is.
#[multiversion(targets("x86_64+avx+avx2+fma"))]
fn again(mut memory: PondMemory<'_>, hourly: &Hourly, mut tell: impl FnMut(f64, [f64; 7])) {
    for (hour, &heat) in hourly.heat_extracted.iter().enumerate() {
        let Offer::<1, 1> { .. } = memory.offer();
        let mean_fluid = 0.5 * (hourly.entering_fluid[hour] + hourly.leaving_fluid[hour]);
        // The coils meet the water as it is before it turns over.
        let (met, rise) = (memory.met_by_coils(heat), memory.rise(heat));
        let Gains { from_above, from_ground, from_inflow } = memory.take(heat, mean_fluid);
        let coil = met + rise;
        let (body, water) = (&memory.pond.body, &memory.water);
        let ice = body.ice_thickness(water.ice);
        let stored = body.stored(water) / KILOWATT_HOUR;
        let values = [ice, water.surface, coil, from_above, from_ground, from_inflow, stored];
        tell(water.layers[LAYERS - 1], values);
    }
}

/// A pond while its run steps.
///
/// The film outside the coils is that of the difference between pipe and water in past hours with heat, so that what is offered
/// stays a straight line; the film inside is that at the fluid's temperature of the hour before.
#[derive(Debug, Clone)]
pub struct PondMemory<'a> {
    pond: &'a ReadyPond,
    /// The next hour's place in the year.
    place: usize,
    hour: Hour,
    water: Water,
    /// Resistance of the water outside one metre of pipe [m K/W].
    outside: f64,
    /// Outside of the pipe less the water around it, half that of the last hour with heat and half what it was before [K].
    difference: f64,
    fluid: f64,
}

impl PondMemory<'_> {
    /// Temperature of the last layer at the end of an hour with a heat [W], before it turns over [degC].
    #[inline(always)]
    fn met_by_coils(&self, heat: f64) -> f64 {
        self.hour.without[LAYERS - 1] - self.hour.falls[LAYERS - 1] * heat
    }

    /// Outside of the pipe less the water around it for a heat [W] [K].
    #[inline(always)]
    fn rise(&self, heat: f64) -> f64 {
        -heat / self.pond.coils.total_length() * self.outside
    }

    /// Ends the hour and begins the next.
    #[inline(always)]
    fn end(&mut self, heat: f64) -> Gains {
        let ReadyPond { body, above, .. } = self.pond;
        let gains = body.end(&mut self.water, &self.hour, heat);
        self.place = if self.place + 1 == above.len() { 0 } else { self.place + 1 };
        self.hour = body.begin(&self.water, &above[self.place]);
        gains
    }

    #[inline(always)]
    fn take(&mut self, heat: f64, mean_fluid: f64) -> Gains {
        if heat != 0.0 {
            // The mean with what it was keeps the film, which it decides, from swinging from hour to hour.
            let rise = self.rise(heat);
            self.difference = (0.5 * (self.difference.abs() + rise.abs())).copysign(rise);
        }
        self.fluid = mean_fluid;
        self.end(heat)
    }
}

impl GroundSide<1, 1> for PondMemory<'_> {
    #[inline(always)]
    fn offer(&mut self) -> Offer<1, 1> {
        let coils = &self.pond.coils;
        let (without, falls) = (self.hour.without[LAYERS - 1], self.hour.falls[LAYERS - 1]);
        let (inside, kelvins_per_watt) = coils.inside.at(self.fluid);
        self.outside = coils.outside.at(without, self.difference);
        let each = 1.0 / (kelvins_per_watt * coils.circuits);
        let pipe = exchanged_along(inside + self.outside, coils.length, each) / coils.total_length();
        Offer {
            settled: Hours([Lanes([without])]),
            answers: [Lanes([falls + pipe - 0.5 * kelvins_per_watt])],
            kelvins_per_watt: Lanes([kelvins_per_watt]),
        }
    }

    #[inline(always)]
    fn commit(&mut self, heat_extracted: &Hours<1, 1>, mean_fluid: &Hours<1, 1>) {
        self.take(heat_extracted[0].0[0], mean_fluid[0].0[0]);
    }
}
