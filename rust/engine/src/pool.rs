//! The threads that share the work.
//!
//! A process that was forked has none of its parent's threads: work given to their pool would wait for ever. So each
//! process has a pool of its own.

use std::io;
use std::process;
use std::ptr::null_mut;
use std::sync::atomic::{AtomicPtr, Ordering};

use rayon::{ThreadPool, ThreadPoolBuilder};

struct Owned {
    process: u32,
    pool: ThreadPool,
}

/// The pool that was made last, by this process or by one that it was forked from; null before there is one.
///
/// A lock would not do: a fork may happen while another thread holds it, and nothing would open it again in the child.
static LAST: AtomicPtr<Owned> = AtomicPtr::new(null_mut());

/// The pool of this process, made when it is first asked for.
///
/// # Errors
/// Where the system gives no more threads.
pub fn pool() -> io::Result<&'static ThreadPool> {
    let process = process::id();
    let last = LAST.load(Ordering::Acquire);
    // SAFETY: null, or what was a box and is never freed once it is stored in `LAST`.
    if let Some(known) = unsafe { last.as_ref() }.filter(|known| known.process == process) {
        return Ok(&known.pool);
    }
    let pool = ThreadPoolBuilder::new().build().map_err(io::Error::other)?;
    let made = Box::into_raw(Box::new(Owned { process, pool }));
    if LAST.compare_exchange(last, made, Ordering::AcqRel, Ordering::Acquire).is_ok() {
        // SAFETY: it is in `LAST` now.
        return Ok(&unsafe { &*made }.pool);
    }
    // SAFETY: nothing else has seen it, as another thread of this process was quicker.
    drop(unsafe { Box::from_raw(made) });
    self::pool()
}
