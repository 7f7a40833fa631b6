//! Demand on a heat pump.

/// Demand in one hour.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Demand {
    /// Heat for rooms and hot water, zero or more (W).
    pub heating: f64,
    /// Space cooling, zero or more (W).
    pub cooling: f64,
    /// Heat supplied directly to the loop (W); negative where it is removed.
    pub recharge: f64,
    /// Heat recovered for hot water from the compressor in cooling, which the loop then need not absorb (W).
    pub recovered: f64,
    /// Heat for hot water from an electric element (W).
    pub element: f64,
    /// Electricity of the fans or pumps of the distribution (W).
    pub distribution_power: f64,
    /// Entering load temperature in heating (degC); `None` for the reference of the curves.
    pub heating_entering_load_temperature: Option<f64>,
    /// The same in cooling (degC).
    pub cooling_entering_load_temperature: Option<f64>,
}

impl Demand {
    /// Whether nothing circulates.
    #[must_use]
    #[inline(always)]
    pub fn is_idle(&self) -> bool {
        !self.asks_heat_pump() && self.recharge == 0.0
    }

    /// Whether the heat pump runs.
    #[must_use]
    #[inline(always)]
    pub fn asks_heat_pump(&self) -> bool {
        self.heating > 0.0 || self.cooling > 0.0
    }
}

/// Loads of heat pumps side by side: different designs in the same hour, or the same design in different hours.
#[derive(Debug, Clone, Copy)]
pub struct ModeLoads<N> {
    /// Heating; `None` if no lane has any.
    pub heating: Option<Load<N>>,
    /// Cooling; `None` if no lane has any.
    pub cooling: Option<Load<N>>,
}

/// Load on one mode of heat pumps.
#[derive(Debug, Clone, Copy)]
pub struct Load<N> {
    /// Heating or cooling, zero or more (W).
    pub amount: N,
    /// Entering load temperature (degC); `None` for the reference of the curves.
    pub side: Option<N>,
}
