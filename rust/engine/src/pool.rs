//! The thread pool.
//!
//! A forked process has none of its parent's threads: work sent to their pool would wait forever. Each process
//! therefore has its own pool.

use std::io;
use std::process;
use std::ptr::null_mut;
use std::sync::atomic::{AtomicPtr, Ordering};

use rayon::{ThreadPool, ThreadPoolBuilder};

struct Owned {
    process: u32,
    pool: ThreadPool,
}

/// The last pool created, by this process or one that it was forked from; null before the first.
///
/// A lock would not do: a fork may happen while another thread holds it, and nothing would release it in the child.
static LAST: AtomicPtr<Owned> = AtomicPtr::new(null_mut());

/// The pool of this process, created on first use.
///
/// # Errors
/// If the system can't create more threads.
pub fn pool() -> io::Result<&'static ThreadPool> {
    let process = process::id();
    let last = LAST.load(Ordering::Acquire);
    // SAFETY: null, or a leaked box that is never freed once it is stored in `LAST`.
    if let Some(known) = unsafe { last.as_ref() }.filter(|known| known.process == process) {
        return Ok(&known.pool);
    }
    let pool = ThreadPoolBuilder::new().build().map_err(io::Error::other)?;
    let made = Box::into_raw(Box::new(Owned { process, pool }));
    if LAST.compare_exchange(last, made, Ordering::AcqRel, Ordering::Acquire).is_ok() {
        // SAFETY: it is now in `LAST`.
        return Ok(&unsafe { &*made }.pool);
    }
    // SAFETY: it was never shared, because another thread of this process stored its pool first.
    drop(unsafe { Box::from_raw(made) });
    self::pool()
}
