//! What is asked of a heat pump.

/// What is asked for in one hour.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Demand {
    /// Heat for rooms and hot water, zero or more [W].
    pub heating: f64,
    /// Heat to be taken out of the rooms, zero or more [W].
    pub cooling: f64,
    /// Heat given to the loop past the heat pump [W]; negative where it is taken out.
    pub recharge: f64,
    /// Heat that hot water takes from the compressor in cooling, so that the loop is spared it [W].
    pub recovered: f64,
    /// Heat for hot water from an electric element [W].
    pub element: f64,
    /// Electricity of fans or pumps that distribute heat and cold [W].
    pub distribution_power: f64,
    /// What enters the heat pump from the building in heating [degC]; `None` for the temperature that its curves are for.
    pub heating_entering_load_temperature: Option<f64>,
    /// The same in cooling [degC].
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

/// What is asked of heat pumps side by side: other designs in the same hour, or the same design in other hours.
#[derive(Debug, Clone, Copy)]
pub struct ModeLoads<N> {
    /// For rooms and hot water; `None` where no lane asks for any.
    pub heating: Option<Load<N>>,
    /// Out of the rooms; `None` where no lane asks for any.
    pub cooling: Option<Load<N>>,
}

/// What is asked of one mode of heat pumps.
#[derive(Debug, Clone, Copy)]
pub struct Load<N> {
    /// Heat or cold, zero or more [W].
    pub amount: N,
    /// What enters the heat pumps from the buildings [degC]; `None` for the temperature that their curves are for.
    pub side: Option<N>,
}
