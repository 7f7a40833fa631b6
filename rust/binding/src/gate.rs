//! The one way by which long work goes: without the interpreter, watched for Ctrl-C, its progress told.

use std::sync::mpsc::{RecvTimeoutError, channel};
use std::thread;
use std::time::Duration;

use loopdrift::Error;
use loopdrift::watch::Watch;
use pyo3::exceptions::PyRuntimeError;
use pyo3::prelude::*;

use crate::error::to_python;
use crate::pool::pool;

/// How often signals are looked for and progress is told.
const BETWEEN_LOOKS: Duration = Duration::from_millis(50);

/// Does `work` among the threads of this process's pool and calls `progress(units done)` now and then.
///
/// An exception from a signal handler or from `progress` stops the work and is raised.
pub fn watched<T: Send>(
    py: Python<'_>,
    progress: Option<&Bound<'_, PyAny>>,
    work: impl FnOnce(&Watch) -> Result<T, Error> + Send,
) -> PyResult<T> {
    let watch = &Watch::default();
    let pool = pool()?;
    thread::scope(|scope| {
        let (done, waiting) = channel::<()>();
        let worker = thread::Builder::new().spawn_scoped(scope, move || {
            // Dropped when the work ends, however it ends: that is what wakes the waiting thread.
            let _done = done;
            pool.install(|| work(watch))
        })?;
        let mut waiting = waiting;
        let mut interruption = None;
        loop {
            let (answer, receiver) = py.detach(move || (waiting.recv_timeout(BETWEEN_LOOKS), waiting));
            waiting = receiver;
            if answer == Err(RecvTimeoutError::Disconnected) {
                break;
            }
            let told = progress.map_or(Ok(()), |tell| tell.call1((watch.done(),)).map(drop));
            if let Err(error) = told.and_then(|()| py.check_signals()) {
                watch.stop();
                interruption.get_or_insert(error);
            }
        }
        let result = worker.join();
        match (interruption, result) {
            (Some(interruption), _) => Err(interruption),
            (None, Ok(result)) => result.map_err(to_python),
            // The worker's message is on standard error already.
            (None, Err(_)) => Err(PyRuntimeError::new_err("internal fault of loopdrift: please report it")),
        }
    })
}
