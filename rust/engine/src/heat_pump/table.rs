//! A performance table from a CSV file.

use std::path::Path;

use crate::csv_file::{CsvFile, KnownColumn, Row};
use crate::error::Error;

#[derive(PartialEq, Clone, Copy)]
enum RatingColumn {
    Mode,
    EnteringFluid,
    Capacity,
    Power,
    Flow,
    EnteringLoad,
    Stage,
}

const fn fahrenheit(name: &'static str, meaning: RatingColumn) -> KnownColumn<RatingColumn> {
    KnownColumn { name, meaning, scale: 5.0 / 9.0, offset: -160.0 / 9.0 }
}

const KNOWN: [KnownColumn<RatingColumn>; 11] = [
    KnownColumn::new("mode", RatingColumn::Mode, 1.0),
    KnownColumn::new("entering_fluid_degC", RatingColumn::EnteringFluid, 1.0),
    fahrenheit("entering_fluid_degF", RatingColumn::EnteringFluid),
    KnownColumn::new("capacity_W", RatingColumn::Capacity, 1.0),
    KnownColumn::new("capacity_kW", RatingColumn::Capacity, 1000.0),
    KnownColumn::new("power_W", RatingColumn::Power, 1.0),
    KnownColumn::new("power_kW", RatingColumn::Power, 1000.0),
    KnownColumn::new("flow_kg_per_s", RatingColumn::Flow, 1.0),
    KnownColumn::new("entering_load_degC", RatingColumn::EnteringLoad, 1.0),
    fahrenheit("entering_load_degF", RatingColumn::EnteringLoad),
    KnownColumn::new("stage", RatingColumn::Stage, 1.0),
];

/// Heating or cooling.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum ModeName {
    Heating,
    Cooling,
}

impl ModeName {
    /// Range of COPs of a unit in steady operation. Common practice, no source: a heating COP includes the electricity.
    fn cop_range(self) -> [f64; 2] {
        match self {
            Self::Heating => [1.0, 20.0],
            Self::Cooling => [0.5, 40.0],
        }
    }
}

/// One rating point.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Point {
    /// Line number in the file.
    pub line: u64,
    pub mode: ModeName,
    /// Entering fluid temperature (degC).
    pub entering_fluid: f64,
    /// Heat delivered to the building, or removed from it (W).
    pub capacity: f64,
    /// Electricity (W).
    pub power: f64,
    /// Mass flow on the loop side (kg/s).
    pub flow: Option<f64>,
    /// Entering load temperature, of air or water (degC).
    pub entering_load: Option<f64>,
    /// Whether it is of the lowest stage or speed.
    pub is_low: bool,
}

/// Steady full-load performance at rating points.
#[derive(Debug, Clone, PartialEq)]
pub struct PerformanceTable {
    pub(super) points: Vec<Point>,
}

impl PerformanceTable {
    /// Reads a CSV file with one rating point per line.
    ///
    /// Columns are `mode` (heating or cooling), `entering_fluid_degC` or `_degF`, `capacity_W` or `_kW` (heat delivered
    /// to the building, or removed from it), `power_W` or `_kW` (all electricity included in the COP), and if the table
    /// depends on them `flow_kg_per_s` (loop side) and `entering_load_degC` or `_degF` (from the building), and `stage`
    /// (full or low) if the unit has a lowest stage or speed. Lines before the header may be comments that start with
    /// `#`.
    ///
    /// # Errors
    /// [`Error::InvalidFile`] names line, column and cell of missing or unphysical values; a COP outside 1 to 20 in
    /// heating or 0.5 to 40 in cooling is treated as a wrong unit. [`Error::Io`] if the file can't be read.
    pub fn read(path: &Path) -> Result<Self, Error> {
        let file = CsvFile::read(path)?;
        let columns = file.columns(&KNOWN)?;
        let named = |meaning| columns.iter().find(|column| column.known.meaning == meaning);
        let required = |meaning, name| {
            named(meaning).ok_or_else(|| file.invalid_header("columns", &format!("must have {name}")))
        };
        let mode = required(RatingColumn::Mode, "mode")?;
        let entering_fluid = required(RatingColumn::EnteringFluid, "entering_fluid_degC")?;
        let capacity = required(RatingColumn::Capacity, "capacity_kW")?;
        let power = required(RatingColumn::Power, "power_kW")?;
        let optional = |row: &Row, meaning, least, most| {
            named(meaning).map(|column| file.number(row, column, least, most)).transpose()
        };
        let point = |row: &Row| {
            let point = Point {
                line: row.line,
                mode: match file.text(row, mode) {
                    "heating" => ModeName::Heating,
                    "cooling" => ModeName::Cooling,
                    _ => return Err(file.invalid_cell(row, mode, "must be heating or cooling")),
                },
                entering_fluid: file.number(row, entering_fluid, -50.0, 100.0)?,
                capacity: file.number(row, capacity, 1.0, 1e8)?,
                power: file.number(row, power, 1.0, 1e8)?,
                flow: optional(row, RatingColumn::Flow, 1e-4, 1e4)?,
                entering_load: optional(row, RatingColumn::EnteringLoad, -30.0, 90.0)?,
                is_low: match named(RatingColumn::Stage).map(|column| (column, file.text(row, column))) {
                    None | Some((_, "full")) => false,
                    Some((_, "low")) => true,
                    Some((column, _)) => return Err(file.invalid_cell(row, column, "must be full or low")),
                },
            };
            let [least, most] = point.mode.cop_range();
            let cop = point.capacity / point.power;
            if !(least < cop && cop <= most) {
                let allowed = format!("a COP of {cop:.2}: must be above {least} and up to {most}");
                return Err(file.invalid_cell(row, power, &allowed));
            }
            Ok(point)
        };
        let points = file.rows.iter().map(point).collect::<Result<Vec<_>, _>>()?;
        if points.is_empty() {
            return Err(file.invalid_end("no rating point", "must have lines for heating, cooling or both"));
        }
        Ok(Self { points })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::csv_file::testing::TemporaryFile;

    const HEADER: &str = "mode,entering_fluid_degC,capacity_kW,power_kW";

    fn refusal(content: &str) -> String {
        let message = PerformanceTable::read(&TemporaryFile::with(content).0).unwrap_err().to_string();
        message.split_once(".csv, ").unwrap().1.to_owned()
    }

    #[test]
    fn points_are_read_in_si() {
        let content = "# invented\nmode,power_W,capacity_kW,entering_fluid_degF,flow_kg_per_s,entering_load_degF\n\
                       cooling,2000,10,50,0.5,80.6\n";
        let table = PerformanceTable::read(&TemporaryFile::with(content).0).unwrap();
        let point = &table.points[0];
        assert_eq!((point.line, point.mode, point.flow), (3, ModeName::Cooling, Some(0.5)));
        assert_eq!((point.capacity, point.power), (10_000.0, 2000.0));
        assert!((point.entering_fluid - 10.0).abs() < 1e-12);
        assert!((point.entering_load.unwrap() - 27.0).abs() < 1e-12);
    }

    #[test]
    fn bad_lines_are_named() {
        let message = refusal(&format!("{HEADER}\nheating,0,12,3\nHeat,5,12,3\n"));
        assert_eq!(message, "line 3, column \"mode\": \"Heat\": must be heating or cooling");
        let message = refusal(&format!("{HEADER}\nheating,0,12,0\n"));
        assert!(
            message.starts_with("line 2, column \"power_kW\": \"0\": must be a number from 0.001"),
            "{message}"
        );
        let message = refusal(&format!("{HEADER}\nheating,0,12,13\n"));
        assert!(message.ends_with("\"13\": a COP of 0.92: must be above 1 and up to 20"), "{message}");
        let message = refusal(&format!("{HEADER}\ncooling,0,12,0.1\n"));
        assert!(message.contains("a COP of 120.00"), "{message}");
        assert!(refusal(HEADER).contains("no rating point"));
    }

    #[test]
    fn columns_must_be_complete_and_known() {
        assert!(refusal("mode,entering_fluid_degC,capacity_kW\n").contains("must have power_kW"));
        assert!(
            refusal("mode,enterng_fluid_degC,capacity_kW,power_kW\n")
                .contains("did you mean entering_fluid_degC?")
        );
    }
}
