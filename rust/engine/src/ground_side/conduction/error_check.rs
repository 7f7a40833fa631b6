//! What a run lost: its temperatures against exact superposition of the same heat.

use super::responses::Responses;
use crate::history::{Superposition, TabulatedResponse};
use crate::hourly::Hourly;

/// What the temperatures of a run lost, each part at its largest [K]. A part that a kind of ground side has not is zero.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RunError {
    /// What the exponentials lost: mean fluid temperature, and so entering and leaving fluid temperature.
    pub exponentials: f64,
    /// What tabulation of the step response lost: the difference that half as many points make, an upper bound.
    pub tabulation: f64,
    /// What the loop's step response lost to fewer unknowns than its segments are: an estimate, from what the last of them gained.
    pub segments: f64,
    /// What steps in time cost the water of ponds and wells: an estimate, from the difference that steps of another length make.
    pub steps: f64,
    /// What the fluid lost as the film around a pond's coils is not quite that of the hour's heat: an estimate.
    pub film: f64,
}

impl RunError {
    /// That of equations which are solved as they stand.
    pub const NONE: Self = Self { exponentials: 0.0, tabulation: 0.0, segments: 0.0, steps: 0.0, film: 0.0 };
}

/// The responses of a loop read at every hour and transformed, all that can be done before the heat is known.
pub struct ErrorCheck<'a> {
    ready: &'a Responses,
    /// Of the wall, and of the wall less what half as many points give; the same of the fluid where that has a response of its own.
    superposition: Superposition,
}

impl<'a> ErrorCheck<'a> {
    /// Makes the check of a run of `hours` hours ready.
    #[must_use]
    pub fn new(ready: &'a Responses, hours: usize) -> Self {
        let ln_hours: Vec<f64> = (1..=hours).map(|hour| (hour as f64).ln()).collect();
        let read = |table: &TabulatedResponse| table.hourly(&ln_hours);
        let with_loss = |table: &TabulatedResponse| {
            let fine = read(table);
            let coarse = read(&table.halved());
            let lost = fine.iter().zip(coarse).map(|(fine, coarse)| fine - coarse).collect();
            [fine, lost]
        };
        let responses = [&ready.wall].into_iter().chain(&ready.fluid).flat_map(with_loss);
        Self { ready, superposition: Superposition::new(hours, responses) }
    }

    /// Superposes the heat that a run found: the wall temperature [degC] of each hour, and what the run's fluid temperatures lost.
    #[must_use]
    pub fn wall_and_error(self, hourly: &Hourly) -> (Vec<f64>, RunError) {
        let Responses { drop_per_watt, response_error, .. } = self.ready;
        let drops = self.superposition.of(&hourly.heat_extracted);
        let (wall_drop, fluid_drop) = (&drops[0], drops.get(2).unwrap_or(&drops[0]));
        let largest = |difference: &dyn Fn(usize) -> f64| {
            (0..hourly.len()).map(|n| difference(n).abs()).fold(0.0, f64::max)
        };

        let mean = |n: usize| 0.5 * (hourly.entering_fluid[n] + hourly.leaving_fluid[n]);
        let exponentials = largest(&|n| {
            self.ready.undisturbed(n)
                - drop_per_watt * fluid_drop[n]
                - self.ready.resistances.at(mean(n))[0] * hourly.heat_extracted[n]
                - mean(n)
        });
        let lost = drops.iter().skip(1).step_by(2);
        let tabulation = lost.map(|lost| largest(&|n| drop_per_watt * lost[n])).fold(0.0, f64::max);
        let segments = response_error * largest(&|n| drop_per_watt * wall_drop[n]);
        let wall =
            (0..hourly.len()).map(|n| self.ready.undisturbed(n) - drop_per_watt * wall_drop[n]).collect();
        (wall, RunError { exponentials, tabulation, segments, ..RunError::NONE })
    }
}
