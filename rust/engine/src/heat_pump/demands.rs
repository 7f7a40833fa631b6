//! Demand on a heat pump in every hour of its loads.

use std::ptr;

use serde::{Deserialize, Serialize};

use super::Demand;
use crate::error::Error;
use crate::loads::{HOURS_PER_YEAR, LARGEST_LOAD, Loads, Series};

/// Factors by which series of loads are multiplied.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Scales {
    /// Of space heating.
    pub heating: f64,
    /// Of space cooling.
    pub cooling: f64,
    /// Of heat for domestic hot water.
    pub hot_water: f64,
    /// Of heat supplied directly to the loop.
    pub recharge: f64,
}

impl Default for Scales {
    fn default() -> Self {
        Self { heating: 1.0, cooling: 1.0, hot_water: 1.0, recharge: 1.0 }
    }
}

/// Demand in each hour of loads, which repeat: series that several designs may share, each times a factor.
#[derive(Debug, Clone, Copy)]
pub struct Demands<'a> {
    series: &'a Series,
    scales: Scales,
    /// Hour of the series at which they begin: that of a whole year.
    first: usize,
}

impl<'a> Demands<'a> {
    /// Loads as they are.
    #[must_use]
    pub fn of(loads: &'a Loads) -> Self {
        Self { series: loads.series(), scales: Scales::default(), first: 0 }
    }

    /// Loads times factors.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] if a factor is negative or not finite, a load would exceed [`LARGEST_LOAD`], or heat
    /// recovered would exceed the cooling of its hour.
    pub fn scaled(loads: &'a Loads, scales: Scales) -> Result<Self, Error> {
        let series = loads.series();
        let factors = [
            ("heating", scales.heating, &series.heating),
            ("cooling", scales.cooling, &series.cooling),
            ("hot_water", scales.hot_water, &series.hot_water),
            ("recharge", scales.recharge, &series.recharge),
        ];
        for (field, factor, values) in factors {
            if !(factor.is_finite() && factor >= 0.0) {
                return Err(Error::invalid("Scales", field, factor, "", "must be a number, 0 or more"));
            }
            let is_too_large = |&&value: &&f64| (factor * value).abs() > LARGEST_LOAD;
            if factor > 1.0
                && let Some(value) = values.iter().find(is_too_large)
            {
                let allowed = format!("must be at most {LARGEST_LOAD} W");
                return Err(Error::invalid("Loads", field, factor * value, "W", allowed));
            }
        }
        let is_recovered = |(recovered, cooling): (&f64, &f64)| *recovered > scales.cooling * cooling;
        if series.recovered.iter().zip(&series.cooling).any(is_recovered) {
            let allowed = "must leave at least the heat recovered in each hour";
            return Err(Error::invalid("Scales", "cooling", scales.cooling, "", allowed));
        }
        Ok(Self { series, scales, first: 0 })
    }

    /// The same demand, of which some years have passed.
    #[must_use]
    pub fn after(self, years: usize) -> Self {
        Self { first: (self.first + years * HOURS_PER_YEAR) % self.len(), ..self }
    }

    /// Hour of the series at which they begin.
    #[must_use]
    pub fn first(&self) -> usize {
        self.first
    }

    /// The shared series.
    #[must_use]
    pub fn series(&self) -> &'a Series {
        self.series
    }

    /// The factors.
    #[must_use]
    pub fn scales(&self) -> Scales {
        self.scales
    }

    /// Number of hours, whole years.
    #[must_use]
    #[allow(clippy::len_without_is_empty)] // Loads are never empty.
    pub fn len(&self) -> usize {
        self.series.heating.len()
    }

    /// Whether two have the same factors of the same series in memory, and begin at the same hour.
    #[must_use]
    pub fn are(&self, other: &Self) -> bool {
        ptr::eq(self.series, other.series) && self.scales == other.scales && self.first == other.first
    }

    /// The demand in one of the hours of the series; hot water is supplied as heating.
    #[must_use]
    pub fn at(&self, hour: usize) -> Demand {
        let Self { series, scales, .. } = self;
        Demand {
            heating: scales.heating * series.heating[hour] + scales.hot_water * series.hot_water[hour],
            cooling: scales.cooling * series.cooling[hour],
            recharge: scales.recharge * series.recharge[hour],
            recovered: series.recovered[hour],
            element: series.element[hour],
            distribution_power: series.distribution_power[hour],
            heating_entering_load_temperature: series.heating_entering_load_temperature.get(hour).copied(),
            cooling_entering_load_temperature: series.cooling_entering_load_temperature.get(hour).copied(),
        }
    }

    /// The demand in each hour of the series.
    pub fn hours(&self) -> impl Iterator<Item = Demand> {
        (0..self.len()).map(|hour| self.at(hour))
    }
}
