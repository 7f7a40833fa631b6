//! Conditions at the surface of a pond that don't depend on the water temperature, from the weather.

use std::f64::consts::TAU;

use super::basin::{Basin, FACES};
use super::radiation::{EMISSIVITY, KELVIN, STEFAN_BOLTZMANN};
use super::vapour::vapour_pressure;
use crate::ground_side::pond::Weather;
use crate::loads::HOURS_PER_YEAR;

/// Clear-sky radiation of a day below which the ratio is meaningless (W h/m2).
const LEAST_CLEAR_DAY: f64 = 100.0;

/// Friction velocity in the water relative to the wind speed at 2 m (Henderson-Sellers 1985; from memory, checked by
/// tests/reference/test_second_sources_pond.py).
const FRICTION: f64 = 1.2e-3;

/// Conditions at the surface in one hour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Above {
    /// Global irradiance (W/m2).
    pub sun: f64,
    /// Heat flux into a black, dry and insulating surface at 0 degC and 0 Pa, except for the sun: long-wave radiation,
    /// convection and vapour (W/m2).
    pub gain: f64,
    /// Heat of evaporation per pascal (W/(m2 Pa)).
    pub evaporation: f64,
    /// Film coefficient of the air (W/(m2 K)).
    pub convection: f64,
    /// Mixing of the water by wind.
    pub stirring: Stirring,
}

impl Above {
    /// Conditions at the surface of a pond in each hour.
    pub fn all(weather: &Weather, basin: &Basin) -> Vec<Self> {
        let clearness = clearness(weather);
        // Standard atmosphere (ISO 2533).
        let pressure = 101_325.0 * (1.0 - 2.255_77e-5 * weather.altitude).powf(5.255_88);
        // Bowen (1926), Phys. Rev. 27, 779: 0.61 hPa/K at 1000 hPa.
        let bowen = 61.0 * pressure / 1e5;
        let hour = |hour: usize| {
            let air = weather.dry_bulb[hour];
            let vapour = weather.relative_humidity[hour] / 100.0 * vapour_pressure(air);
            // The logarithmic profile over short grass: Allen et al. (1998), FAO Irrigation and drainage paper 56, eq.
            // 47.
            let wind = 0.748 * weather.wind_speed[hour];
            let evaporation = evaporation_factor(wind, basin.surface());
            let long_wave =
                sky_emissivity(air, vapour, clearness[hour / 24]) * STEFAN_BOLTZMANN * (air + KELVIN).powi(4);
            Self {
                sun: weather.ghi[hour],
                gain: EMISSIVITY * long_wave + evaporation * (vapour + bowen * air),
                evaporation,
                convection: evaporation * bowen,
                stirring: Stirring::new(wind, weather.latitude, basin.thickness),
            }
        };
        (0..HOURS_PER_YEAR).map(hour).collect()
    }
}

/// Ratio of each day's radiation to that of a clear sky, from 0 to 1.
///
/// A day with hardly any sun has the ratio of the day before.
fn clearness(weather: &Weather) -> Vec<f64> {
    let mut share = 0.5;
    let day = |(day, ghi): (usize, &[f64])| {
        let clear: f64 = (0..24).map(|hour| clear_sky(weather.latitude, day, hour)).sum();
        if clear > LEAST_CLEAR_DAY {
            share = (ghi.iter().sum::<f64>() / clear).min(1.0);
        }
        share
    };
    weather.ghi.chunks(24).enumerate().map(day).collect()
}

/// Wind mixing at the interfaces between layers.
///
/// Henderson-Sellers (1985), Appl. Math. Model. 9, 441; from memory, magnitude checked by the depth of a lake's
/// thermocline in tests/reference/test_second_sources_pond.py.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stirring {
    /// Eddy diffusivity without stratification (m2/s).
    pub eddies: [f64; FACES],
    /// 40 x (von Karman's constant x depth / friction velocity)^2, the factor between stratification (1/s2) and
    /// Richardson number (s2).
    pub turnover: [f64; FACES],
}

impl Stirring {
    fn new(wind: f64, latitude: f64, thickness: f64) -> Self {
        let decay = 6.6 * latitude.to_radians().sin().abs().sqrt() * wind.max(CALM).powf(-1.84);
        let depth = |face: usize| (face + 1) as f64 * thickness;
        let friction = |face: usize| (FRICTION * wind * (-decay * depth(face)).exp()).max(STILL);
        Self {
            eddies: std::array::from_fn(|face| KARMAN * friction(face) * depth(face)),
            turnover: std::array::from_fn(|face| 40.0 * (KARMAN * depth(face) / friction(face)).powi(2)),
        }
    }
}

/// Clear-sky horizontal irradiance in an hour of a day, in solar time (W/m2).
///
/// Haurwitz (1945), J. Meteorol. 2, 154; declination: Cooper (1969), Sol. Energy 12, 333. From memory, checked by
/// tests/reference/test_second_sources_pond.py.
fn clear_sky(latitude: f64, day: usize, hour: usize) -> f64 {
    let declination = (23.45 * (TAU * (284.0 + day as f64 + 1.0) / 365.0).sin()).to_radians();
    let angle = TAU * (hour as f64 + 0.5 - 12.0) / 24.0;
    let latitude = latitude.to_radians();
    let height = latitude.sin() * declination.sin() + latitude.cos() * declination.cos() * angle.cos();
    if height > 0.0 { 1098.0 * height * (-0.057 / height).exp() } else { 0.0 }
}

/// Emissivity of the sky for air (degC) with vapour (Pa): Brutsaert (1975), Water Resour. Res. 11, 742, eq. 11, for a
/// clear sky; the missing share of radiation counts as cloud: Crawford & Duchon (1999), J. Appl. Meteorol. 38, 474.
fn sky_emissivity(air: f64, vapour: f64, clearness: f64) -> f64 {
    let clear = (1.24 * (vapour / 100.0 / (air + KELVIN)).powf(1.0 / 7.0)).min(1.0);
    (1.0 - clearness) + clearness * clear
}

/// Heat of evaporation per pascal between water and air, for the wind at 2 m (m/s) over an area (m2), in W/(m2 Pa).
///
/// (2.36 + 1.67 u) A^-0.05 mm/(d kPa): `McJannet`, Webster & Cook (2012), Environ. Model. Softw. 31, 76; from memory. A
/// millimetre is a kilogram per square metre. Tests compare it with the wind functions of Penman (1956) and Sweers
/// (1976).
fn evaporation_factor(wind: f64, area: f64) -> f64 {
    let kilograms_per_day_and_kilopascal = (2.36 + 1.67 * wind) * area.powf(-0.05);
    kilograms_per_day_and_kilopascal * EVAPORATION_HEAT / 86_400.0 / 1000.0
}

/// Heat of evaporation of water near 20 degC (J/kg): Allen et al. (1998), FAO Irrigation and drainage paper 56, annex
/// 3.
const EVAPORATION_HEAT: f64 = 2.45e6;

/// Wind speed and friction velocity below which the water counts as still (m/s).
const CALM: f64 = 0.01;
const STILL: f64 = 1e-9;

/// Von Karman's constant.
const KARMAN: f64 = 0.4;
