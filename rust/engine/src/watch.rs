//! Looking on while long work runs, and stopping it.

use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

use crate::error::Error;

/// Shared between the thread that works and the one that waits: hours done, and whether to stop.
#[derive(Debug, Default)]
pub struct Watch {
    done: AtomicUsize,
    stop: AtomicBool,
}

impl Watch {
    /// Asks the work to end at its next look.
    pub fn stop(&self) {
        self.stop.store(true, Ordering::Relaxed);
    }

    /// Units of work done so far; for a run these are hours.
    #[must_use]
    pub fn done(&self) -> usize {
        self.done.load(Ordering::Relaxed)
    }

    /// Says that `more` units are done, from any of several threads.
    ///
    /// # Errors
    /// [`Error::Stopped`] if a stop was asked for.
    pub fn add(&self, more: usize) -> Result<(), Error> {
        self.done.fetch_add(more, Ordering::Relaxed);
        if self.stop.load(Ordering::Relaxed) { Err(Error::Stopped) } else { Ok(()) }
    }

    /// Says how much is done.
    ///
    /// # Errors
    /// [`Error::Stopped`] if a stop was asked for.
    pub fn report(&self, done: usize) -> Result<(), Error> {
        self.done.store(done, Ordering::Relaxed);
        if self.stop.load(Ordering::Relaxed) { Err(Error::Stopped) } else { Ok(()) }
    }
}
