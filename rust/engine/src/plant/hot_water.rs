//! Hot water: draws, a tank, heat from the desuperheater, and a heater for the rest.

use serde::{Deserialize, Serialize};

use crate::column::Column;
use crate::error::Error;
use crate::loads::Series;
use crate::quantity::{Quantified, Quantity};

/// Heat capacity of water near 50 degC (J/(m3 K)): 988 kg/m3 x 4181 J/(kg K), checked by
/// tests/reference/test_second_sources_water.py.
const WATER: f64 = 988.0 * 4181.0;
const SECONDS_PER_HOUR: f64 = 3600.0;
const HOURS_PER_DAY: usize = 24;

/// Domestic hot water from a fully mixed tank.
///
/// While the compressor runs for space heating or cooling, the desuperheater warms the tank up to
/// `desuperheater_limit`; if the tank is still below `set_point`, a heater brings it there within the hour. Draws are
/// mixed with cold water to `use_temperature`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HotWater {
    /// Mixed water drawn per day (m3).
    pub daily_volume: f64,
    /// Share of the day's water in each hour.
    pub draws: Vec<f64>,
    /// Temperature of the water drawn (degC).
    pub use_temperature: f64,
    /// Temperature of the cold water (degC).
    pub cold_temperature: f64,
    /// Set point of the heater (degC).
    pub set_point: f64,
    /// Temperature up to which the desuperheater warms the tank (degC).
    pub desuperheater_limit: f64,
    /// Volume of the tank (m3).
    pub volume: f64,
    /// Heat loss of the tank per kelvin above its surroundings (W/K).
    pub loss_coefficient: f64,
    /// Temperature around the tank (degC).
    pub ambient_temperature: f64,
    /// Desuperheater share in heating, of the heat that the heat pump delivers to the rooms.
    pub desuperheater_heating_share: f64,
    /// Desuperheater share in cooling, of the heat that the heat pump removes from the rooms.
    pub desuperheater_cooling_share: f64,
    /// Whether the heater is the heat pump or an electric element.
    pub by_heat_pump: bool,
}

impl Quantified for HotWater {
    const OWNER: &'static str = "HotWater";
    const QUANTITIES: &'static [Quantity<Self>] = &[
        Quantity::new("daily_volume", "m3", 0.0, 1e4, |h| Some(h.daily_volume)),
        Quantity::new("use_temperature", "degC", 20.0, 90.0, |h| Some(h.use_temperature)),
        Quantity::new("cold_temperature", "degC", 0.0, 35.0, |h| Some(h.cold_temperature)),
        Quantity::new("set_point", "degC", 30.0, 90.0, |h| Some(h.set_point)),
        Quantity::new("desuperheater_limit", "degC", 30.0, 95.0, |h| Some(h.desuperheater_limit)),
        Quantity::new("volume", "m3", 0.01, 1e3, |h| Some(h.volume)),
        Quantity::new("loss_coefficient", "W/K", 0.0, 1e3, |h| Some(h.loss_coefficient)),
        Quantity::new("ambient_temperature", "degC", -20.0, 45.0, |h| Some(h.ambient_temperature)),
        Quantity::new("desuperheater_heating_share", "", 0.0, 0.3, |h| Some(h.desuperheater_heating_share)),
        Quantity::new("desuperheater_cooling_share", "", 0.0, 0.3, |h| Some(h.desuperheater_cooling_share)),
    ];
}

/// A tank hour by hour: heat flows (W), and its temperature at the end of the hour (degC).
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Tank {
    /// Heat of the water drawn.
    pub drawn: Vec<f64>,
    /// Heat lost to the surroundings.
    pub lost: Vec<f64>,
    /// From the desuperheater in heating.
    pub desuperheater_in_heating: Vec<f64>,
    /// From the desuperheater in cooling.
    pub desuperheater_in_cooling: Vec<f64>,
    /// From the heat pump.
    pub heat_pump: Vec<f64>,
    /// From the electric element, equal to its electricity.
    pub element: Vec<f64>,
    /// Temperature of the water.
    pub temperature: Vec<f64>,
}

impl Tank {
    /// The series under names that end with their unit.
    #[must_use]
    pub fn into_columns(self) -> [Column; 7] {
        [
            ("drawn_W", self.drawn),
            ("lost_W", self.lost),
            ("desuperheater_in_heating_W", self.desuperheater_in_heating),
            ("desuperheater_in_cooling_W", self.desuperheater_in_cooling),
            ("heat_pump_W", self.heat_pump),
            ("element_W", self.element),
            ("temperature_degC", self.temperature),
        ]
    }
}

impl HotWater {
    /// Checks that the values are physical and in order, and that the draws are shares of a day.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] names the field that is not.
    pub fn validate(&self) -> Result<(), Error> {
        self.check_quantities()?;
        let sum: f64 = self.draws.iter().sum();
        let are_shares = self.draws.len() == HOURS_PER_DAY && self.draws.iter().all(|share| *share >= 0.0);
        if !are_shares || sum.is_nan() || (sum - 1.0).abs() > 1e-6 {
            let value = format!("{} values with the sum {sum}", self.draws.len());
            let allowed = "must be 24 shares of 0 or more with the sum 1";
            return Err(Error::invalid(Self::OWNER, "draws", value, "", allowed));
        }
        let rising = [
            ("cold_temperature", self.cold_temperature),
            ("use_temperature", self.use_temperature),
            ("set_point", self.set_point),
            ("desuperheater_limit", self.desuperheater_limit),
        ];
        for [(lower, low), (field, high)] in rising.windows(2).map(|pair| [pair[0], pair[1]]) {
            if high < low {
                let allowed = format!("must be at least {lower}, {low} degC");
                return Err(Error::invalid(Self::OWNER, field, high, "degC", allowed));
            }
        }
        if self.set_point < self.ambient_temperature {
            let allowed = format!("must be at least ambient_temperature, {} degC", self.ambient_temperature);
            return Err(Error::invalid(Self::OWNER, "set_point", self.set_point, "degC", allowed));
        }
        Ok(())
    }

    /// Simulates the tank for space loads that the heat pump meets, and adds its own load on the heat pump to them;
    /// `usual` is the reference entering load temperature of the heat pump's curves, if any (degC).
    ///
    /// # Errors
    /// [`Error::InvalidInput`] if the loads already contain hot water.
    pub(super) fn join(&self, series: &mut Series, usual: Option<f64>) -> Result<Tank, Error> {
        if series.hot_water.iter().any(|&heat| heat > 0.0) {
            let peak = series.hot_water.iter().fold(0.0, |a: f64, &b| a.max(b));
            let allowed = "must be left out with HotWater";
            return Err(Error::invalid("Loads", "hot_water", peak, "W", allowed));
        }
        let tank = self.run(series);
        series.hot_water.clone_from(&tank.desuperheater_in_heating);
        series.mix_heating_entering_load_temperature(usual, &tank.heat_pump, self.set_point);
        for (water, heat) in series.hot_water.iter_mut().zip(&tank.heat_pump) {
            *water += heat;
        }
        series.recovered.clone_from(&tank.desuperheater_in_cooling);
        Ok(tank)
    }

    /// The hours of the tank.
    ///
    /// C dT/dt = heat in - drawn - losses, implicit over the hour: losses are those at its end. The desuperheater
    /// supplies heat as long as the tank stays below its limit, first in cooling, when that heat is free.
    fn run(&self, series: &Series) -> Tank {
        let capacity = WATER * self.volume / SECONDS_PER_HOUR;
        let per_kelvin = capacity + self.loss_coefficient;
        let warming =
            (self.use_temperature - self.cold_temperature) * WATER * self.daily_volume / SECONDS_PER_HOUR;
        let mut tank = Tank::default();
        let mut temperature = self.set_point;
        for (hour, (heating, cooling)) in series.heating.iter().zip(&series.cooling).enumerate() {
            let drawn = warming * self.draws[hour % HOURS_PER_DAY];
            let alone = (capacity * temperature + self.loss_coefficient * self.ambient_temperature - drawn)
                / per_kelvin;
            let room = |from: f64| (per_kelvin * (self.desuperheater_limit - from)).max(0.0);
            let in_cooling = (self.desuperheater_cooling_share * cooling).min(room(alone));
            let cooled = alone + in_cooling / per_kelvin;
            let in_heating = (self.desuperheater_heating_share * heating).min(room(cooled));
            let warmed = cooled + in_heating / per_kelvin;
            temperature = warmed.max(self.set_point);
            let heater = per_kelvin * (temperature - warmed);
            tank.drawn.push(drawn);
            tank.lost.push(self.loss_coefficient * (temperature - self.ambient_temperature));
            tank.desuperheater_in_heating.push(in_heating);
            tank.desuperheater_in_cooling.push(in_cooling);
            tank.heat_pump.push(if self.by_heat_pump { heater } else { 0.0 });
            tank.element.push(if self.by_heat_pump { 0.0 } else { heater });
            tank.temperature.push(temperature);
        }
        tank
    }
}
