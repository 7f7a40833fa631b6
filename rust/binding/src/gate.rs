//! The only way to run long work: without the interpreter lock, interruptible with Ctrl-C, and with progress reports.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::process;
use std::sync::mpsc::{RecvTimeoutError, channel};
use std::time::Duration;

use loopdrift::Error;
use loopdrift::cancel_token::CancelToken;
use loopdrift::pool::pool;
use pyo3::exceptions::PyRuntimeError;
use pyo3::prelude::*;

use crate::error::to_python;

/// Interval between checks for signals and reports of progress.
const POLL_INTERVAL: Duration = Duration::from_millis(50);

/// Runs `work` in the thread pool of this process and calls `progress(units done)` at intervals.
///
/// An exception from a signal handler or from `progress` cancels the work and is raised at once. The work owns all its
/// data, ends at its next check of the token and then frees its cores.
pub fn cancellable<T: Send + 'static>(
    py: Python<'_>,
    progress: Option<&Bound<'_, PyAny>>,
    work: impl FnOnce(&CancelToken) -> Result<T, Error> + Send + 'static,
) -> PyResult<T> {
    let own_process = process::id();
    let token = CancelToken::default();
    let (done, mut waiting) = channel();
    let at_work = token.clone();
    pool()?.spawn(move || {
        // The receiver is gone if the work was cancelled.
        let _ = done.send(catch_unwind(AssertUnwindSafe(|| work(&at_work))));
    });
    loop {
        let (received, receiver) = py.detach(move || (waiting.recv_timeout(POLL_INTERVAL), waiting));
        waiting = receiver;
        match received {
            Ok(Ok(result)) => return result.map_err(to_python),
            // The panic's message is already on standard error.
            Ok(Err(_)) | Err(RecvTimeoutError::Disconnected) => {
                return Err(PyRuntimeError::new_err("internal error in loopdrift: please report it"));
            }
            Err(RecvTimeoutError::Timeout) => {}
        }
        let reported = progress.map_or(Ok(()), |report| report.call1((token.done(),)).map(drop));
        if let Err(error) = reported.and_then(|()| py.check_signals()) {
            token.stop();
            return Err(error);
        }
        if process::id() != own_process {
            return Err(PyRuntimeError::new_err("this process was forked from within a call of loopdrift"));
        }
    }
}
