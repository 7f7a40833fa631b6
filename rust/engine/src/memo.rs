//! Values that are computed once per length and cached for later calls.

use std::collections::BTreeMap;
use std::sync::{Mutex, MutexGuard, PoisonError, TryLockError};

/// The cached values by key.
pub type Memo<V> = Mutex<BTreeMap<usize, V>>;

/// The cached value of a key, or a newly computed one.
///
/// Nothing waits for the lock: a process forked while another thread held it would wait forever. If it is held, the
/// value is computed again.
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
    fn a_held_lock_does_not_block() {
        let known = Memo::default();
        assert_eq!(memoized(&known, 3, || "made"), "made");
        assert_eq!(memoized(&known, 3, || "again"), "made");
        let held = known.lock().unwrap();
        assert_eq!(memoized(&known, 3, || "again"), "again");
        drop(held);
        assert_eq!(memoized(&known, 3, || "again"), "made");
    }
}
