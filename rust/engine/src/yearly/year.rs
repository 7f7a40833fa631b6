//! One row of a run's yearly table.

/// A year of a run: energies (kWh), temperatures (degC), counts of hours.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RunYear {
    /// Lowest entering fluid temperature of all hours.
    pub entering_fluid_min: f64,
    /// Mean entering fluid temperature of all hours.
    pub entering_fluid_mean: f64,
    /// Highest entering fluid temperature of all hours.
    pub entering_fluid_max: f64,
    /// Lowest leaving fluid temperature of all hours.
    pub leaving_fluid_min: f64,
    /// Heat extracted from the ground, over hours with extraction.
    pub heat_extracted_kwh: f64,
    /// Heat rejected to the ground, over hours with rejection.
    pub heat_rejected_kwh: f64,
    /// Heat that the heat pump delivered to the building, including heat recovered for hot water in cooling.
    pub heating_kwh: f64,
    /// Heat that the heat pump removed from the building.
    pub cooling_kwh: f64,
    /// All electricity of the plant: heat pump, circulation pump, the pump of a well, back-up heat, the element for hot
    /// water, and the fans or pumps that distribute heating and cooling.
    pub electricity_kwh: f64,
    /// Heating supplied by back-up heat, equal to its electricity.
    pub backup_kwh: f64,
    /// Cooling not supplied.
    pub unmet_cooling_kwh: f64,
    /// Heat from an electric element for hot water, equal to its electricity.
    pub element_kwh: f64,
    /// Hours in which the heat pump runs.
    pub hours_running: u32,
    /// Hours in which it runs with an entering fluid temperature below the lower limit.
    pub hours_below_limit: u32,
    /// Hours in which it runs with an entering fluid temperature above the upper limit.
    pub hours_above_limit: u32,
    /// Hours in which it runs with an entering fluid temperature outside the heat pump's table.
    pub hours_outside_table: u32,
    /// Hours in which it runs with a leaving fluid temperature closer to freezing than the margin.
    pub hours_near_freezing: u32,
    /// Hours in which the circulating fluid is warmer than [`Fluid::highest`](crate::fluid::Fluid::highest).
    pub hours_fluid_too_warm: u32,
    /// Hours in which the heat pump's capacity is below the load.
    pub hours_short_of_capacity: u32,
}

impl RunYear {
    /// Hours in which the heat pump runs with an entering fluid temperature outside the limits.
    #[must_use]
    pub fn hours_outside_limits(&self) -> u32 {
        self.hours_below_limit + self.hours_above_limit
    }

    /// Heating and cooling delivered by heat pump, back-up heat and element, divided by all electricity of the plant.
    ///
    /// NaN in a year without electricity.
    #[must_use]
    pub fn seasonal_cop(&self) -> f64 {
        self.delivered_kwh() / self.electricity_kwh
    }

    /// Heating and cooling delivered by heat pump, back-up heat and element.
    #[must_use]
    pub fn delivered_kwh(&self) -> f64 {
        self.heating_kwh + self.cooling_kwh + self.backup_kwh + self.element_kwh
    }
}
