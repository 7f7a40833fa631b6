//! Properties of fresh water in ponds and wells, beyond a fluid's table.

/// Density at 4 degC (kg/m3).
pub const DENSITY: f64 = 999.97;

/// Heat capacity per mass (J/(kg K)); falls from 4218 at 0 degC to 4182 at 20 degC.
pub const HEAT_CAPACITY: f64 = 4200.0;

/// Temperature of greatest density (degC).
pub const DENSEST: f64 = 3.98;

/// Latent heat of freezing (J/kg) (checked by tests/reference/test_second_sources_pond.py).
pub const LATENT_HEAT: f64 = 333_550.0;

/// Gravity (m/s2).
pub const GRAVITY: f64 = 9.806_65;

/// Coefficients of Kell's numerator, in ascending order.
const KELL: [f64; 6] =
    [999.839_52, 16.945_176, -7.987_040_1e-3, -4.617_046_1e-5, 1.055_630_2e-7, -2.805_425_3e-10];

/// Density at a temperature (degC) and atmospheric pressure (kg/m3).
///
/// Source: Kell (1975), J. Chem. Eng. Data 20, 97; coefficients from memory, checked through the film around coils in
/// tests/reference/test_second_sources_pond.py.
#[must_use]
#[inline(always)]
pub fn density(t: f64) -> f64 {
    let [constant, powers @ ..] = KELL;
    let numerator = powers.iter().rev().fold(0.0, |sum: f64, power| sum.mul_add(t, *power));
    numerator.mul_add(t, constant) / t.mul_add(1.687_985e-2, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn water_is_densest_at_4_degrees() {
        let at_most = density(DENSEST);
        assert!((at_most - DENSITY).abs() < 0.01);
        for offset in [-0.5, -0.1, 0.1, 0.5] {
            assert!(density(DENSEST + offset) < at_most);
        }
    }
}
