//! Loads from a CSV file, for users of the engine as a Rust crate (see `examples/from_files.rs`).
//!
//! The Python package has a reader of its own, which accepts more formats.

use std::path::Path;

use super::clock::Clock;
use super::{HOURS_PER_YEAR, LARGEST_LOAD, Loads, MOST_YEARS, Series};
use crate::csv_file::{CsvFile, FoundColumn, KnownColumn, Row};
use crate::error::Error;

#[derive(PartialEq, Clone, Copy)]
enum LoadColumn {
    Heating,
    Cooling,
    HotWater,
    Recharge,
    Time,
    HourOfYear,
}
use LoadColumn::{Cooling, Heating, HotWater, HourOfYear, Recharge, Time};

/// Watts per Btu/h (International Table).
const BTU_PER_HOUR: f64 = 1_055.055_852_62 / 3600.0;

const KNOWN: [KnownColumn<LoadColumn>; 18] = [
    KnownColumn::new("heating_W", Heating, 1.0),
    KnownColumn::new("heating_kW", Heating, 1000.0),
    KnownColumn::new("heating_Btu_per_h", Heating, BTU_PER_HOUR),
    KnownColumn::new("heating_kBtu_per_h", Heating, 1000.0 * BTU_PER_HOUR),
    KnownColumn::new("cooling_W", Cooling, 1.0),
    KnownColumn::new("cooling_kW", Cooling, 1000.0),
    KnownColumn::new("cooling_Btu_per_h", Cooling, BTU_PER_HOUR),
    KnownColumn::new("cooling_kBtu_per_h", Cooling, 1000.0 * BTU_PER_HOUR),
    KnownColumn::new("hot_water_W", HotWater, 1.0),
    KnownColumn::new("hot_water_kW", HotWater, 1000.0),
    KnownColumn::new("hot_water_Btu_per_h", HotWater, BTU_PER_HOUR),
    KnownColumn::new("hot_water_kBtu_per_h", HotWater, 1000.0 * BTU_PER_HOUR),
    KnownColumn::new("recharge_W", Recharge, 1.0),
    KnownColumn::new("recharge_kW", Recharge, 1000.0),
    KnownColumn::new("recharge_Btu_per_h", Recharge, BTU_PER_HOUR),
    KnownColumn::new("recharge_kBtu_per_h", Recharge, 1000.0 * BTU_PER_HOUR),
    KnownColumn::new("time", Time, 1.0),
    KnownColumn::new("hour", HourOfYear, 1.0),
];

impl Loads {
    /// Reads hourly means from a CSV file.
    ///
    /// Columns are `heating_W`, `cooling_W`, `hot_water_W` and `recharge_W`, or the same in `_kW`, `_Btu_per_h` or
    /// `_kBtu_per_h`. Missing columns are 0, but one of the first three is required. Lines before the header may be
    /// comments that start with `#`. Each further line is one hour of a year without leap days, from 1 January.
    ///
    /// A column `time` (ISO 8601, local standard time) or `hour` (0 to 8759 or 1 to 8760 in each year) is checked if
    /// present. Stamps may mark the beginning of their hour (the first is 00:00, hour 0) or its end (01:00, hour 1). A
    /// file with neither column that is longer than a year could also be a year of shorter time steps: `years` gives
    /// its number of years.
    ///
    /// # Errors
    /// [`Error::InvalidFile`] names line, column and cell of invalid loads, leap days, gaps and repeats, and a number
    /// of lines that is not a whole number of years or is ambiguous; [`Error::Io`] if the file can't be read.
    pub fn read(path: &Path, years: Option<usize>) -> Result<Self, Error> {
        let file = CsvFile::read(path)?;
        let columns = file.columns(&KNOWN)?;
        let named = |meaning| columns.iter().find(|column| column.known.meaning == meaning);
        let loads = [Heating, Cooling, HotWater, Recharge].map(named);
        if loads[..3].iter().all(Option::is_none) {
            let allowed = "must have a column heating_kW, cooling_kW or hot_water_kW (or in _W)";
            return Err(file.invalid_header("no load", allowed));
        }
        if let Some(column) = named(HourOfYear) {
            check_hours(&file, column)?;
        }
        if let Some(column) = named(Time) {
            check_times(&file, column)?;
        }
        let mut series = [const { Vec::new() }; 4];
        let least = [0.0, 0.0, 0.0, -LARGEST_LOAD];
        for row in &file.rows {
            for ((values, column), least) in series.iter_mut().zip(loads).zip(least) {
                values.push(column.map_or(Ok(0.0), |column| file.number(row, column, least, LARGEST_LOAD))?);
            }
        }
        let stamped = named(Time).or(named(HourOfYear)).is_some();
        check_length(&file, stamped, years)?;
        let [heating, cooling, hot_water, recharge] = series;
        Self::new(Series { heating, cooling, hot_water, recharge, ..Series::default() })
    }
}

fn check_times(file: &CsvFile, column: &FoundColumn<'_, LoadColumn>) -> Result<(), Error> {
    let Some(first) = file.rows.first() else { return Ok(()) };
    let invalid = |row: &Row, allowed: String| file.invalid_cell(row, column, &allowed);
    let clock = Clock::starting_at(file.text(first, column)).map_err(|allowed| invalid(first, allowed))?;
    file.rows.iter().enumerate().try_for_each(|(index, row)| {
        clock.check(index, file.text(row, column)).map_err(|allowed| invalid(row, allowed))
    })
}

fn check_hours(file: &CsvFile, column: &FoundColumn<'_, LoadColumn>) -> Result<(), Error> {
    let hour = |row: &Row| file.text(row, column).parse::<usize>().ok();
    let first = file.rows.first().and_then(hour).filter(|first| *first <= 1);
    file.rows.iter().enumerate().try_for_each(|(index, row)| match first {
        None => {
            Err(file.invalid_cell(row, column, "the first hour must be 0 (up to 8759) or 1 (up to 8760)"))
        }
        Some(first) => {
            let expected = first + index % HOURS_PER_YEAR;
            let allowed =
                || file.invalid_cell(row, column, &format!("must be {expected}, the hour of the year"));
            if hour(row) == Some(expected) { Ok(()) } else { Err(allowed()) }
        }
    })
}

fn check_length(file: &CsvFile, stamped: bool, stated: Option<usize>) -> Result<(), Error> {
    let lines = file.rows.len();
    let years = lines / HOURS_PER_YEAR;
    let whole = lines.is_multiple_of(HOURS_PER_YEAR) && (1..=MOST_YEARS).contains(&years);
    let invalid = |allowed: String| Err(file.invalid_end(&format!("{lines} hours were read"), &allowed));
    if let Some(stated) = stated
        && lines != stated * HOURS_PER_YEAR
    {
        return invalid(format!("must be {} for years = {stated}", stated * HOURS_PER_YEAR));
    }
    if whole && (years == 1 || stamped || stated.is_some()) {
        return Ok(());
    }
    if let Some(shorter) = shorter_steps(lines) {
        let hourly = if whole {
            format!("{years} years of hours (then set years = {years})")
        } else {
            format!("hours of {} days", lines / 24)
        };
        return Err(file.invalid_end(
            &format!("{lines} lines without time or hour"),
            &format!("may be {hourly} or {shorter}; must be one hour a line, {HOURS_PER_YEAR} a year without leap days"),
        ));
    }
    let below = years.clamp(1, MOST_YEARS - 1);
    invalid(format!(
        "must be {HOURS_PER_YEAR} for each of 1 to {MOST_YEARS} years without leap days; nearest are {} and {}",
        below * HOURS_PER_YEAR,
        (below + 1) * HOURS_PER_YEAR
    ))
}

/// A guess at the time step of a file whose number of lines is not a whole number of years of hours.
fn shorter_steps(lines: usize) -> Option<String> {
    const LEAP_YEAR: usize = HOURS_PER_YEAR + 24;
    if lines == LEAP_YEAR {
        return Some("a leap year of hours (then omit 29 February)".to_owned());
    }
    [(HOURS_PER_YEAR, "a year"), (LEAP_YEAR, "a leap year")]
        .into_iter()
        .find_map(|(hours, year)| {
            let an_hour = lines / hours;
            (lines.is_multiple_of(hours) && an_hour > 1 && 60 % an_hour == 0)
                .then(|| format!("{year} of steps of {} min (then average them to hours)", 60 / an_hour))
        })
        .or_else(|| {
            (lines > 0 && lines.is_multiple_of(HOURS_PER_YEAR)).then(|| "a year of shorter steps".to_owned())
        })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::csv_file::testing::TemporaryFile;

    /// A year of lines; `line(hour)` is that of each hour.
    fn year(header: &str, line: impl Fn(usize) -> String) -> String {
        let lines: Vec<String> = (0..HOURS_PER_YEAR).map(line).collect();
        format!("{header}\n{}\n", lines.join("\n"))
    }

    fn read(content: impl AsRef<[u8]>) -> Result<Loads, Error> {
        Loads::read(&TemporaryFile::with(content).0, None)
    }

    fn refusal(content: &str) -> String {
        let message = read(content).unwrap_err().to_string();
        message.split_once(".csv, ").unwrap().1.to_owned()
    }

    #[test]
    fn missing_columns_are_zero_and_kilowatts_become_watts() {
        let loads = read(year("cooling_kW,heating_W", |hour| format!("{},{hour}", hour % 7))).unwrap();
        assert_eq!(loads.years(), 1);
        assert_eq!(
            (loads.series().heating[13], loads.series().cooling[13], loads.series().hot_water[13]),
            (13.0, 6000.0, 0.0)
        );
    }

    #[test]
    fn byte_order_mark_crlf_and_comments_change_nothing() {
        let plain = year("hour,heating_W", |hour| format!("{},{hour}", hour + 1));
        let dressed = format!("\u{feff}# invented\n{plain}").replace('\n', "\r\n");
        assert_eq!(read(&plain).unwrap(), read(dressed).unwrap());
        let broken = format!("# invented\n{}", plain.replace("\n20,19\n", "\n20,x\n"));
        assert!(
            refusal(&broken).starts_with("line 22, column \"heating_W\": \"x\": must be a number from 0")
        );
    }

    #[test]
    fn stamps_by_beginning_and_by_end_give_the_same_loads() {
        let stamped = |first: i64| {
            let start = chrono::NaiveDate::from_ymd_opt(2023, 1, 1).unwrap().and_hms_opt(0, 0, 0).unwrap();
            year("time,heating_W", |hour| {
                let time = start + chrono::TimeDelta::hours(first + hour as i64);
                format!("{},{hour}", time.format("%Y-%m-%dT%H:%M"))
            })
        };
        assert_eq!(read(stamped(0)).unwrap(), read(stamped(1)).unwrap());
        assert!(
            refusal(&stamped(2))
                .starts_with("line 2, column \"time\": \"2023-01-01T02:00\": the first must be")
        );
        let gap = stamped(0).replace("2023-03-26T02:00,2018\n", "");
        let message = refusal(&gap);
        assert!(message.starts_with("line 2020, column \"time\": \"2023-03-26T03:00\": a gap"), "{message}");
    }

    #[test]
    fn hours_must_be_consecutive() {
        let message = refusal(&year("hour,heating_W", |hour| format!("{},1", hour + usize::from(hour > 4))));
        assert!(message.starts_with("line 7, column \"hour\": \"6\": must be 5"), "{message}");
        assert!(refusal("hour,heating_W\n2,1\n").contains("the first hour must be 0"));
        assert!(refusal("hour,time,heating_W\n0,2023-01-01T01:00,1\n").contains("1 hours were read"));
    }

    #[test]
    fn a_wrong_number_of_hours_is_reported() {
        let leap_year = format!("heating_W\n{}", "1\n".repeat(8784));
        let message = refusal(&leap_year);
        for words in ["line 8785", "8784 lines without time or hour", "hours of 366 days", "omit 29 February"]
        {
            assert!(message.contains(words), "{message}");
        }
        let odd = format!("heating_W\n{}", "1\n".repeat(9000));
        assert_eq!(
            refusal(&odd),
            "line 9001, column \"\": \"9000 hours were read\": must be 8760 for each of 1 to 100 years without leap \
             days; nearest are 8760 and 17520"
        );
        assert!(refusal("heating_W\n").starts_with("line 1, column \"\": \"0 hours were read\""));
    }

    #[test]
    fn an_ambiguous_number_of_lines_is_rejected() {
        for (lines, readings) in [
            (17_520, ["2 years of hours (then set years = 2)", "a year of steps of 30 min"]),
            (35_040, ["4 years of hours (then set years = 4)", "a year of steps of 15 min"]),
            (35_136, ["hours of 1464 days", "a leap year of steps of 15 min"]),
            (61_320, ["7 years of hours", "a year of shorter steps"]),
        ] {
            let message = refusal(&format!("heating_W\n{}", "1\n".repeat(lines)));
            for reading in readings {
                assert!(message.contains(reading), "{message}");
            }
        }
        let two_years = format!("heating_W\n{}", "1\n".repeat(17_520));
        let stated = |years| Loads::read(&TemporaryFile::with(&two_years).0, Some(years));
        assert_eq!(stated(2).unwrap().years(), 2);
        assert!(stated(1).unwrap_err().to_string().contains("must be 8760 for years = 1"));
        let lines: Vec<String> = (0..17_520).map(|hour| format!("{},1", hour % 8760)).collect();
        assert_eq!(read(format!("hour,heating_W\n{}", lines.join("\n"))).unwrap().years(), 2);
    }

    #[test]
    fn inch_pound_loads_become_watts_and_no_other_unit_is_suggested() {
        let loads = read(year("heating_kBtu_per_h,cooling_Btu_per_h", |_| "10,1000".to_owned())).unwrap();
        assert!((loads.series().heating[0] - 2930.7107).abs() < 1e-4);
        assert!((loads.series().cooling[0] - 293.071_07).abs() < 1e-4);
        assert!(refusal("heating_kBtu/h\n1\n").contains("did you mean heating_kBtu_per_h?"));
        let message = refusal("heating_MBH\n1\n");
        assert!(
            !message.contains("did you mean") && message.contains("known columns are heating_W"),
            "{message}"
        );
    }

    #[test]
    fn the_header_must_name_a_load() {
        assert!(refusal("heating\n1\n").contains("did you mean heating_W?"));
        assert!(refusal("heat_kW\n1\n").contains("did you mean heating_kW?"));
        assert!(refusal("hour\n0\n").contains("must have a column heating_kW"));
    }
}
