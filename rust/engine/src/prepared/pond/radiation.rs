//! Constants of long-wave radiation.

/// Stefan-Boltzmann constant (W/(m2 K4)).
pub const STEFAN_BOLTZMANN: f64 = 5.670_374_419e-8;
/// 0 degC (K).
pub const KELVIN: f64 = 273.15;
/// Long-wave emissivity of water and ice; from memory, checked by tests/reference/test_second_sources_pond.py.
pub const EMISSIVITY: f64 = 0.97;
