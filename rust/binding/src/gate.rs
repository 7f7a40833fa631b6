//! The one way by which long work goes: without the interpreter, watched for Ctrl-C, its progress told.

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

/// How often signals are looked for and progress is told.
const BETWEEN_LOOKS: Duration = Duration::from_millis(50);

/// Does `work` among the threads of this process's pool and calls `progress(units done)` now and then.
///
/// An exception from a signal handler or from `progress` stops the work and is raised at once. The work, which owns all that it
/// needs, ends at its next check of the token and leaves its cores to others.
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
        // Nobody listens any more where the work was stopped.
        let _ = done.send(catch_unwind(AssertUnwindSafe(|| work(&at_work))));
    });
    loop {
        let (answer, receiver) = py.detach(move || (waiting.recv_timeout(BETWEEN_LOOKS), waiting));
        waiting = receiver;
        match answer {
            Ok(Ok(result)) => return result.map_err(to_python),
            // The message of a panic is on standard error already.
            Ok(Err(_)) | Err(RecvTimeoutError::Disconnected) => {
                return Err(PyRuntimeError::new_err("internal fault of loopdrift: please report it"));
            }
            Err(RecvTimeoutError::Timeout) => {}
        }
        let told = progress.map_or(Ok(()), |tell| tell.call1((token.done(),)).map(drop));
        if let Err(error) = told.and_then(|()| py.check_signals()) {
            token.stop();
            return Err(error);
        }
        if process::id() != own_process {
            return Err(PyRuntimeError::new_err("this process was forked from within a call of loopdrift"));
        }
    }
}
