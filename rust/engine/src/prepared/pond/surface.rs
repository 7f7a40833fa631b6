//! Heat exchange between the surface of water or ice and the air above it.

use super::radiation::{EMISSIVITY, KELVIN, STEFAN_BOLTZMANN};
use super::sky::Above;
use super::vapour::{MAGNUS, vapour_pressure};

/// Heat flux into a surface without the sun: `at_zero - slope x its temperature` (W/m2), (W/(m2 K)).
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Exchange {
    /// At 0 degC (W/m2).
    pub at_zero: f64,
    /// Fall per kelvin (W/(m2 K)).
    pub slope: f64,
}

impl Exchange {
    /// The tangent at a temperature (degC) of long-wave radiation, convection and evaporation.
    #[inline(always)]
    pub fn around(temperature: f64, above: &Above) -> Self {
        let kelvins = temperature + KELVIN;
        let radiated = EMISSIVITY * STEFAN_BOLTZMANN * kelvins * kelvins * kelvins;
        let [_, factor, offset] = MAGNUS;
        let vapour = above.evaporation * vapour_pressure(temperature);
        let warmer = temperature + offset;
        let slope =
            4.0_f64.mul_add(radiated, vapour * (factor * offset) / (warmer * warmer)) + above.convection;
        let lost = radiated.mul_add(kelvins, above.convection.mul_add(temperature, vapour));
        Self { at_zero: slope.mul_add(temperature, above.gain - lost), slope }
    }

    /// Heat flux into the surface at a temperature (degC), in W/m2.
    #[inline(always)]
    pub fn at(&self, temperature: f64) -> f64 {
        self.at_zero - self.slope * temperature
    }
}
