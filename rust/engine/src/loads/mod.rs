//! What the building asks of the heat pump, hour by hour.

mod clock;
mod heat_loss;
mod reader;

pub use heat_loss::HeatLoss;

use crate::error::Error;

/// Hours of a year of model time, which has no leap days.
pub const HOURS_PER_YEAR: usize = 8760;
/// Most years that loads may span.
pub const MOST_YEARS: usize = 100;
/// Largest load that is accepted in an hour [W].
pub const LARGEST_LOAD: f64 = 1e9;

/// Mean loads of each hour over one or more whole years [W], none of them negative.
#[derive(Debug, Clone, PartialEq)]
pub struct Loads {
    heating: Vec<f64>,
    cooling: Vec<f64>,
    hot_water: Vec<f64>,
}

impl Loads {
    /// Loads from hourly means [W], all three of the same whole number of years.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] names the series that is no whole number of years, is of another length than the first,
    /// or has a value outside 0 to [`LARGEST_LOAD`], with year and hour of that value.
    pub fn new(heating: Vec<f64>, cooling: Vec<f64>, hot_water: Vec<f64>) -> Result<Self, Error> {
        let hours = heating.len();
        for (field, values) in [("heating", &heating), ("cooling", &cooling), ("hot_water", &hot_water)] {
            check_length(field, values.len(), hours)?;
            check_values(field, values)?;
        }
        Ok(Self { heating, cooling, hot_water })
    }

    /// Heat that the rooms need in each hour [W].
    #[must_use]
    pub fn heating(&self) -> &[f64] {
        &self.heating
    }

    /// Heat to be taken out of the rooms in each hour [W].
    #[must_use]
    pub fn cooling(&self) -> &[f64] {
        &self.cooling
    }

    /// Heat that domestic hot water needs in each hour [W].
    #[must_use]
    pub fn hot_water(&self) -> &[f64] {
        &self.hot_water
    }

    /// Number of years.
    #[must_use]
    pub fn years(&self) -> usize {
        self.heating.len() / HOURS_PER_YEAR
    }
}

fn check_length(field: &str, hours: usize, hours_of_heating: usize) -> Result<(), Error> {
    let allowed =
        if hours == 0 || !hours.is_multiple_of(HOURS_PER_YEAR) || hours > MOST_YEARS * HOURS_PER_YEAR {
            format!("must be {HOURS_PER_YEAR} for each of 1 to {MOST_YEARS} whole years, without leap days")
        } else if hours != hours_of_heating {
            format!("must be {hours_of_heating} as in heating")
        } else {
            return Ok(());
        };
    Err(Error::invalid("Loads", field, hours, "hourly values", allowed))
}

fn check_values(field: &str, values: &[f64]) -> Result<(), Error> {
    match values.iter().enumerate().find(|(_, value)| !(0.0..=LARGEST_LOAD).contains(*value)) {
        Some((index, value)) => {
            let (year, hour) = (index / HOURS_PER_YEAR + 1, index % HOURS_PER_YEAR);
            let allowed = format!("year {year}, hour {hour}: must be from 0 to {LARGEST_LOAD} W");
            Err(Error::invalid("Loads", field, value, "W", allowed))
        }
        None => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refusal(heating: Vec<f64>, cooling: Vec<f64>, hot_water: Vec<f64>) -> String {
        Loads::new(heating, cooling, hot_water).unwrap_err().to_string()
    }

    #[test]
    fn whole_years_are_counted() {
        let series = vec![1.0; 3 * HOURS_PER_YEAR];
        assert_eq!(Loads::new(series.clone(), series.clone(), series).unwrap().years(), 3);
    }

    #[test]
    fn a_bad_value_is_found_by_series_year_and_hour() {
        for bad in [-1.0, f64::NAN, f64::INFINITY, 2e9] {
            let good = vec![1.0; 2 * HOURS_PER_YEAR];
            let mut cooling = good.clone();
            cooling[HOURS_PER_YEAR + 7] = bad;
            let message = refusal(good.clone(), cooling, good);
            assert!(message.starts_with(&format!("Loads.cooling = {bad} W: year 2, hour 7:")), "{message}");
        }
    }

    #[test]
    fn a_wrong_length_is_refused() {
        let year = || vec![0.0; HOURS_PER_YEAR];
        assert!(refusal(vec![], vec![], vec![]).contains("Loads.heating = 0 hourly values"));
        assert!(refusal(vec![0.0; 8784], year(), year()).contains("Loads.heating = 8784 hourly values"));
        let message = refusal(year(), year(), vec![0.0; 2 * HOURS_PER_YEAR]);
        assert!(message.contains("Loads.hot_water = 17520 hourly values: must be 8760 as in heating"));
        assert!(refusal(vec![0.0; 101 * HOURS_PER_YEAR], year(), year()).contains("1 to 100 whole years"));
    }
}
