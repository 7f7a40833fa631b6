//! Loads from a CSV file.

use std::path::Path;

use super::clock::Clock;
use super::{HOURS_PER_YEAR, LARGEST_LOAD, Loads, MOST_YEARS, Series};
use crate::csv_file::{CsvFile, FoundColumn, KnownColumn, Row};
use crate::error::Error;

#[derive(PartialEq, Clone, Copy)]
enum Meaning {
    Heating,
    Cooling,
    HotWater,
    Recharge,
    Time,
    HourOfYear,
}
use Meaning::{Cooling, Heating, HotWater, HourOfYear, Recharge, Time};

const KNOWN: [KnownColumn<Meaning>; 10] = [
    KnownColumn::new("heating_W", Heating, 1.0),
    KnownColumn::new("heating_kW", Heating, 1000.0),
    KnownColumn::new("cooling_W", Cooling, 1.0),
    KnownColumn::new("cooling_kW", Cooling, 1000.0),
    KnownColumn::new("hot_water_W", HotWater, 1.0),
    KnownColumn::new("hot_water_kW", HotWater, 1000.0),
    KnownColumn::new("recharge_W", Recharge, 1.0),
    KnownColumn::new("recharge_kW", Recharge, 1000.0),
    KnownColumn::new("time", Time, 1.0),
    KnownColumn::new("hour", HourOfYear, 1.0),
];

impl Loads {
    /// Reads hourly means from a CSV file.
    ///
    /// Columns are `heating_W`, `cooling_W`, `hot_water_W` and `recharge_W`, or the same in `_kW`; one that is missing is 0,
    /// but one of the first three must be there. Lines before the header may be comments that start with `#`. Each further line is
    /// one hour of a year without leap days, from 1 January.
    ///
    /// A column `time` (ISO 8601, local standard time) or `hour` (0 to 8759 or 1 to 8760 in each year) is checked where
    /// it is given. Stamps may name the beginning of their hour (the first is 00:00, hour 0) or its end (01:00, hour 1).
    ///
    /// # Errors
    /// [`Error::InvalidFile`] names line, column and cell of what is no load, of leap days, gaps and repeats, and of a
    /// number of lines that is no whole number of years; [`Error::Io`] where the file can't be read.
    pub fn read(path: &Path) -> Result<Self, Error> {
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
        check_length(&file)?;
        let [heating, cooling, hot_water, recharge] = series;
        Self::new(Series { heating, cooling, hot_water, recharge, ..Series::default() })
    }
}

fn check_times(file: &CsvFile, column: &FoundColumn<'_, Meaning>) -> Result<(), Error> {
    let Some(first) = file.rows.first() else { return Ok(()) };
    let invalid = |row: &Row, allowed: String| file.invalid_cell(row, column, &allowed);
    let clock = Clock::starting_at(file.text(first, column)).map_err(|allowed| invalid(first, allowed))?;
    file.rows.iter().enumerate().try_for_each(|(index, row)| {
        clock.check(index, file.text(row, column)).map_err(|allowed| invalid(row, allowed))
    })
}

fn check_hours(file: &CsvFile, column: &FoundColumn<'_, Meaning>) -> Result<(), Error> {
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

fn check_length(file: &CsvFile) -> Result<(), Error> {
    let hours = file.rows.len();
    let years = hours / HOURS_PER_YEAR;
    if hours.is_multiple_of(HOURS_PER_YEAR) && (1..=MOST_YEARS).contains(&years) {
        return Ok(());
    }
    let below = years.clamp(1, MOST_YEARS - 1);
    let allowed = format!(
        "must be {HOURS_PER_YEAR} for each of 1 to {MOST_YEARS} years without leap days; nearest are {} and {}",
        below * HOURS_PER_YEAR,
        (below + 1) * HOURS_PER_YEAR
    );
    Err(file.invalid_end(&format!("{hours} hours were read"), &allowed))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::csv_file::testing::TemporaryFile;

    /// A year of lines, `line(hour)` being each hour's.
    fn year(header: &str, line: impl Fn(usize) -> String) -> String {
        let lines: Vec<String> = (0..HOURS_PER_YEAR).map(line).collect();
        format!("{header}\n{}\n", lines.join("\n"))
    }

    fn read(content: impl AsRef<[u8]>) -> Result<Loads, Error> {
        Loads::read(&TemporaryFile::with(content).0)
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
    fn hours_must_run() {
        let message = refusal(&year("hour,heating_W", |hour| format!("{},1", hour + usize::from(hour > 4))));
        assert!(message.starts_with("line 7, column \"hour\": \"6\": must be 5"), "{message}");
        assert!(refusal("hour,heating_W\n2,1\n").contains("the first hour must be 0"));
        assert!(refusal("hour,time,heating_W\n0,2023-01-01T01:00,1\n").contains("1 hours were read"));
    }

    #[test]
    fn a_wrong_number_of_hours_is_told() {
        let leap_year = format!("heating_W\n{}", "1\n".repeat(8784));
        assert_eq!(
            refusal(&leap_year),
            "line 8785, column \"\": \"8784 hours were read\": must be 8760 for each of 1 to 100 years without leap \
             days; nearest are 8760 and 17520"
        );
        assert!(refusal("heating_W\n").starts_with("line 1, column \"\": \"0 hours were read\""));
    }

    #[test]
    fn the_header_must_name_a_load() {
        assert!(refusal("heating\n1\n").contains("did you mean heating_W?"));
        assert!(refusal("heat_kW\n1\n").contains("did you mean heating_kW?"));
        assert!(refusal("hour\n0\n").contains("must have a column heating_kW"));
    }
}
