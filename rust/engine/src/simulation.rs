//! A plant stepped from outside, one hour at a time.

use std::sync::Arc;

use crate::cancel_token::CancelToken;
use crate::design::{Design, hours_of};
use crate::error::Error;
use crate::heat_pump::{Demand, Mode};
use crate::hourly::short_of;
use crate::loads::{HOURS_PER_YEAR, LARGEST_LOAD, Loads, Series};
use crate::prepared::{HourByHour, Numbers, prepare};
use crate::stepper::{Moments, TimeBlock};

/// What a plant is to do in one hour, zero or more (W) unless stated otherwise.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct HourDemand {
    /// Heat for rooms from the heat pump.
    pub heating: f64,
    /// Cooling of rooms by the heat pump.
    pub cooling: f64,
    /// Heat for hot water from the heat pump.
    pub hot_water: f64,
    /// Heat supplied to the loop from another source; negative where it is removed.
    pub recharge: f64,
    /// Heat recovered for hot water from the compressor in cooling, at most the cooling.
    pub recovered: f64,
    /// Electricity of an element for hot water and of the distribution.
    pub other_electricity: f64,
    /// Entering load temperature in heating (degC); `None` for that of the design's loads in this hour.
    pub heating_entering_load_temperature: Option<f64>,
    /// The same in cooling (degC).
    pub cooling_entering_load_temperature: Option<f64>,
}

/// Range of the entering load temperature (degC).
const ENTERING_LOAD: [f64; 2] = [-30.0, 90.0];

impl HourDemand {
    /// Checks each number.
    fn check(&self) -> Result<(), Error> {
        let powers = [
            ("heating", self.heating, 0.0),
            ("cooling", self.cooling, 0.0),
            ("hot_water", self.hot_water, 0.0),
            ("recharge", self.recharge, -LARGEST_LOAD),
            ("recovered", self.recovered, 0.0),
            ("other_electricity", self.other_electricity, 0.0),
        ];
        if let Some((field, value, least)) =
            powers.into_iter().find(|(_, value, least)| !(*least..=LARGEST_LOAD).contains(value))
        {
            let allowed = format!("must be from {least} to {LARGEST_LOAD} W");
            return Err(Error::invalid("Simulation", field, value, "W", allowed));
        }
        if self.recovered > self.cooling {
            let allowed = format!("must be at most the cooling, {} W", self.cooling);
            return Err(Error::invalid("Simulation", "recovered", self.recovered, "W", allowed));
        }
        let sides = [
            ("heating_entering_load_temperature", self.heating_entering_load_temperature),
            ("cooling_entering_load_temperature", self.cooling_entering_load_temperature),
        ];
        let [least, most] = ENTERING_LOAD;
        for (field, side) in sides {
            if let Some(value) = side
                && !(least..=most).contains(&value)
            {
                let allowed = format!("must be from {least} to {most} degC");
                return Err(Error::invalid("Simulation", field, value, "degC", allowed));
            }
        }
        Ok(())
    }
}

/// Results of one hour: temperatures at its end (degC), powers (W).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HourResult {
    /// Entering fluid temperature.
    pub entering_fluid: f64,
    /// Leaving fluid temperature.
    pub leaving_fluid: f64,
    /// Heat extracted from the ground.
    pub heat_extracted: f64,
    /// All electricity of the plant, with that of back-up heat.
    pub electricity: f64,
    /// Heating delivered by the heat pump, for rooms and hot water.
    pub heating: f64,
    /// Cooling delivered by the heat pump.
    pub cooling: f64,
    /// Heating beyond the capacity of the heat pump, supplied by back-up heat.
    pub backup: f64,
    /// Cooling beyond the capacity of the heat pump, not supplied.
    pub unmet_cooling: f64,
}

/// A design that is stepped hour by hour, with demands that become known as it goes.
///
/// Each hour is solved until its temperature no longer changes; otherwise it is that of a run.
pub struct Simulation {
    plant: Arc<(Design, Loads)>,
    ground_side: Box<dyn HourByHour>,
    /// Number of hours that have passed, and of all.
    hour: usize,
    hours: usize,
}

impl Clone for Simulation {
    fn clone(&self) -> Self {
        Self { plant: Arc::clone(&self.plant), ground_side: self.ground_side.branch(), ..*self }
    }
}

impl Simulation {
    /// A design before its first hour, for `years` years; `loads` are those that it was designed for.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] names what is wrong with the design; [`Error::Stopped`] if `token` was cancelled.
    pub fn new(design: Design, loads: Loads, years: usize, token: &CancelToken) -> Result<Self, Error> {
        let hours = hours_of(years)?;
        design.validate()?;
        let ground_side = prepare(&design, hours, &|shape| shape.response(token))?.hour_by_hour(hours);
        Ok(Self { plant: Arc::new((design, loads)), ground_side, hour: 0, hours })
    }

    /// Number of hours that have passed.
    #[must_use]
    pub fn hour(&self) -> usize {
        self.hour
    }

    /// Number of hours of the whole horizon.
    #[must_use]
    pub fn hours(&self) -> usize {
        self.hours
    }

    /// Takes an hour. On an error nothing changes.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] for an invalid demand, or after the last hour; [`Error::FluidFreezes`] if the fluid would
    /// freeze; [`Error::NotConverged`] if no temperature solves the hour.
    pub fn step(&mut self, demand: &HourDemand) -> Result<HourResult, Error> {
        if self.hour == self.hours {
            let allowed = format!("must be at most {}: all years have passed", self.hours - 1);
            return Err(Error::invalid("Simulation", "hour", self.hour, "h", allowed));
        }
        let hour = TimeBlock::hour(&self.whole(demand)?);
        let design = &self.plant.0;
        let circulates = hour.any_circulates;
        let accept = |moments: &Moments<f64, 1>| {
            let (temperature, freezing_point) = (moments.leaving_fluid[0], design.fluid.freezing_point);
            if circulates && temperature < freezing_point {
                let (year, hour) = (self.hour / HOURS_PER_YEAR + 1, self.hour % HOURS_PER_YEAR);
                return Err(Error::FluidFreezes { year, hour, temperature, freezing_point });
            }
            Ok(())
        };
        let ended = self.ground_side.step(design, &hour, &accept).map_err(|error| match error {
            Error::NotConverged { .. } => Error::NotConverged { hour: self.hour },
            other => other,
        })?;
        self.hour += 1;
        let moments = ended.moments;
        let [backup] = short_of(hour.heating(), &moments.heating);
        let [unmet_cooling] = short_of(hour.cooling(), &moments.cooling);
        Ok(HourResult {
            entering_fluid: moments.entering_fluid[0],
            leaving_fluid: moments.leaving_fluid[0],
            heat_extracted: moments.heat_extracted[0],
            electricity: moments.electricity[0] + backup + ended.own_electricity,
            heating: moments.heating[0],
            cooling: moments.cooling[0],
            backup,
            unmet_cooling,
        })
    }

    /// What an hour would give.
    ///
    /// # Errors
    /// Those of [`step`](Self::step).
    pub fn outlook(&self, demand: &HourDemand) -> Result<HourResult, Error> {
        self.clone().step(demand)
    }

    /// The numbers of the state, by name.
    #[must_use]
    pub fn numbers(&self) -> Numbers {
        self.ground_side.numbers()
    }

    /// Goes to the beginning of an hour with the numbers of an equal design's state. On an error nothing changes.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] if the hour is beyond the horizon, or the numbers are not those of such a state.
    pub fn restore(&mut self, hour: usize, numbers: &Numbers) -> Result<(), Error> {
        if hour > self.hours {
            let allowed = format!("must be from 0 to {}", self.hours);
            return Err(Error::invalid("Simulation", "hour", hour, "h", allowed));
        }
        let mut restored = self.ground_side.branch();
        restored.restore(hour, numbers)?;
        (self.ground_side, self.hour) = (restored, hour);
        Ok(())
    }

    /// The valid demand of the next hour, with the design's entering load temperatures where it has none.
    fn whole(&self, demand: &HourDemand) -> Result<Demand, Error> {
        demand.check()?;
        let (design, loads) = &*self.plant;
        let heating = demand.heating + demand.hot_water;
        let lacks = |field: &str, what: &str| {
            let allowed = format!("must be given for an hour with {what}");
            Err(Error::invalid("HeatPump", field, "nothing", "", allowed))
        };
        if design.heat_pump.heating.is_none() && heating > 0.0 {
            return lacks("heating_cop", "heating");
        }
        if design.heat_pump.cooling.is_none() && demand.cooling > 0.0 {
            return lacks("cooling_cop", "cooling");
        }
        let sides = [
            (
                "heating_entering_load_temperature",
                demand.heating_entering_load_temperature,
                &design.heat_pump.heating,
            ),
            (
                "cooling_entering_load_temperature",
                demand.cooling_entering_load_temperature,
                &design.heat_pump.cooling,
            ),
        ];
        for (field, side, mode) in sides {
            if let (Some(value), Some(Mode { entering_load: None, .. })) = (side, mode) {
                let allowed = "must be left out: the heat pump's curves don't depend on it";
                return Err(Error::invalid("Simulation", field, value, "degC", allowed));
            }
        }
        let series: &Series = loads.series();
        let of_design = |series: &[f64]| {
            let hours = series.len().max(1);
            series.get((design.start_hour() + self.hour) % hours).copied()
        };
        let side = |given: Option<f64>, series: &[f64]| given.or_else(|| of_design(series));
        Ok(Demand {
            heating,
            cooling: demand.cooling,
            recharge: demand.recharge,
            recovered: demand.recovered,
            element: demand.other_electricity,
            distribution_power: 0.0,
            heating_entering_load_temperature: side(
                demand.heating_entering_load_temperature,
                &series.heating_entering_load_temperature,
            ),
            cooling_entering_load_temperature: side(
                demand.cooling_entering_load_temperature,
                &series.cooling_entering_load_temperature,
            ),
        })
    }
}
