//! Water vapour in saturated air.

/// Coefficients of the Magnus formula over water: Alduchov & Eskridge (1996), J. Appl. Meteorol. 35, 601, eq. 21.
pub const MAGNUS: [f64; 3] = [610.94, 17.625, 243.04];

/// Saturation vapour pressure over water at a temperature (degC), in Pa; below freezing over supercooled water.
#[inline(always)]
pub fn vapour_pressure(temperature: f64) -> f64 {
    let [at_zero, factor, offset] = MAGNUS;
    at_zero * (factor * temperature / (temperature + offset)).exp()
}
