//! A periodic year of a building.

use super::{Building, Network, NodeGains, Temperatures, Week};
use crate::column::Column;
use crate::error::Error;
use crate::loads::HOURS_PER_YEAR;

/// Length of a step (s).
pub(super) const HOUR: f64 = 3600.0;
/// Temperature of the mass at the start of the first pass (degC).
const START: f64 = 20.0;
/// Change of the mass over a year below which the year counts as periodic (K).
const REPEATS_WITHIN: f64 = 1e-9;
/// Passes within which every accepted building becomes periodic; typical ones take two.
const MOST_PASSES: usize = 200;
/// Upper bound of the irradiance on a window (W/m2).
const BRIGHTEST: f64 = 3000.0;

/// Hourly series of a year; heat (W), temperatures (degC).
#[derive(Debug, Clone, PartialEq)]
pub struct BuildingYear {
    /// Heating load of the rooms.
    pub heating: Vec<f64>,
    /// Cooling load of the rooms.
    pub cooling: Vec<f64>,
    /// Heat of people and equipment.
    pub internal: Vec<f64>,
    /// Solar heat through the windows.
    pub solar: Vec<f64>,
    /// Mean air temperature of the hour.
    pub air: Vec<f64>,
    /// Mean surface temperature of the hour.
    pub surface: Vec<f64>,
    /// Temperature of the mass at the end of the hour.
    pub mass: Vec<f64>,
    /// Mean operative temperature of the hour.
    pub operative: Vec<f64>,
}

impl BuildingYear {
    /// The series by names that end with their unit.
    #[must_use]
    pub fn into_columns(self) -> [Column; 8] {
        [
            ("heating_W", self.heating),
            ("cooling_W", self.cooling),
            ("internal_gains_W", self.internal),
            ("solar_gains_W", self.solar),
            ("air_degC", self.air),
            ("surface_degC", self.surface),
            ("mass_degC", self.mass),
            ("operative_degC", self.operative),
        ]
    }
}

/// Conditions of the rooms in an hour.
struct Surroundings {
    outdoor: f64,
    gains: NodeGains,
    /// Heating set point of the air.
    heated_below: f64,
    /// Cooling set point of the air.
    cooled_above: f64,
}

/// The network and the power limits that keep it within its set points.
struct Zone {
    network: Network,
    air_per_watt: f64,
    heating_power: f64,
    cooling_power: f64,
}

impl Zone {
    /// Heat supplied to the air, negative for cooling (W), and the resulting temperatures of the hour.
    ///
    /// ISO 13790:2008, annex C.4.2: the air temperature is linear in that heat, so one evaluation of the free-running
    /// hour gives the required power; where power is insufficient, the air temperature floats.
    fn hour(&self, mass: f64, around: &Surroundings) -> (f64, Temperatures) {
        let free = self.network.step(HOUR, mass, around.outdoor, &around.gains);
        let heat = if free.air < around.heated_below {
            ((around.heated_below - free.air) / self.air_per_watt).min(self.heating_power)
        } else if free.air > around.cooled_above {
            ((around.cooled_above - free.air) / self.air_per_watt).max(-self.cooling_power)
        } else {
            return (0.0, free);
        };
        let gains = NodeGains { air: around.gains.air + heat, ..around.gains };
        (heat, self.network.step(HOUR, mass, around.outdoor, &gains))
    }
}

impl BuildingYear {
    fn zeros(internal: Vec<f64>, solar: Vec<f64>) -> Self {
        let zeros = || vec![0.0; HOURS_PER_YEAR];
        let (heating, cooling) = (zeros(), zeros());
        let (air, surface, mass, operative) = (zeros(), zeros(), zeros(), zeros());
        Self { heating, cooling, internal, solar, air, surface, mass, operative }
    }

    fn take(&mut self, hour: usize, heat: f64, found: &Temperatures) {
        self.heating[hour] = heat.max(0.0);
        self.cooling[hour] = (-heat).max(0.0);
        self.air[hour] = found.air;
        self.surface[hour] = found.surface;
        self.mass[hour] = found.mass;
        self.operative[hour] = found.operative();
    }
}

impl Building {
    /// The year for outdoor temperatures (degC) and the irradiance on each window (W/m2), repeated until the mass ends
    /// at its starting temperature; `free_running` turns heating and cooling off.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] where the building or a series can't be used.
    pub fn year(
        &self,
        outdoor: &[f64],
        irradiance: &[Vec<f64>],
        free_running: bool,
    ) -> Result<BuildingYear, Error> {
        self.validate()?;
        check_series("outdoor", outdoor, "degC", -100.0, 100.0)?;
        if irradiance.len() != self.windows.len() {
            let allowed = format!("must be {}, one for each of the windows", self.windows.len());
            return Err(Error::invalid(OWNER, "irradiance", irradiance.len(), "series", allowed));
        }
        for series in irradiance {
            check_series("irradiance", series, "W/m2", 0.0, BRIGHTEST)?;
        }

        let internal: Vec<f64> = (0..HOURS_PER_YEAR).map(|hour| self.internal_gains(hour)).collect();
        let solar = self.solar_gains(irradiance);
        let set_point = |week: &Option<Week>, hour, none| match week {
            Some(week) if !free_running => week.at(hour),
            _ => none,
        };
        let around: Vec<Surroundings> = (0..HOURS_PER_YEAR)
            .map(|hour| Surroundings {
                outdoor: outdoor[hour],
                gains: self.gains(internal[hour], solar[hour]),
                heated_below: set_point(&self.heating_set_point, hour, f64::NEG_INFINITY),
                cooled_above: set_point(&self.cooling_set_point, hour, f64::INFINITY),
            })
            .collect();

        let network = self.network();
        let zone = Zone {
            network,
            air_per_watt: network.air_per_watt(HOUR),
            heating_power: self.heating_power.unwrap_or(f64::INFINITY),
            cooling_power: self.cooling_power.unwrap_or(f64::INFINITY),
        };
        let mut year = BuildingYear::zeros(internal, solar);
        let mut mass = START;
        for _ in 0..MOST_PASSES {
            let start = mass;
            for (hour, around) in around.iter().enumerate() {
                let (heat, found) = zone.hour(mass, around);
                year.take(hour, heat, &found);
                mass = found.mass;
            }
            if (mass - start).abs() < REPEATS_WITHIN {
                return Ok(year);
            }
        }
        let allowed = "must be small enough for the year to become periodic";
        Err(Error::invalid(OWNER, "heat_capacity", network.capacity / self.floor_area, "J/(m2 K)", allowed))
    }

    /// Solar heat through all windows (W): ISO 13790:2008, equation (43) (from memory).
    fn solar_gains(&self, irradiance: &[Vec<f64>]) -> Vec<f64> {
        let mut gains = vec![0.0; HOURS_PER_YEAR];
        for (window, series) in self.windows.iter().zip(irradiance) {
            let area = window.solar_area();
            for (gain, irradiance) in gains.iter_mut().zip(series) {
                *gain += area * irradiance;
            }
        }
        gains
    }
}

const OWNER: &str = "Building";

fn check_series(field: &str, series: &[f64], unit: &str, least: f64, most: f64) -> Result<(), Error> {
    if series.len() != HOURS_PER_YEAR {
        let allowed = format!("must be {HOURS_PER_YEAR}, without a leap day");
        return Err(Error::invalid(OWNER, field, series.len(), "hourly values", allowed));
    }
    match series.iter().position(|value| !(least..=most).contains(value)) {
        Some(hour) => {
            let allowed = format!("hour {hour}: must be from {least} to {most} {unit}");
            Err(Error::invalid(OWNER, field, series[hour], unit, allowed))
        }
        None => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use std::f64::consts::TAU;

    use proptest::prelude::*;

    use super::super::{Mass, Opaque, Window};
    use super::*;

    fn house() -> Building {
        let constant = |value: f64| Week::new(vec![value; 168]);
        Building {
            floor_area: 150.0,
            height: 2.6,
            opaque: vec![Opaque { area: 380.0, u_value: 0.3, exposure: 0.9 }],
            windows: vec![Window {
                area: 24.0,
                u_value: 1.3,
                g_value: 0.6,
                azimuth: 180.0,
                tilt: 90.0,
                shading: 0.8,
                frame_share: 0.25,
            }],
            mass: Mass::Medium,
            heat_capacity: None,
            ventilation: 0.4,
            heat_recovery: 0.7,
            infiltration: 0.1,
            occupants: 4.0,
            occupancy: constant(0.6),
            equipment: 500.0,
            equipment_use: constant(0.5),
            heating_set_point: Some(constant(20.0)),
            cooling_set_point: Some(constant(26.0)),
            heating_power: None,
            cooling_power: None,
        }
    }

    fn outdoor() -> Vec<f64> {
        let hour = |h: usize| h as f64;
        let value = |h| 8.0 - 12.0 * (TAU * hour(h) / 8760.0).cos() - 5.0 * (TAU * hour(h) / 24.0).cos();
        (0..HOURS_PER_YEAR).map(value).collect()
    }

    fn sun() -> Vec<f64> {
        (0..HOURS_PER_YEAR).map(|h| (-600.0 * (TAU * h as f64 / 24.0).cos()).max(0.0)).collect()
    }

    fn year_of(building: &Building) -> BuildingYear {
        building.year(&outdoor(), &vec![sun(); building.windows.len()], false).unwrap()
    }

    fn sum(values: &[f64]) -> f64 {
        values.iter().sum()
    }

    #[test]
    fn the_year_is_periodic_and_keeps_the_set_points() {
        let year = year_of(&house());
        assert!(sum(&year.heating) > 1e6 && sum(&year.cooling) > 1e5);
        for hour in 0..HOURS_PER_YEAR {
            assert!((20.0 - 1e-9..=26.0 + 1e-9).contains(&year.air[hour]));
            assert!(year.heating[hour] == 0.0 || (year.air[hour] - 20.0).abs() < 1e-9);
            assert!(year.cooling[hour] == 0.0 || (year.air[hour] - 26.0).abs() < 1e-9);
            assert!(year.heating[hour] * year.cooling[hour] == 0.0);
        }
        let network = house().network();
        let again = network.step(HOUR, year.mass[HOURS_PER_YEAR - 1], outdoor()[0], &{
            let gains = house().gains(year.internal[0], year.solar[0]);
            NodeGains { air: gains.air + year.heating[0] - year.cooling[0], ..gains }
        });
        assert!((again.mass - year.mass[0]).abs() < 1e-8);
    }

    #[test]
    fn with_too_little_power_the_air_floats() {
        let needed = year_of(&house());
        let peak = needed.heating.iter().copied().fold(0.0, f64::max);
        let short = year_of(&Building { heating_power: Some(0.6 * peak), ..house() });
        let mut floats = 0;
        for (hour, heat) in short.heating.iter().enumerate() {
            assert!(*heat <= 0.6 * peak);
            if short.air[hour] < 20.0 - 1e-9 {
                assert!((heat - 0.6 * peak).abs() < 1e-9);
                floats += 1;
            }
        }
        assert!(floats > 100);
    }

    #[test]
    fn a_building_with_a_long_time_constant_is_periodic() {
        let heavy = Building { heat_capacity: Some(2e6), ventilation: 0.0, infiltration: 0.05, ..house() };
        let year = heavy.year(&outdoor(), &[sun()], true).unwrap();
        let swing = year.mass.iter().copied().fold(f64::NEG_INFINITY, f64::max)
            - year.mass.iter().copied().fold(f64::INFINITY, f64::min);
        assert!(swing > 0.1 && swing < 24.0);
    }

    #[test]
    fn impossible_buildings_are_rejected() {
        let refusal = |building: Building| building.validate().unwrap_err().to_string();
        let warm = Some(Week::new(vec![27.0; 168]));
        assert!(
            refusal(Building { heating_set_point: warm, ..house() }).contains(
                "heating_set_point = 27 degC: Monday from 00:00: must be at most cooling_set_point"
            )
        );
        let bare = Building { opaque: vec![], windows: vec![], ventilation: 0.0, ..house() };
        assert!(
            refusal(Building { infiltration: 0.0, ..bare }).contains("envelope = 0 W/K: must be at least")
        );
        let glass = Opaque { area: 4000.0, u_value: 1.0, exposure: 1.0 };
        assert!(refusal(Building { opaque: vec![glass], ..house() }).contains("opaque = 4000 W/K"));
        let glass = Window { area: 3000.0, ..house().windows[0] };
        assert!(refusal(Building { windows: vec![glass], ..house() }).contains("windows = 3900 W/K"));
        let thin = Opaque { area: 1500.0, u_value: 1.0, exposure: 1.0 };
        let shed = Building { heat_capacity: Some(2e4), opaque: vec![thin], ..house() };
        assert!(refusal(shed).contains("for hourly steps"));
        let error = house().year(&outdoor()[1..], &[sun()], false).unwrap_err().to_string();
        assert!(error.contains("outdoor = 8759 hourly values"));
        let error = house().year(&outdoor(), &[], false).unwrap_err().to_string();
        assert!(error.contains("irradiance = 0 series: must be 1"));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(24))]

        #[test]
        fn more_insulation_never_needs_more_heat(better in 0.2_f64..1.0, recovery in 0.0_f64..0.9) {
            let plain = Building { heat_recovery: recovery, ..house() };
            let mut insulated = plain.clone();
            insulated.opaque[0].u_value *= better;
            prop_assert!(sum(&year_of(&insulated).heating) <= sum(&year_of(&plain).heating) + 1e-6);
            let regained = Building { heat_recovery: 0.95, ..plain.clone() };
            prop_assert!(sum(&year_of(&regained).heating) <= sum(&year_of(&plain).heating) + 1e-6);
        }

        #[test]
        fn gains_never_increase_heating_or_reduce_cooling(equipment in 0.0_f64..3000.0, share in 0.0_f64..1.0) {
            let with = year_of(&Building { equipment: 500.0 + equipment, equipment_use: Week::new(vec![share; 168]), ..house() });
            let without = year_of(&Building { equipment: 0.0, ..house() });
            for hour in 0..HOURS_PER_YEAR {
                prop_assert!(with.heating[hour] <= without.heating[hour] + 1e-6);
                prop_assert!(with.cooling[hour] >= without.cooling[hour] - 1e-6);
            }
        }

        #[test]
        fn twice_the_building_needs_twice_the_heat(factor in 0.5_f64..20.0) {
            let mut large = house();
            large.floor_area *= factor;
            large.opaque[0].area *= factor;
            large.windows[0].area *= factor;
            large.occupants *= factor;
            large.equipment *= factor;
            let (one, other) = (year_of(&house()), year_of(&large));
            for (single, many) in one.heating.iter().zip(&other.heating) {
                prop_assert!((many - factor * single).abs() <= 1e-9 * many.max(1.0));
            }
        }
    }
}
