//! Hourly building loads.

mod clock;
mod heat_loss;
mod reader;

pub use heat_loss::HeatLoss;

use crate::error::Error;

/// Hours of a year of model time, which has no leap days.
pub const HOURS_PER_YEAR: usize = 8760;
/// Most years that loads may span.
pub const MOST_YEARS: usize = 100;
/// Largest load accepted in an hour (W).
pub const LARGEST_LOAD: f64 = 1e9;

/// Hourly means over one or more whole years; a series may be left empty.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Series {
    /// Space heating load (W).
    pub heating: Vec<f64>,
    /// Space cooling load (W).
    pub cooling: Vec<f64>,
    /// Heat that the heat pump supplies for domestic hot water (W).
    pub hot_water: Vec<f64>,
    /// Heat supplied to the loop fluid from another source, such as a solar collector; negative where it is rejected,
    /// as by a dry cooler (W).
    pub recharge: Vec<f64>,
    /// Heat recovered for hot water from the compressor in cooling, which the loop then need not absorb (W).
    pub recovered: Vec<f64>,
    /// Heat for hot water from an electric heater, equal to its electricity (W).
    pub element: Vec<f64>,
    /// Electricity of the fans or pumps of the distribution (W).
    pub distribution_power: Vec<f64>,
    /// Entering load temperature in heating (degC); if empty, the reference temperature of the curves.
    pub heating_entering_load_temperature: Vec<f64>,
    /// Entering load temperature in cooling (degC); if empty, the reference temperature of the curves.
    pub cooling_entering_load_temperature: Vec<f64>,
}

impl Series {
    /// All series by name.
    pub fn named(&mut self) -> [(&'static str, &mut Vec<f64>); 9] {
        [
            ("heating", &mut self.heating),
            ("cooling", &mut self.cooling),
            ("hot_water", &mut self.hot_water),
            ("recharge", &mut self.recharge),
            ("recovered", &mut self.recovered),
            ("element", &mut self.element),
            ("distribution_power", &mut self.distribution_power),
            ("heating_entering_load_temperature", &mut self.heating_entering_load_temperature),
            ("cooling_entering_load_temperature", &mut self.cooling_entering_load_temperature),
        ]
    }

    /// The heat flows and powers by name, with the smallest value allowed for each (W).
    fn powers(&mut self) -> [(&'static str, f64, &mut Vec<f64>); 7] {
        [
            ("heating", 0.0, &mut self.heating),
            ("cooling", 0.0, &mut self.cooling),
            ("hot_water", 0.0, &mut self.hot_water),
            ("recharge", -LARGEST_LOAD, &mut self.recharge),
            ("recovered", 0.0, &mut self.recovered),
            ("element", 0.0, &mut self.element),
            ("distribution_power", 0.0, &mut self.distribution_power),
        ]
    }

    /// The temperatures by name (degC).
    fn sides(&self) -> [(&'static str, &Vec<f64>); 2] {
        [
            ("heating_entering_load_temperature", &self.heating_entering_load_temperature),
            ("cooling_entering_load_temperature", &self.cooling_entering_load_temperature),
        ]
    }
}

/// Loads of the building and recharge in each hour of one or more whole years.
#[derive(Debug, Clone, PartialEq)]
pub struct Loads(Series);

impl Loads {
    /// Loads from hourly means, all of the same whole number of years; heat or power that is empty is zero.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] names the series that is not a whole number of years, differs in length from the others,
    /// or has a value outside 0 to [`LARGEST_LOAD`] (recharge may be as far below 0) or an invalid temperature, with
    /// its year and hour. Heat recovered must not exceed the cooling of its hour.
    pub fn new(mut series: Series) -> Result<Self, Error> {
        let sides = series.sides().map(|(field, values)| (field, values.len()));
        let powers = series.powers().map(|(field, _, values)| (field, values.len()));
        let given = || powers.into_iter().chain(sides).filter(|&(_, length)| length > 0);
        let (first, hours) = given().next().unwrap_or(("heating", 0));
        check_length(first, hours, first, hours)?;
        given().try_for_each(|(field, length)| check_length(field, length, first, hours))?;
        for (field, least, values) in series.powers() {
            values.resize(hours, 0.0);
            check_values(field, values, least, LARGEST_LOAD, "W")?;
        }
        for (field, values) in series.sides() {
            check_values(field, values, ENTERING_LOAD[0], ENTERING_LOAD[1], "degC")?;
        }
        if let Some(hour) = (0..hours).find(|&hour| series.recovered[hour] > series.cooling[hour]) {
            let allowed =
                format!("{}: must be at most the cooling, {} W", place_of(hour), series.cooling[hour]);
            return Err(Error::invalid("Loads", "recovered", series.recovered[hour], "W", allowed));
        }
        Ok(Self(series))
    }

    /// The hourly means.
    #[must_use]
    pub fn series(&self) -> &Series {
        &self.0
    }

    /// Returns the hourly means.
    #[must_use]
    pub fn into_series(self) -> Series {
        self.0
    }

    /// Number of years.
    #[must_use]
    pub fn years(&self) -> usize {
        self.0.heating.len() / HOURS_PER_YEAR
    }
}

/// Range of the entering load temperature (degC).
const ENTERING_LOAD: [f64; 2] = [-30.0, 90.0];

fn check_length(field: &str, hours: usize, first: &str, hours_of_first: usize) -> Result<(), Error> {
    let allowed =
        if hours == 0 || !hours.is_multiple_of(HOURS_PER_YEAR) || hours > MOST_YEARS * HOURS_PER_YEAR {
            format!("must be {HOURS_PER_YEAR} for each of 1 to {MOST_YEARS} whole years, without leap days")
        } else if hours != hours_of_first {
            format!("must be {hours_of_first} as in {first}")
        } else {
            return Ok(());
        };
    Err(Error::invalid("Loads", field, hours, "hourly values", allowed))
}

fn check_values(field: &str, values: &[f64], least: f64, most: f64, unit: &str) -> Result<(), Error> {
    match values.iter().enumerate().find(|(_, value)| !(least..=most).contains(*value)) {
        Some((index, value)) => {
            let allowed = format!("{}: must be from {least} to {most} {unit}", place_of(index));
            Err(Error::invalid("Loads", field, value, unit, allowed))
        }
        None => Ok(()),
    }
}

/// An hour of the loads as shown in messages.
fn place_of(hour: usize) -> String {
    format!("year {}, hour {}", hour / HOURS_PER_YEAR + 1, hour % HOURS_PER_YEAR)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refusal(heating: Vec<f64>, cooling: Vec<f64>, hot_water: Vec<f64>) -> String {
        Loads::new(Series { heating, cooling, hot_water, ..Series::default() }).unwrap_err().to_string()
    }

    #[test]
    fn whole_years_are_counted() {
        let series = vec![1.0; 3 * HOURS_PER_YEAR];
        assert_eq!(Loads::new(Series { cooling: series, ..Series::default() }).unwrap().years(), 3);
    }

    #[test]
    fn a_bad_value_is_reported_with_series_year_and_hour() {
        for bad in [-1.0, f64::NAN, f64::INFINITY, 2e9] {
            let good = vec![1.0; 2 * HOURS_PER_YEAR];
            let mut cooling = good.clone();
            cooling[HOURS_PER_YEAR + 7] = bad;
            let message = refusal(good.clone(), cooling, good);
            assert!(message.starts_with(&format!("Loads.cooling = {bad} W: year 2, hour 7:")), "{message}");
        }
    }

    #[test]
    fn recharge_may_be_negative() {
        let year = |value| vec![value; HOURS_PER_YEAR];
        let taken = Series { heating: year(1.0), recharge: year(-5e3), ..Series::default() };
        assert_eq!(Loads::new(taken).unwrap().series().recharge[7], -5e3);
        let endless = Series { heating: year(1.0), recharge: year(-2e9), ..Series::default() };
        let message = Loads::new(endless).unwrap_err().to_string();
        assert!(message.ends_with("must be from -1000000000 to 1000000000 W"), "{message}");
    }

    #[test]
    fn a_wrong_length_is_rejected() {
        let year = || vec![0.0; HOURS_PER_YEAR];
        assert!(refusal(vec![], vec![], vec![]).contains("Loads.heating = 0 hourly values"));
        assert!(refusal(vec![0.0; 8784], year(), year()).contains("Loads.heating = 8784 hourly values"));
        let message = refusal(year(), year(), vec![0.0; 2 * HOURS_PER_YEAR]);
        assert!(message.contains("Loads.hot_water = 17520 hourly values: must be 8760 as in heating"));
        assert!(refusal(vec![0.0; 101 * HOURS_PER_YEAR], year(), year()).contains("1 to 100 whole years"));
    }

    #[test]
    fn temperatures_and_heat_recovered_are_checked() {
        let year = |value| vec![value; HOURS_PER_YEAR];
        let message = |series| Loads::new(series).unwrap_err().to_string();
        let hot =
            Series { heating: year(1.0), heating_entering_load_temperature: year(95.0), ..Series::default() };
        assert_eq!(
            message(hot),
            "Loads.heating_entering_load_temperature = 95 degC: year 1, hour 0: must be from -30 to 90 degC"
        );
        let short =
            Series { heating: year(1.0), cooling_entering_load_temperature: vec![20.0], ..Series::default() };
        assert!(message(short).contains("Loads.cooling_entering_load_temperature = 1 hourly values"));
        let more = Series { cooling: year(2.0), recovered: year(3.0), ..Series::default() };
        assert_eq!(message(more), "Loads.recovered = 3 W: year 1, hour 0: must be at most the cooling, 2 W");
    }
}
