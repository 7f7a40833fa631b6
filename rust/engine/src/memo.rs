//! What is made once for each length and kept for later calls.

use std::collections::BTreeMap;
use std::sync::{Mutex, MutexGuard, PoisonError, TryLockError};

/// What was made for each key.
pub type Memo<V> = Mutex<BTreeMap<usize, V>>;

/// What is kept for a key, or is made for it.
///
/// Nothing waits for the lock: a process that was forked while another thread held it would wait for ever. Where it is held,
/// the value is made once more.
pub fn memoized<V: Clone>(known: &Memo<V>, key: usize, make: impl FnOnce() -> V) -> V {
    if let Some(value) = unlocked(known).and_then(|known| known.get(&key).cloned()) {
        return value;
    }
    let value = make();
    if let Some(mut known) = unlocked(known) {
        known.insert(key, value.clone());
    }
    value
}

fn unlocked<V>(known: &Memo<V>) -> Option<MutexGuard<'_, BTreeMap<usize, V>>> {
    match known.try_lock() {
        Ok(known) => Some(known),
        Err(TryLockError::Poisoned(poisoned)) => Some(PoisonError::into_inner(poisoned)),
        Err(TryLockError::WouldBlock) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_lock_that_is_held_keeps_nobody_waiting() {
        let known = Memo::default();
        assert_eq!(memoized(&known, 3, || "made"), "made");
        assert_eq!(memoized(&known, 3, || "again"), "made");
        let held = known.lock().unwrap();
        assert_eq!(memoized(&known, 3, || "again"), "again");
        drop(held);
        assert_eq!(memoized(&known, 3, || "again"), "made");
    }
}
