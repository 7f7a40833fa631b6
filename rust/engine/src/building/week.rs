//! Values that repeat each week.

use serde::{Deserialize, Serialize};

use crate::error::{Error, shown};

const HOURS_PER_WEEK: usize = 168;

/// A value for each hour of a week from Monday 00:00; a year of model time begins on a Monday.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Week(Vec<f64>);

impl Week {
    /// Values of 168 hours from Monday 00:00.
    #[must_use]
    pub fn new(values: Vec<f64>) -> Self {
        Self(values)
    }

    /// The value in an hour of the year.
    #[must_use]
    pub fn at(&self, hour_of_year: usize) -> f64 {
        self.0[hour_of_year % HOURS_PER_WEEK]
    }

    /// Checks that there are 168 values from `least` to `most`.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] for `owner.field`, with day and hour of the first value that is outside.
    pub fn validate(&self, owner: &str, field: &str, unit: &str, least: f64, most: f64) -> Result<(), Error> {
        if self.0.len() != HOURS_PER_WEEK {
            let allowed = format!("must be {HOURS_PER_WEEK} for each hour of a week");
            return Err(Error::invalid(owner, field, self.0.len(), "values", allowed));
        }
        match self.0.iter().enumerate().find(|(_, value)| !(least..=most).contains(*value)) {
            Some((hour, value)) => {
                let range = if unit.is_empty() {
                    format!("from {least} to {most}")
                } else {
                    format!("from {least} to {most} {unit}")
                };
                let allowed = format!("{}: must be {range}", named(hour));
                Err(Error::invalid(owner, field, shown(*value), unit, allowed))
            }
            None => Ok(()),
        }
    }

    /// The first hour in which this value exceeds that of another week, and its name.
    #[must_use]
    pub fn first_above(&self, other: &Self) -> Option<(f64, f64, String)> {
        let pairs = self.0.iter().zip(&other.0).enumerate();
        pairs.filter(|(_, (own, its))| own > its).map(|(hour, (own, its))| (*own, *its, named(hour))).next()
    }
}

fn named(hour: usize) -> String {
    const DAYS: [&str; 7] = ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"];
    format!("{} from {:02}:00", DAYS[hour / 24 % 7], hour % 24)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bad_hour_is_named() {
        let mut values = vec![20.0; 168];
        values[5 * 24 + 7] = f64::NAN;
        let message = Week::new(values).validate("Building", "heating_set_point", "degC", 0.0, 40.0);
        let expected =
            "Building.heating_set_point = NaN degC: Saturday from 07:00: must be from 0 to 40 degC";
        assert_eq!(message.unwrap_err().to_string(), expected);
        let short = Week::new(vec![1.0; 24]).validate("Building", "occupancy", "", 0.0, 1.0);
        assert!(short.unwrap_err().to_string().contains("24 values: must be 168"));
    }

    #[test]
    fn weeks_repeat_through_the_year() {
        let week = Week::new((0..168).map(f64::from).collect());
        assert_eq!([0, 167, 168, 8759].map(|hour| week.at(hour)), [0.0, 167.0, 0.0, 23.0]);
    }
}
