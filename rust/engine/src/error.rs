//! All errors of the engine, with fields rather than text.

use std::fmt::Display;
use std::path::PathBuf;

/// The error type of the engine.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// An invalid value in a design.
    #[error("{owner}.{field} = {value}{}: {allowed}", spaced(.unit))]
    InvalidInput {
        /// The type that holds the field, as Python and the design file name it.
        owner: String,
        /// The field's name.
        field: String,
        /// The value as it was supplied.
        value: String,
        /// The unit of value and range; empty for dimensionless values.
        unit: String,
        /// The accepted values.
        allowed: String,
    },
    /// An invalid cell of a file.
    #[error("{}, line {line}, column {column:?}: {value:?}: {allowed}", .path.display())]
    InvalidFile {
        /// The file as named by the caller.
        path: PathBuf,
        /// Line number in the file, the header being line 1.
        line: u64,
        /// Name of the column; empty if the error concerns the whole line.
        column: String,
        /// The cell as it stands in the file.
        value: String,
        /// The accepted values.
        allowed: String,
    },
    /// A file that can't be opened or read.
    #[error("{}: {source}", .path.display())]
    Io {
        /// The file as named by the caller.
        path: PathBuf,
        /// The operating system's error.
        source: std::io::Error,
    },
    /// Circulating fluid colder than its freezing point.
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
        /// Leaving fluid temperature in that hour (degC).
        temperature: f64,
        /// Freezing point of the fluid (degC).
        freezing_point: f64,
    },
    /// An hour without a solution for the fluid temperature.
    #[error(
        "hour {hour} of the run: no temperature of the fluid makes the heat pump's heat that of the loop; check the heat pump's curves \
         beyond its table, the flow and the size of the loop"
    )]
    NotConverged {
        /// Hour of the run, counted from 0.
        hour: usize,
    },
    /// Cancelled by the caller.
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

/// A number as shown in messages: to twelve digits, which hides the rounding of unit conversions.
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
    fn numbers_are_shown_without_the_rounding_of_conversions() {
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
