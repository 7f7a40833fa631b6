//! An undisturbed temperature that changes during a run.

use serde::{Deserialize, Serialize};

use crate::error::{Error, shown};
use crate::loads::HOURS_PER_YEAR;
use crate::quantity::{Quantified, Quantity};

/// Greatest change of the undisturbed temperature in a series, up or down (K).
const MOST_CHANGE: f64 = 30.0;

/// Change of the ground's undisturbed temperature since the start of a run, the same along the whole loop: a constant
/// rate, plus a series.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Warming {
    /// Constant rate (K in a year of 8760 hours).
    #[serde(default)]
    pub rate: f64,
    /// Changes at the start of the run and after each interval (K), joined by straight lines; empty for none.
    #[serde(default)]
    pub values: Vec<f64>,
    /// Interval of the series (h); not needed without it.
    #[serde(default)]
    pub interval: Option<f64>,
}

impl Quantified for Warming {
    const OWNER: &'static str = "Warming";
    const QUANTITIES: &'static [Quantity<Self>] = &[
        Quantity::new("rate", "K/a", -0.5, 0.5, |w| Some(w.rate)),
        Quantity::new("interval", "h", 1.0, 876_000.0, |w| w.interval),
    ];
}

impl Warming {
    /// Checks that the values are physical and that a series has its interval.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] names the field that is wrong.
    pub fn validate(&self) -> Result<(), Error> {
        self.check_quantities()?;
        let invalid = |field: &str, value: String, unit: &str, allowed: String| {
            Err(Error::invalid(Self::OWNER, field, value, unit, allowed))
        };
        let is_possible = |value: &f64| (-MOST_CHANGE..=MOST_CHANGE).contains(value);
        if let Some(place) = self.values.iter().position(|value| !is_possible(value)) {
            let allowed = format!("value {}: must be from -{MOST_CHANGE} to {MOST_CHANGE} K", place + 1);
            return invalid("values", shown(self.values[place]), "K", allowed);
        }
        if self.values.len() == 1 {
            let allowed = "must be none or at least two, of which the first is that at the start of the run";
            return invalid("values", "one value".to_owned(), "", allowed.to_owned());
        }
        if self.interval.is_some() == self.values.is_empty() {
            let missing = if self.values.is_empty() { "values" } else { "interval" };
            let allowed = "values and interval must be given together, or neither";
            return invalid(missing, "nothing".to_owned(), "", allowed.to_owned());
        }
        Ok(())
    }

    /// Checks that a series reaches the end of a run of `hours` hours.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] if it is too short.
    pub fn check_reach(&self, hours: usize) -> Result<(), Error> {
        let Some(interval) = self.interval else { return Ok(()) };
        let reached = (self.values.len() - 1) as f64 * interval;
        if reached >= hours as f64 {
            return Ok(());
        }
        let needed = (hours as f64 / interval).ceil() as usize + 1;
        let allowed = format!(
            "must be at least {needed} for a run of {} years: one at its start and one after each {} h",
            hours / HOURS_PER_YEAR,
            shown(interval)
        );
        Err(Error::invalid(Self::OWNER, "values", format!("{} values", self.values.len()), "", allowed))
    }

    /// The change at a time since the start of the run (h), in K. After its end, a series continues its last line.
    #[must_use]
    pub fn at(&self, time: f64) -> f64 {
        let of_rate = self.rate * (time / HOURS_PER_YEAR as f64);
        let Some(interval) = self.interval else { return of_rate };
        let intervals = time / interval;
        let place = (intervals as usize).min(self.values.len() - 2);
        let part = intervals - place as f64;
        of_rate + (1.0 - part) * self.values[place] + part * self.values[place + 1]
    }

    /// The change at the end of an hour of the run, counted from 0 (K).
    #[must_use]
    pub fn at_end_of(&self, hour: usize) -> f64 {
        self.at((hour + 1) as f64)
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn series(values: &[f64], interval: f64) -> Warming {
        Warming { rate: 0.0, values: values.to_vec(), interval: Some(interval) }
    }

    fn refusal(warming: &Warming) -> String {
        warming.validate().and_then(|()| warming.check_reach(2 * HOURS_PER_YEAR)).unwrap_err().to_string()
    }

    #[test]
    fn straight_lines_join_the_values_and_a_rate_adds_to_them() {
        let steps = series(&[0.5, 0.5, 2.5, -1.5], 100.0);
        for (time, change) in
            [(0.0, 0.5), (50.0, 0.5), (100.0, 0.5), (150.0, 1.5), (200.0, 2.5), (275.0, -0.5)]
        {
            assert!((steps.at(time) - change).abs() < 1e-12, "{time}");
        }
        assert_eq!(steps.at(300.0), -1.5);
        assert_eq!(steps.at_end_of(199), 2.5);
        let both = Warming { rate: 0.1, ..steps };
        assert!((both.at(300.0) - (-1.5 + 0.1 * 300.0 / 8760.0)).abs() < 1e-12);
        let rate = Warming { rate: 0.03, values: Vec::new(), interval: None };
        assert_eq!(rate.at_end_of(10 * HOURS_PER_YEAR - 1), 0.3);
    }

    #[test]
    fn refuses_what_it_cannot_follow() {
        assert_eq!(
            refusal(&series(&[0.0; 24], 730.0)),
            "Warming.values = 24 values: must be at least 25 for a run of 2 years: one at its start and one after each 730 h"
        );
        assert!(series(&[0.0; 25], 730.0).check_reach(2 * HOURS_PER_YEAR).is_ok());
        assert!(
            refusal(&series(&[0.0, f64::NAN], 1e5)).starts_with("Warming.values = NaN K: value 2: must be")
        );
        assert!(refusal(&series(&[31.0, 0.0], 1e5)).starts_with("Warming.values = 31 K: value 1: must be"));
        assert!(refusal(&series(&[0.0], 1e5)).starts_with("Warming.values = one value: must be none or"));
        assert!(refusal(&series(&[0.0, 1.0], 0.0)).starts_with("Warming.interval = 0 h: must be from 1 to"));
        assert!(refusal(&series(&[], 730.0)).starts_with("Warming.values = nothing: values and interval"));
        let without_interval = Warming { interval: None, ..series(&[0.0, 1.0], 1.0) };
        assert!(refusal(&without_interval).starts_with("Warming.interval = nothing: values and interval"));
        let fast = Warming { rate: 0.6, values: Vec::new(), interval: None };
        assert_eq!(refusal(&fast), "Warming.rate = 0.6 K/a: must be from -0.5 to 0.5 K/a");
    }

    proptest! {
        #[test]
        fn a_straight_series_is_a_rate(rate in -0.5..0.5, interval in 1.0..1e5, count in 2..40_usize, part in 0.0..1.0) {
            let end = (count - 1) as f64 * interval;
            let by_rate = Warming { rate, values: Vec::new(), interval: None };
            let values: Vec<f64> = (0..count).map(|i| by_rate.at(i as f64 * interval)).collect();
            let by_series = series(&values, interval);
            prop_assert!((by_series.at(part * end) - by_rate.at(part * end)).abs() < 1e-9);
        }
    }
}
