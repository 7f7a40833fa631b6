//! Errors of a run: its temperatures against exact superposition of the same heat.

use std::ops::Range;

use rayon::prelude::*;

use super::heat_residuals::{HeatResidual, HeatResiduals};
use super::responses::Responses;
use crate::history::{HOUR, Superposition, TabulatedResponse};
use crate::hourly::Hourly;
use crate::loads::HOURS_PER_YEAR;
use crate::prepared::{ResistanceTable, RunError};
use crate::stepper::{Course, TimeBlock};

/// The responses of a loop evaluated at every hour and transformed: everything that can be computed before the heat is
/// known.
pub struct ErrorCheck<'a> {
    prepared: &'a Responses,
    /// Of the wall, and the difference made by half as many points; the same for the fluid if it has its own response.
    superposition: Superposition,
}

impl<'a> ErrorCheck<'a> {
    /// Prepares the check of a run of `hours` hours.
    #[must_use]
    pub fn new(prepared: &'a Responses, hours: usize) -> Self {
        let ln_hours: Vec<f64> = (1..=hours).map(|hour| (hour as f64).ln()).collect();
        let read = |table: &TabulatedResponse| table.hourly(&ln_hours);
        let with_loss = |table: &TabulatedResponse| {
            let fine = read(table);
            let coarse = read(&table.halved());
            let lost = fine.iter().zip(coarse).map(|(fine, coarse)| fine - coarse).collect();
            [fine, lost]
        };
        let responses = [&prepared.wall].into_iter().chain(&prepared.fluid).flat_map(with_loss);
        Self { prepared, superposition: Superposition::new(hours, responses) }
    }

    /// Superposes the heat of a run of a course: the wall temperature (degC) of each hour, and the errors of the run's
    /// fluid temperatures.
    #[must_use]
    pub fn wall_and_error(self, course: &Course, hourly: &Hourly) -> (Vec<f64>, RunError) {
        let (drops, hours) = (self.superposed(hourly), 0..hourly.len());
        (drops.wall(hours.clone()), drops.error(course, hourly, hours))
    }

    /// Superposes the heat of a run.
    pub(super) fn superposed(self, hourly: &Hourly) -> Drops<'a> {
        Drops { prepared: self.prepared, drops: self.superposition.of(&hourly.heat_extracted) }
    }
}

/// Temperature drops of a loop due to the heat of a run, superposed exactly.
pub(super) struct Drops<'a> {
    prepared: &'a Responses,
    /// Of the wall, and the difference made by half as many points; the same for the fluid if it has its own response.
    drops: Vec<Vec<f64>>,
}

impl Drops<'_> {
    /// Whether they are those of a loop.
    pub fn are_of(&self, prepared: &Responses) -> bool {
        std::ptr::eq(self.prepared, prepared)
    }

    /// The wall temperature in some hours (degC).
    pub fn wall(&self, hours: Range<usize>) -> Vec<f64> {
        let Responses { drop_per_watt, .. } = self.prepared;
        hours.map(|n| self.prepared.undisturbed.at(n) - drop_per_watt * self.drops[0][n]).collect()
    }

    /// Errors of the fluid temperatures in some hours, the whole years in which a course ran.
    pub fn error(&self, course: &Course, hourly: &Hourly, hours: Range<usize>) -> RunError {
        let Responses { drop_per_watt, response_error, .. } = self.prepared;
        let drops = &self.drops;
        let (wall_drop, fluid_drop) = (&drops[0], drops.get(2).unwrap_or(&drops[0]));
        let largest = |difference: &dyn Fn(usize) -> f64| {
            hours.clone().map(|n| difference(n).abs()).fold(0.0, f64::max)
        };

        // Expected mean fluid temperature of an hour with the same heat, without the resistance's part.
        let met = |n: usize| self.prepared.undisturbed.at(n) - drop_per_watt * fluid_drop[n];
        let time_blocks = TimeBlock::all(course);
        let fluids = Fluids {
            table: &self.prepared.resistances,
            hourly,
            gaps: HeatResiduals::new(course, &time_blocks, hourly, hours.clone()),
            own: drop_per_watt * self.prepared.fluid.as_ref().unwrap_or(&self.prepared.wall).at(HOUR),
        };
        let reference = self.prepared.resistances.at(self.prepared.undisturbed.first_without_warming())[0];
        let worst = fluids.worst(hours.clone(), reference, &met);
        let lost = drops.iter().skip(1).step_by(2);
        let tabulation = lost.map(|lost| largest(&|n| drop_per_watt * lost[n])).fold(0.0, f64::max);
        let segments = response_error * largest(&|n| drop_per_watt * wall_drop[n]);
        let error = worst.exponentials + worst.iteration + worst.table + tabulation;
        let jump = if self.prepared.resistances.bends.is_empty() {
            0.0
        } else {
            largest(&|n| fluids.jump(n, met(n), error))
        };
        let inside = self.prepared.inside.as_ref().filter(|_| worst.farthest > 0.0);
        let heat = &hourly.heat_extracted[hours.clone()];
        let inside = inside.map_or(0.0, |inside| inside.at(worst.farthest_fluid, heat));
        let Worst { exponentials, iteration, .. } = worst;
        let resistance = worst.table.max(jump);
        RunError { exponentials, iteration, resistance, inside, tabulation, segments, ..RunError::NONE }
    }
}

/// Bisections that locate a second solution of an hour far more accurately than needed.
const HALVINGS: usize = 40;

/// Smallest slope of the fluid's excess by which a correction is divided; below it, the curvature of the excess
/// dominates.
const LEAST_SLOPE: f64 = 0.05;

/// The worst of several hours.
#[derive(Debug, Clone, Copy, Default)]
struct Worst {
    /// Residual of the mean fluid temperature in the hour's equation (K).
    exponentials: f64,
    /// Error of the entering fluid because the hour's heat is not exactly that of the heat pump's curves (K).
    iteration: f64,
    /// Possible error of the fluid due to the table (K).
    table: f64,
    /// Largest difference that the hour's resistance makes to its heat's temperature difference compared with the
    /// reference resistance (K), and the fluid at that hour (degC).
    farthest: f64,
    farthest_fluid: f64,
}

impl Worst {
    fn or(self, other: Self) -> Self {
        // The earlier of two equal hours counts, with any number of threads.
        let Self { farthest, farthest_fluid, .. } = if other.farthest > self.farthest { other } else { self };
        Self {
            exponentials: self.exponentials.max(other.exponentials),
            iteration: self.iteration.max(other.iteration),
            table: self.table.max(other.table),
            farthest,
            farthest_fluid,
        }
    }
}

/// Mean fluid temperatures of a run, with the loop's resistance.
///
/// With the heat q of an hour, its mean fluid temperature M solves M + R(M) q = `met`, which follows from all hours'
/// heat.
struct Fluids<'a> {
    table: &'a ResistanceTable,
    hourly: &'a Hourly,
    gaps: HeatResiduals<'a>,
    /// Fall of `met` per watt in the hour itself (K/W).
    own: f64,
}

impl Fluids<'_> {
    fn mean(&self, n: usize) -> f64 {
        0.5 * (self.hourly.entering_fluid[n] + self.hourly.leaving_fluid[n])
    }

    /// The worst of some hours; `reference` is the resistance for which the response was computed (K/W), `met` the temperature
    /// at the loop in an hour (degC).
    fn worst(&self, hours: Range<usize>, reference: f64, met: &(impl Fn(usize) -> f64 + Sync)) -> Worst {
        let end = hours.end;
        let firsts: Vec<usize> = hours.step_by(HOURS_PER_YEAR).collect();
        let of_year = |&first: &usize| {
            let hours = first..(first + HOURS_PER_YEAR).min(end);
            let gaps = self.gaps.of_year(first);
            let hour = |worst: Worst, (n, gap)| worst.or(self.hour(n, reference, met(n), gap));
            hours.zip(gaps).fold(Worst::default(), hour)
        };
        firsts.par_iter().map(of_year).reduce(Worst::default, Worst::or)
    }

    /// Error of an hour (K).
    ///
    /// The residual of the loop's equation, m = met - R q - M, and the difference g between the heat of the heat pump's
    /// curves and the heat counted act on the entering fluid together. With the slopes R' of the resistance and s of
    /// the heat pump's heat, the hour's own response a and the flow's kelvins per watt K, one step of Newton's
    /// iteration from the run's temperatures is
    ///
    /// ```text
    /// (m - z g) / (w + s z),   w = 1 + R' q,   z = a + R - w K / 2
    /// ```
    ///
    /// The residual of the loop's equation counts with the smaller of w and w + s z, so that it also holds for the same
    /// heat.
    fn hour(&self, n: usize, reference: f64, met: f64, gap: HeatResidual) -> Worst {
        let (mean, heat) = (self.mean(n), self.hourly.heat_extracted[n]);
        let [resistance, slope] = self.table.resistance(mean);
        let fall = self.hourly.entering_fluid[n] - self.hourly.leaving_fluid[n];
        let half_kelvins_per_watt = if heat == 0.0 { 0.0 } else { 0.5 * fall / heat };
        let w = slope.mul_add(heat, 1.0);
        let z = self.own + resistance - w * half_kelvins_per_watt;
        let by_slope = 1.0 / w.abs().min((w + gap.slope * z).abs()).max(LEAST_SLOPE);
        let [off, kelvins_per_watt_off] = self.table.error_at(mean);
        let by_gap = 1.0 / (w + gap.slope * z).abs().max(LEAST_SLOPE);
        Worst {
            exponentials: ((met - resistance * heat - mean) * by_slope).abs(),
            iteration: (z * gap.heat * by_gap).abs(),
            table: heat.abs() * off.mul_add(by_slope, 0.5 * kelvins_per_watt_off),
            farthest: ((resistance - reference) * heat).abs(),
            farthest_fluid: mean,
        }
    }

    /// Distance to another solution of an hour (K) if errors of up to `error` (K) leave open which of them counts,
    /// otherwise 0.
    fn jump(&self, n: usize, met: f64, error: f64) -> f64 {
        let (mean, heat) = (self.mean(n), self.hourly.heat_extracted[n]);
        if heat <= 0.0 {
            return 0.0;
        }
        let mut farthest = 0.0_f64;
        for bend in &self.table.bends {
            let at_bend = bend.temperature + bend.resistance * heat;
            if (at_bend - met).abs() > error {
                continue;
            }
            if mean > bend.temperature {
                farthest = farthest.max(mean - bend.temperature);
                continue;
            }
            // The warmer solution is where the same value occurs again, if the resistance falls fast enough beyond the
            // bend.
            let (mut near, mut far) = (bend.temperature, bend.temperature + bend.resistance * heat);
            let [_, slope] = self.table.resistance(near + 1e-6);
            if slope * heat >= -1.0 {
                continue;
            }
            near += 1e-6;
            for _ in 0..HALVINGS {
                let middle = 0.5 * (near + far);
                let [resistance, _] = self.table.resistance(middle);
                if middle + resistance * heat < at_bend { near = middle } else { far = middle }
            }
            farthest = farthest.max(far - mean);
        }
        farthest
    }
}
