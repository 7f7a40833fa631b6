//! The annual temperature wave from the surface into the ground.

use std::f64::consts::TAU;

use faer::c64;
use serde::{Deserialize, Serialize};

use super::Ground;
use crate::error::Error;
use crate::quantity::{Quantified, Quantity};

/// Seconds in a day, and days in a year of the run.
const DAY: f64 = 86_400.0;
const DAYS: f64 = 365.0;

/// Annual variation of the surface temperature around its mean, which is the ground's own temperature.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SurfaceWave {
    /// Half of the difference between the surface temperatures of the warmest and the coldest day (K).
    pub amplitude: f64,
    /// Time from the beginning of the calendar year to the lowest surface temperature (d).
    pub coldest_day: f64,
}

impl Quantified for SurfaceWave {
    const OWNER: &'static str = "SurfaceWave";
    const QUANTITIES: &'static [Quantity<Self>] = &[
        Quantity::new("amplitude", "K", 0.0, 50.0, |w| Some(w.amplitude)),
        Quantity::new("coldest_day", "d", 0.0, DAYS, |w| Some(w.coldest_day)),
    ];
}

impl SurfaceWave {
    /// Angular frequency of the wave: 2 pi / year (1/s).
    pub const FREQUENCY: f64 = TAU / (DAYS * DAY);

    /// Checks that the values are physical.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] names the field that is not.
    pub fn validate(&self) -> Result<(), Error> {
        self.check_quantities()
    }

    /// The wave at a depth (m): the temperature is the annual mean plus the real part of phasor x exp(i omega t), with
    /// t (s) from the beginning of the calendar year.
    ///
    /// T = mean - amplitude x exp(-d / D) cos(omega (t - t0) - d / D), D = sqrt(2 a / omega): Kusuda & Achenbach 1965,
    /// ASHRAE Transactions 71(1), 61, their equation for the half-space below a surface with one yearly harmonic.
    #[must_use]
    pub fn phasor(&self, depth: f64, ground: &Ground) -> c64 {
        let reach = (2.0 * ground.diffusivity() / Self::FREQUENCY).sqrt();
        let turn = Self::FREQUENCY * self.coldest_day * DAY + depth / reach;
        c64::cis(-turn) * (-self.amplitude * (-depth / reach).exp())
    }

    /// Contribution of a phasor to the temperature at a time (s) from the beginning of the calendar year (K).
    #[must_use]
    pub fn departure(phasor: c64, time: f64) -> f64 {
        (phasor * c64::cis(Self::FREQUENCY * time)).re
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const GROUND: Ground = Ground {
        conductivity: 1.5,
        volumetric_heat_capacity: 2.4e6,
        temperature: 10.0,
        gradient: 0.0,
        darcy_flux: 0.0,
        flow_direction: 0.0,
        warming: None,
    };
    const WAVE: SurfaceWave = SurfaceWave { amplitude: 12.0, coldest_day: 31.0 };

    #[test]
    fn the_surface_is_coldest_on_its_day_and_depth_lags() {
        let at = |depth, day: f64| SurfaceWave::departure(WAVE.phasor(depth, &GROUND), day * DAY);
        assert!((at(0.0, 31.0) + 12.0).abs() < 1e-12);
        assert!((at(0.0, 31.0 + 182.5) - 12.0).abs() < 1e-12);
        // At one penetration depth the wave has fallen to 1 / e and lags by one radian.
        let reach = (GROUND.diffusivity() * DAYS * DAY * 2.0 / TAU).sqrt();
        let late = DAYS / TAU;
        assert!((at(reach, 31.0 + late) + 12.0 * (-1.0_f64).exp()).abs() < 1e-12);
    }
}
