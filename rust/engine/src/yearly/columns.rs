//! The columns of the yearly table that every run has.

use super::RunYear;

/// A column of numbers: its name, which ends with its unit, and the function that reads it.
pub type NumberColumn = (&'static str, fn(&RunYear) -> f64);
/// A column of hours, likewise.
pub type HoursColumn = (&'static str, fn(&RunYear) -> u32);

impl RunYear {
    /// The columns of numbers.
    pub const NUMBERS: &'static [NumberColumn] = &[
        ("entering_fluid_min_degC", |y| y.entering_fluid_min),
        ("entering_fluid_mean_degC", |y| y.entering_fluid_mean),
        ("entering_fluid_max_degC", |y| y.entering_fluid_max),
        ("leaving_fluid_min_degC", |y| y.leaving_fluid_min),
        ("heat_extracted_kWh", |y| y.heat_extracted_kwh),
        ("heat_rejected_kWh", |y| y.heat_rejected_kwh),
        ("heating_kWh", |y| y.heating_kwh),
        ("cooling_kWh", |y| y.cooling_kwh),
        ("electricity_kWh", |y| y.electricity_kwh),
        ("backup_kWh", |y| y.backup_kwh),
        ("unmet_cooling_kWh", |y| y.unmet_cooling_kwh),
        ("seasonal_cop", RunYear::seasonal_cop),
    ];

    /// The columns that count hours.
    pub const HOURS: &'static [HoursColumn] = &[
        ("hours_running", |y| y.hours_running),
        ("hours_outside_limits", RunYear::hours_outside_limits),
        ("hours_outside_table", |y| y.hours_outside_table),
        ("hours_near_freezing", |y| y.hours_near_freezing),
        ("hours_fluid_too_warm", |y| y.hours_fluid_too_warm),
        ("hours_short_of_capacity", |y| y.hours_short_of_capacity),
    ];
}

/// Name of the column with the number of deciding criteria that are broken in the year.
pub const LIMITS_BROKEN: &str = "limits_broken";
