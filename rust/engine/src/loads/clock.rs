//! The time columns of a loads file.

use chrono::{Datelike, Days, NaiveDate, NaiveDateTime, TimeDelta, Timelike};

use super::HOURS_PER_YEAR;

/// Checks that time stamps advance hour by hour through years without leap days.
///
/// A stamp marks the beginning or the end of its hour; the first one, 00:00 or 01:00 on 1 January, shows which.
pub struct Clock {
    first_year: i32,
    ends: bool,
}

impl Clock {
    /// A clock that starts at the first time stamp of a file.
    ///
    /// # Errors
    /// The accepted values, if the stamp is not a time or does not begin a year.
    pub fn starting_at(stamp: &str) -> Result<Self, String> {
        let time = parse(stamp)?;
        let hour = time.hour();
        if (time.month(), time.day(), time.minute(), time.second()) != (1, 1, 0, 0) || hour > 1 {
            return Err(
                "the first must be 00:00 (hours by their beginning) or 01:00 (by their end) on 1 January"
                    .into(),
            );
        }
        Ok(Self { first_year: time.year(), ends: hour == 1 })
    }

    /// Checks the time stamp `index` hours after the first.
    ///
    /// # Errors
    /// The accepted value, if the stamp differs from it.
    pub fn check(&self, index: usize, stamp: &str) -> Result<(), String> {
        let time = parse(stamp)?;
        let expected = self.stamp(index);
        if time == expected || time == expected + Days::new(1) && is_leap_midnight(expected) {
            return Ok(());
        }
        if (time.month(), time.day()) == (2, 29) {
            return Err("29 February: years must not have leap days; omit its 24 hours".into());
        }
        let fault = match time - expected {
            late if late > TimeDelta::zero() => "a gap",
            early if early == -TimeDelta::hours(1) => "the previous hour again",
            _ => "back in time",
        };
        Err(format!("{fault}: must be {} in local standard time", expected.format("%Y-%m-%dT%H:%M")))
    }

    fn stamp(&self, index: usize) -> NaiveDateTime {
        let year = self.first_year + (index / HOURS_PER_YEAR) as i32;
        let hour = index % HOURS_PER_YEAR;
        let leap_day = is_leap(year) && hour >= 59 * 24;
        let hours = hour as i64 + if leap_day { 24 } else { 0 } + i64::from(self.ends);
        NaiveDate::from_ymd_opt(year, 1, 1).unwrap_or_default().and_time(Default::default())
            + TimeDelta::hours(hours)
    }
}

/// The end of 28 February, which writers that omit the leap day label as the beginning of 1 March.
fn is_leap_midnight(time: NaiveDateTime) -> bool {
    (time.month(), time.day(), time.hour()) == (2, 29, 0)
}

fn is_leap(year: i32) -> bool {
    NaiveDate::from_ymd_opt(year, 2, 29).is_some()
}

fn parse(stamp: &str) -> Result<NaiveDateTime, String> {
    ["%Y-%m-%dT%H:%M:%S%.f", "%Y-%m-%dT%H:%M", "%Y-%m-%d %H:%M:%S%.f", "%Y-%m-%d %H:%M"]
        .iter()
        .find_map(|format| NaiveDateTime::parse_from_str(stamp, format).ok())
        .filter(|time| (1..=9000).contains(&time.year()))
        .ok_or_else(|| "must be a time like 2023-01-01T00:00, local standard time without an offset".into())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn years_pass_without_leap_days() {
        for (first, end_of_28_february, end_of_year) in [
            ("2023-12-31T23:00", "", ""),
            ("2024-01-01T00:00", "2024-02-28T23:00", "2024-12-31T23:00"),
            ("2024-01-01T01:00", "2024-02-29T00:00", "2025-01-01T00:00"),
            ("2024-01-01 01:00:00", "2024-03-01 00:00:00", "2025-01-01 00:00:00"),
        ] {
            let Ok(clock) = Clock::starting_at(first) else {
                assert!(end_of_year.is_empty());
                continue;
            };
            clock.check(0, first).unwrap();
            clock.check(59 * 24 - 1, end_of_28_february).unwrap();
            clock.check(HOURS_PER_YEAR - 1, end_of_year).unwrap();
        }
    }

    #[test]
    fn faults_of_stamps_are_distinguished() {
        let clock = Clock::starting_at("2024-01-01T00:00").unwrap();
        let fault = |index, stamp| clock.check(index, stamp).unwrap_err();
        assert!(fault(59 * 24, "2024-02-29T00:00").contains("must not have leap days"));
        clock.check(59 * 24, "2024-03-01T00:00").unwrap();
        assert_eq!(fault(5, "2024-01-01T06:00"), "a gap: must be 2024-01-01T05:00 in local standard time");
        assert!(fault(5, "2024-01-01T04:00").starts_with("the previous hour again"));
        assert!(fault(5, "2024-01-01T05:30").starts_with("a gap"));
        assert!(fault(HOURS_PER_YEAR, "2024-01-01T00:00").contains("must be 2025-01-01T00:00"));
        assert!(fault(5, "5").contains("must be a time like"));
        assert!(fault(5, "2024-01-01T05:00+01:00").contains("without an offset"));
        assert!(Clock::starting_at("2024-01-01T00:30").is_err());
    }
}
