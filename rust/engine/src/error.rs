//! Everything that can go wrong in the engine, as fields rather than text.

use std::fmt::Display;
use std::path::PathBuf;

/// What the engine answers instead of a result.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// A value that no design may hold.
    #[error("{owner}.{field} = {value}{}: {allowed}", spaced(.unit))]
    InvalidInput {
        /// The type that holds the field, as Python and the design file name it.
        owner: String,
        /// The field's name.
        field: String,
        /// The value as it came in.
        value: String,
        /// The unit of value and range; empty for what has none.
        unit: String,
        /// What would be accepted.
        allowed: String,
    },
    /// A cell of a file that can't be read.
    #[error("{}, line {line}, column {column:?}: {value:?}: {allowed}", .path.display())]
    InvalidFile {
        /// The file as the caller named it.
        path: PathBuf,
        /// Line number in the file, the header being line 1.
        line: u64,
        /// Name of the column; empty where the whole line is at fault.
        column: String,
        /// The cell as it stands in the file.
        value: String,
        /// What would be accepted.
        allowed: String,
    },
    /// A file that can't be opened or read.
    #[error("{}: {source}", .path.display())]
    Io {
        /// The file as the caller named it.
        path: PathBuf,
        /// What the operating system said.
        source: std::io::Error,
    },
    /// Circulating fluid that is colder than its freezing point.
    #[error(
        "Fluid.freezing_point = {} degC: must be below the fluid that leaves the heat pump, {temperature:.2} degC in year {year}, \
         hour {hour}: more antifreeze, more length of bore or more flow",
        shown(*.freezing_point)
    )]
    FluidFreezes {
        /// First year in which it happens, from 1.
        year: usize,
        /// First hour of that year in which it happens, from 0.
        hour: usize,
        /// Leaving fluid temperature in that hour [degC].
        temperature: f64,
        /// Freezing point of the fluid [degC].
        freezing_point: f64,
    },
    /// An hour that no temperature of the fluid solves.
    #[error(
        "hour {hour} of the run: no temperature of the fluid makes the heat pump's heat that of the loop; check the heat pump's curves \
         beyond its table, the flow and the size of the loop"
    )]
    NotConverged {
        /// Hour of the run, counted from 0.
        hour: usize,
    },
    /// The caller asked to stop.
    #[error("stopped on request")]
    Stopped,
}

impl Error {
    /// An [`Error::InvalidInput`] for `owner.field`.
    pub fn invalid(
        owner: &str,
        field: &str,
        value: impl Display,
        unit: &str,
        allowed: impl Into<String>,
    ) -> Self {
        Self::InvalidInput {
            owner: owner.to_owned(),
            field: field.to_owned(),
            value: value.to_string(),
            unit: unit.to_owned(),
            allowed: allowed.into(),
        }
    }
}

/// A number as a message shows it: to twelve digits, which drops what converting a unit has left behind it.
#[must_use]
pub fn shown(value: f64) -> String {
    format!("{value:.11e}").parse().map_or_else(|_| value.to_string(), |rounded: f64| rounded.to_string())
}

fn spaced(unit: &str) -> String {
    if unit.is_empty() { String::new() } else { format!(" {unit}") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_shown_without_what_conversion_leaves() {
        let cases = [
            (-25.907999999999998, "-25.908"),
            (1_000_000_000.0, "1000000000"),
            (1.0000001, "1.0000001"),
            (1e-5, "0.00001"),
            (f64::NAN, "NaN"),
            (f64::NEG_INFINITY, "-inf"),
        ];
        for (value, text) in cases {
            assert_eq!(shown(value), text);
        }
    }
}
