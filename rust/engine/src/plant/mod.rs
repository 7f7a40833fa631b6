//! Distribution and hot water: from building loads to heat pump loads.

mod distribution;
mod hot_water;

use serde::{Deserialize, Serialize};

pub use distribution::{AirDistribution, Distribution, WaterDistribution};
pub use hot_water::{HotWater, Tank};

use crate::error::Error;
use crate::heat_pump::{HeatPump, Mode};
use crate::loads::{Loads, Series};

/// Distribution of heating and cooling, and hot water.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Plant {
    /// Ducts, or floor heating and radiators; `None` if the loads are those delivered by the heat pump.
    pub distribution: Option<Distribution>,
    /// Hot water from a tank; `None` if the loads contain all of it.
    pub hot_water: Option<HotWater>,
}

/// Heat pump loads and auxiliary electricity, hour by hour.
#[derive(Debug, Clone, PartialEq)]
pub struct Met {
    /// Heat pump loads.
    pub loads: Loads,
    /// Electricity of the fans or pumps of the distribution (W).
    pub distribution_power: Vec<f64>,
    /// The tank, if there is one.
    pub tank: Option<Tank>,
}

impl Plant {
    /// Heat pump loads for given room and hot water loads.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] for a part that is not physical, for hot water that is also in the loads, and for water
    /// temperatures outside the range of the heat pump's curves.
    pub fn meet(&self, needs: &Loads, heat_pump: &HeatPump) -> Result<Met, Error> {
        let mut series = needs.series().clone();
        let hours = series.heating.len();
        let reference = |mode: &Option<Mode>| Some(mode.as_ref()?.entering_load.as_ref()?.reference);
        let mut distribution_power = vec![0.0; hours];
        if let Some(distribution) = &self.distribution {
            distribution.validate(hours)?;
            distribution.deliver(&mut series, &mut distribution_power);
            let is_known =
                |mode: &Option<Mode>| mode.as_ref().is_none_or(|mode| mode.entering_load.is_some());
            if matches!(distribution, Distribution::Water(_)) && !is_known(&heat_pump.heating) {
                let allowed =
                    "must be left out: the heat pump's curves don't depend on the entering load temperature";
                return Err(Error::invalid("Design", "distribution", "water", "", allowed));
            }
            if reference(&heat_pump.heating).is_some() {
                series.heating_entering_load_temperature =
                    (0..hours).map(|hour| distribution.heating_entering_load_temperature(hour)).collect();
            }
            if reference(&heat_pump.cooling).is_some() {
                series.cooling_entering_load_temperature =
                    vec![distribution.cooling_entering_load_temperature(); hours];
            }
        }
        let tank = match &self.hot_water {
            Some(hot_water) => {
                hot_water.validate()?;
                Some(hot_water.join(&mut series, reference(&heat_pump.heating))?)
            }
            None => None,
        };
        series.distribution_power.clone_from(&distribution_power);
        if let Some(tank) = &tank {
            series.element.clone_from(&tank.element);
        }
        Ok(Met { loads: Loads::new(series)?, distribution_power, tank })
    }
}

/// The mean temperature of two heat flows into one condenser, weighted by heat; that of the first if both are zero.
fn shared_side(first: (f64, f64), second: (f64, f64)) -> f64 {
    let ((heat, side), (other_heat, other_side)) = (first, second);
    let sum = heat + other_heat;
    if sum > 0.0 { (heat * side + other_heat * other_side) / sum } else { side }
}

impl Series {
    /// Adds heat (W) at another entering load temperature (degC) to that of each hour.
    fn mix_heating_entering_load_temperature(&mut self, usual: Option<f64>, heat: &[f64], side: f64) {
        let Some(usual) = usual else { return };
        if self.heating_entering_load_temperature.is_empty() {
            self.heating_entering_load_temperature = vec![usual; self.heating.len()];
        }
        for (hour, rooms_side) in self.heating_entering_load_temperature.iter_mut().enumerate() {
            *rooms_side =
                shared_side((self.heating[hour] + self.hot_water[hour], *rooms_side), (heat[hour], side));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::heat_pump::EnteringLoadCorrection;
    use crate::loads::HOURS_PER_YEAR;

    fn hot_water() -> HotWater {
        let mut draws = vec![0.0; 24];
        (draws[6], draws[7], draws[19]) = (0.3, 0.3, 0.4);
        HotWater {
            daily_volume: 0.2,
            draws,
            use_temperature: 42.0,
            cold_temperature: 10.0,
            set_point: 50.0,
            desuperheater_limit: 60.0,
            volume: 0.3,
            loss_coefficient: 2.0,
            ambient_temperature: 18.0,
            desuperheater_heating_share: 0.12,
            desuperheater_cooling_share: 0.15,
            by_heat_pump: true,
        }
    }

    fn needs() -> Loads {
        let wave = |hour: usize| (hour as f64 * std::f64::consts::TAU / HOURS_PER_YEAR as f64).cos();
        let heating = (0..HOURS_PER_YEAR).map(|hour| (8e3 * wave(hour)).max(0.0)).collect();
        let cooling = (0..HOURS_PER_YEAR).map(|hour| (-6e3 * wave(hour) - 2e3).max(0.0)).collect();
        Loads::new(Series { heating, cooling, ..Series::default() }).unwrap()
    }

    fn heat_pump() -> HeatPump {
        let entering_load = |reference| EnteringLoadCorrection {
            reference,
            range: [15.0, 60.0],
            cop: vec![-0.03],
            capacity: vec![],
        };
        let mode = |cop, reference| {
            Some(Mode { cop: vec![cop], entering_load: Some(entering_load(reference)), ..Mode::default() })
        };
        HeatPump { heating: mode(4.0, 35.0), cooling: mode(5.0, 27.0), ..HeatPump::default() }
    }

    #[test]
    fn the_tank_is_in_heat_balance() {
        let plant = Plant { hot_water: Some(hot_water()), ..Plant::default() };
        let met = plant.meet(&needs(), &heat_pump()).unwrap();
        let tank = met.tank.unwrap();
        let capacity = 988.0 * 4181.0 * 0.3 / 3600.0;
        let mut before = 50.0;
        for hour in 0..HOURS_PER_YEAR {
            let gained = tank.desuperheater_in_heating[hour]
                + tank.desuperheater_in_cooling[hour]
                + tank.heat_pump[hour];
            let kept = gained - tank.drawn[hour] - tank.lost[hour];
            assert!((capacity * (tank.temperature[hour] - before) - kept).abs() < 1e-6, "hour {hour}");
            assert!(
                (50.0 - 1e-9..60.0 + 1e-9).contains(&tank.temperature[hour]),
                "{}",
                tank.temperature[hour]
            );
            before = tank.temperature[hour];
        }
        assert!(tank.desuperheater_in_cooling.iter().any(|&heat| heat > 100.0));
        assert!(tank.heat_pump.iter().any(|&heat| heat > 100.0));
        let series = met.loads.series();
        assert_eq!(series.recovered, tank.desuperheater_in_cooling);
        let sum = |values: &[f64]| values.iter().sum::<f64>();
        let expected = sum(&tank.desuperheater_in_heating) + sum(&tank.heat_pump);
        assert!((sum(&series.hot_water) - expected).abs() < 1e-6 * expected);
    }

    #[test]
    fn hot_water_raises_the_entering_load_temperature_by_its_share() {
        let plant = Plant {
            hot_water: Some(HotWater { desuperheater_heating_share: 0.0, ..hot_water() }),
            ..Plant::default()
        };
        let met = plant.meet(&needs(), &heat_pump()).unwrap();
        let series = met.loads.series();
        let hour = series.hot_water.iter().position(|&heat| heat > 0.0).unwrap();
        let (rooms, water) = (series.heating[hour], series.hot_water[hour]);
        let expected = (rooms * 35.0 + water * 50.0) / (rooms + water);
        assert!((series.heating_entering_load_temperature[hour] - expected).abs() < 1e-9);
        let element = HotWater { by_heat_pump: false, ..hot_water() };
        let met =
            Plant { hot_water: Some(element), ..Plant::default() }.meet(&needs(), &heat_pump()).unwrap();
        assert!(met.tank.unwrap().element.iter().any(|&heat| heat > 0.0));
    }

    #[test]
    fn water_temperature_follows_the_weather_and_fans_supply_their_share() {
        let outdoor: Vec<f64> = (0..HOURS_PER_YEAR).map(|hour| (hour % 60) as f64 - 25.0).collect();
        let distribution = Distribution::Water(WaterDistribution {
            return_water: 45.0,
            mild_return_water: 25.0,
            cold_day: -15.0,
            mild_day: 15.0,
            cooling_water: 18.0,
            pump_share: 0.05,
            outdoor,
        });
        let plant = Plant { distribution: Some(distribution), hot_water: None };
        let met = plant.meet(&needs(), &heat_pump()).unwrap();
        let series = met.loads.series();
        // -25, -15, 0, 15 and 20 degC outdoors.
        let sides: Vec<f64> =
            [0, 10, 25, 40, 45].map(|hour| series.heating_entering_load_temperature[hour]).to_vec();
        assert_eq!(sides, [45.0, 45.0, 35.0, 25.0, 25.0]);
        let all = needs();
        for hour in 0..HOURS_PER_YEAR {
            let (rooms, power) = (all.series(), met.distribution_power[hour]);
            let delivered = series.heating[hour] - series.cooling[hour] + power;
            assert!((delivered - (rooms.heating[hour] - rooms.cooling[hour])).abs() < 1e-9);
        }
        let blind =
            HeatPump { heating: Some(Mode { cop: vec![4.0], ..Mode::default() }), ..HeatPump::default() };
        assert!(plant.meet(&needs(), &blind).unwrap_err().to_string().contains("Design.distribution"));
    }

    #[test]
    fn unphysical_values_are_rejected() {
        let refusal = |change: fn(&mut HotWater)| {
            let mut water = hot_water();
            change(&mut water);
            water.validate().unwrap_err().to_string()
        };
        assert!(refusal(|h| h.draws[0] = 0.5).contains("24 values with the sum 1.5"));
        assert!(
            refusal(|h| h.set_point = 41.0).contains("HotWater.set_point = 41 degC: must be at least use_")
        );
        assert!(
            refusal(|h| h.desuperheater_cooling_share = 0.5)
                .contains("HotWater.desuperheater_cooling_share = 0.5: must be from 0 to 0.3")
        );
        let twice =
            Loads::new(Series { hot_water: vec![300.0; HOURS_PER_YEAR], ..Series::default() }).unwrap();
        let plant = Plant { hot_water: Some(hot_water()), ..Plant::default() };
        let message = plant.meet(&twice, &heat_pump()).unwrap_err().to_string();
        assert_eq!(message, "Loads.hot_water = 300 W: must be left out with HotWater");
    }
}
