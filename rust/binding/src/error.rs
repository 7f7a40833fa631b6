//! Engine errors as the exceptions that `loopdrift.basics.errors` defines.

use loopdrift::Error;
use pyo3::exceptions::{PyBaseException, PyKeyboardInterrupt, PyOSError};
use pyo3::{Py, PyErr, Python, import_exception};

import_exception!(loopdrift.basics.errors, FluidFreezes);
import_exception!(loopdrift.basics.errors, InvalidInput);
import_exception!(loopdrift.basics.errors, InvalidFile);
import_exception!(loopdrift.basics.errors, NotConverged);

/// The exception for an engine error, without raising it.
pub fn exception(py: Python<'_>, error: Error) -> Py<PyBaseException> {
    to_python(error).into_value(py)
}

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
            // With number and text Python chooses FileNotFoundError, PermissionError, ...; it adds the number itself.
            Some(code) => {
                let text = source.to_string().replace(&format!(" (os error {code})"), "");
                PyOSError::new_err((code, text, path.display().to_string()))
            }
            None => PyOSError::new_err(format!("{}: {source}", path.display())),
        },
        Error::FluidFreezes { year, hour, temperature, freezing_point } => {
            FluidFreezes::new_err((year, hour, temperature, freezing_point))
        }
        Error::NotConverged { hour } => NotConverged::new_err((hour,)),
        Error::Stopped => PyKeyboardInterrupt::new_err(()),
    }
}
