//! Hourly series that one run after the other writes over.

use std::sync::{Mutex, PoisonError};

use crate::hourly::Hourly;

/// Series of one length, as many as there are threads that step at a time.
pub struct Scratch {
    hours: usize,
    idle: Mutex<Vec<Hourly>>,
}

impl Scratch {
    /// Series of `hours` hours, none of them made yet.
    pub fn new(hours: usize) -> Self {
        Self { hours, idle: Mutex::default() }
    }

    /// Number of hours of the series.
    pub fn hours(&self) -> usize {
        self.hours
    }

    /// Lends series to a run, which writes all of their hours.
    pub fn lend<T>(&self, work: impl FnOnce(&mut Hourly) -> T) -> T {
        let idle = || self.idle.lock().unwrap_or_else(PoisonError::into_inner);
        let before = idle().pop();
        let mut hourly = before.unwrap_or_else(|| Hourly::zeros(self.hours));
        let done = work(&mut hourly);
        idle().push(hourly);
        done
    }
}
