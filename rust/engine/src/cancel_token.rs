//! Progress and cancellation of long work.

use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

use crate::error::Error;

/// Shared between the working threads and the waiting one: units of work done, and whether to stop.
///
/// Clones share the same state.
#[derive(Debug, Clone, Default)]
pub struct CancelToken {
    done: Arc<AtomicUsize>,
    stop: Arc<AtomicBool>,
    /// Units of work before those that are reported.
    before: usize,
}

impl CancelToken {
    /// Requests the work to end at its next check.
    pub fn stop(&self) {
        self.stop.store(true, Ordering::Relaxed);
    }

    /// Units of work done so far; for a run these are hours.
    #[must_use]
    pub fn done(&self) -> usize {
        self.done.load(Ordering::Relaxed)
    }

    /// Adds `more` finished units; may be called from several threads.
    ///
    /// # Errors
    /// [`Error::Stopped`] if cancellation was requested.
    pub fn add(&self, more: usize) -> Result<(), Error> {
        self.done.fetch_add(more, Ordering::Relaxed);
        if self.is_stopped() { Err(Error::Stopped) } else { Ok(()) }
    }

    /// Sets the number of finished units.
    ///
    /// # Errors
    /// [`Error::Stopped`] if cancellation was requested.
    pub fn report(&self, done: usize) -> Result<(), Error> {
        self.done.store(self.before + done, Ordering::Relaxed);
        if self.is_stopped() { Err(Error::Stopped) } else { Ok(()) }
    }

    /// A token for part of the work: it is cancelled with the whole but counts its own units.
    #[must_use]
    pub fn of_part(&self) -> Self {
        Self { done: Arc::default(), stop: Arc::clone(&self.stop), before: 0 }
    }

    /// The token for work that follows after a number of units, which are added to what it reports.
    #[must_use]
    pub fn after(&self, before: usize) -> Self {
        Self { before: self.before + before, ..self.clone() }
    }

    /// Whether cancellation was requested.
    fn is_stopped(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }

    /// Unwinds to the enclosing [`cancellable`] if cancellation was requested, from any depth and any thread.
    #[inline(always)]
    pub(crate) fn check(&self) {
        if self.is_stopped() {
            leave();
        }
    }
}

/// Payload that unwinds cancelled work.
struct Stopped;

#[cold]
fn leave() -> ! {
    resume_unwind(Box::new(Stopped))
}

/// Runs work whose loops [`check`](CancelToken::check) a token.
///
/// Loops over millions of bores run in closures on many threads, most of which can't fail. Unwinding ends them all
/// without a result that each would have to pass on.
///
/// # Errors
/// [`Error::Stopped`] if cancellation was requested; otherwise those of the work.
pub(crate) fn cancellable<T>(work: impl FnOnce() -> Result<T, Error>) -> Result<T, Error> {
    catch_unwind(AssertUnwindSafe(work)).unwrap_or_else(|payload| {
        if payload.is::<Stopped>() { Err(Error::Stopped) } else { resume_unwind(payload) }
    })
}

#[cfg(test)]
mod tests {
    use rayon::prelude::*;

    use super::*;

    #[test]
    fn cancellation_ends_the_loops_of_all_threads() {
        let token = CancelToken::default();
        let counted = AtomicUsize::new(0);
        let found = cancellable(|| {
            (0..1_000_000).into_par_iter().for_each(|_| {
                token.check();
                if counted.fetch_add(1, Ordering::Relaxed) == 1000 {
                    token.stop();
                }
            });
            Ok(())
        });
        assert!(matches!(found, Err(Error::Stopped)));
        assert!(counted.into_inner() < 10_000);
    }

    #[test]
    fn a_part_is_cancelled_with_the_whole_and_counts_separately() {
        let whole = CancelToken::default();
        let part = whole.of_part();
        part.add(7).unwrap();
        assert_eq!((whole.done(), part.done()), (0, 7));
        whole.clone().stop();
        assert!(matches!(part.add(1), Err(Error::Stopped)));
    }
}
