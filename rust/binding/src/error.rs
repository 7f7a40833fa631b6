//! Engine errors as the exceptions that `loopdrift.errors` defines.

use loopdrift::Error;
use pyo3::exceptions::{PyKeyboardInterrupt, PyOSError};
use pyo3::{PyErr, import_exception};

import_exception!(loopdrift.errors, InvalidInput);
import_exception!(loopdrift.errors, InvalidFile);

/// The exception for an engine error.
pub fn to_python(error: Error) -> PyErr {
    match error {
        Error::InvalidInput { owner, field, value, unit, allowed } => {
            InvalidInput::new_err((owner, field, value, unit, allowed))
        }
        Error::InvalidFile { path, line, column, value, allowed } => {
            InvalidFile::new_err((path, line, column, value, allowed))
        }
        Error::Io { path, source } => match source.raw_os_error() {
            // Two arguments let Python choose FileNotFoundError, PermissionError, ...
            Some(code) => PyOSError::new_err((code, source.to_string(), path)),
            None => PyOSError::new_err(format!("{}: {source}", path.display())),
        },
        Error::Stopped => PyKeyboardInterrupt::new_err(()),
    }
}
