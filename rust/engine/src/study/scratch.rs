//! Hourly series that one run after the other writes over.

use std::sync::{Mutex, PoisonError};

use crate::hourly::Hourly;

/// Series of one length, as many as there are threads that step at a time.
///
/// Stepping leaves the heat of idle hours as it finds it, zero; so a set goes only to runs with the same idle hours: those that
/// begin in the same hour of the same loads.
pub struct Scratch {
    hours: usize,
    idle: Mutex<Vec<(usize, Hourly)>>,
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

    /// Lends series to a run that begins in the hour `start` of the loads.
    pub fn lend<T>(&self, start: usize, work: impl FnOnce(&mut Hourly) -> T) -> T {
        let idle = || self.idle.lock().unwrap_or_else(PoisonError::into_inner);
        let mut hourly = match idle().pop() {
            Some((before, hourly)) if before == start => hourly,
            _ => Hourly::zeros(self.hours),
        };
        let done = work(&mut hourly);
        idle().push((start, hourly));
        done
    }
}
