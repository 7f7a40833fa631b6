//! Following long work, and stopping it.

use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

use crate::error::Error;

/// Shared between the threads that work and the one that waits: units of work done, and whether to stop.
///
/// Clones show the same work.
#[derive(Debug, Clone, Default)]
pub struct CancelToken {
    done: Arc<AtomicUsize>,
    stop: Arc<AtomicBool>,
}

impl CancelToken {
    /// Asks the work to end at its next check.
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
        if self.is_stopped() { Err(Error::Stopped) } else { Ok(()) }
    }

    /// Says how much is done.
    ///
    /// # Errors
    /// [`Error::Stopped`] if a stop was asked for.
    pub fn report(&self, done: usize) -> Result<(), Error> {
        self.done.store(done, Ordering::Relaxed);
        if self.is_stopped() { Err(Error::Stopped) } else { Ok(()) }
    }

    /// A token for a part of the work: it stops with the whole, and counts its units for itself.
    #[must_use]
    pub fn of_part(&self) -> Self {
        Self { done: Arc::default(), stop: Arc::clone(&self.stop) }
    }

    /// Whether a stop was asked for.
    fn is_stopped(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }

    /// Leaves the work if a stop was asked for, from any depth and any thread, up to the [`cancellable`] around it.
    #[inline(always)]
    pub(crate) fn check(&self) {
        if self.is_stopped() {
            leave();
        }
    }
}

/// What unwinds the work that a stop was asked for.
struct Stopped;

#[cold]
fn leave() -> ! {
    resume_unwind(Box::new(Stopped))
}

/// Does work whose loops [`check`](CancelToken::check) a token.
///
/// Loops over millions of bores run in closures on many threads, most of which can't fail. Unwinding ends them all without a
/// result that each would have to hand on.
///
/// # Errors
/// [`Error::Stopped`] if a stop was asked for; else those of the work.
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
    fn a_stop_ends_the_loops_of_all_threads() {
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
    fn a_part_stops_with_the_whole_and_counts_for_itself() {
        let whole = CancelToken::default();
        let part = whole.of_part();
        part.add(7).unwrap();
        assert_eq!((whole.done(), part.done()), (0, 7));
        whole.clone().stop();
        assert!(matches!(part.add(1), Err(Error::Stopped)));
    }
}
