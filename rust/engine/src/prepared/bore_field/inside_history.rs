//! Effect of the heat stored inside the bores on the ground: the heat through their walls, and the ground near them.

use crate::bore::HeatCapacityInside;
use crate::ground::{Ground, HeatSpread, LaplaceCurve};
use crate::history::{HOUR, TabulatedResponse};
use crate::prepared::conduction::drop_per_watt;

/// Hours before a moment that are resolved in pieces, and pieces per hour.
const RECENT: usize = 24;
pub(super) const PIECES: usize = 8;

/// Hours after which a step of the heat is extracted evenly throughout an hour.
const EVEN: usize = 72;

/// Distances from a bore's axis at which the ground nearby is tabulated, each 2^(1/4) times the previous one; the first
/// is the bore's radius.
const DISTANCES: usize = 17;

/// Hours after which the response to a step no longer differs between a bore and a line.
const ROUND: usize = 8760;

/// Bores that store heat inside.
///
/// Their heat passes the wall later than it is extracted from the fluid, and its source is a cylinder, not a line.
pub struct InsideHistory {
    /// p x Laplace{share of a step of the fluid's heat that passes the wall}.
    through_wall: LaplaceCurve,
    /// Heat through the wall after a step, averaged over each piece of the following hours, as a share.
    rise: Vec<f64>,
    /// Distances from the axis (m), and at each the additional drop per watt of a cylinder over a line, hour by hour
    /// (K/W).
    distances: [f64; DISTANCES],
    beyond_line: Vec<Vec<f64>>,
}

impl InsideHistory {
    /// The inside of the bores of a field whose active depths total `length` (m), for `hours` hours.
    pub fn new(
        inside: &HeatCapacityInside,
        ground: &Ground,
        spread: &HeatSpread,
        length: f64,
        hours: usize,
    ) -> Self {
        let radius = spread.bores[0].source.radius;
        let distances = std::array::from_fn(|at| radius * (0.25 * at as f64).exp2());
        let [through_wall] = spread.response.map(|p, response| [inside.heat_through_wall(p, response)]);
        let held = held(&through_wall);
        let mut before = 0.0;
        let piece = |piece: usize| {
            let length = HOUR / PIECES as f64;
            let after = held.step_response((piece + 1) as f64 * length);
            1.0 - (after - std::mem::replace(&mut before, after)) / length
        };
        let rise = (0..PIECES * EVEN.min(hours)).map(piece).collect();
        let beyond: [LaplaceCurve; DISTANCES] = through_wall
            .map(|p, through| distances.map(|distance| through * inside.cylinder_for_line(p, distance)));
        let hours = hours.min(ROUND);
        let ln_hours: Vec<f64> = (1..=hours).map(|hour| (hour as f64).ln()).collect();
        let per_watt = drop_per_watt(ground, length);
        let hourly = |curve: &LaplaceCurve| {
            TabulatedResponse::new(hours, |time| per_watt * curve.step_response(time)).hourly(&ln_hours)
        };
        Self { beyond_line: beyond.iter().map(hourly).collect(), through_wall, rise, distances }
    }

    /// Share of a step of the heat that passes the wall, at each p.
    pub fn through_wall(&self) -> &LaplaceCurve {
        &self.through_wall
    }

    /// The same share, averaged over each hour after the step.
    pub fn hourly_share(&self, hours: usize, ln_hours: &[f64]) -> Vec<f64> {
        let held = held(&self.through_wall);
        let mut before = 0.0;
        let held = TabulatedResponse::new(hours, |time| held.step_response(time)).hourly(ln_hours);
        held.into_iter().map(|after| 1.0 - (after - std::mem::replace(&mut before, after)) / HOUR).collect()
    }

    /// Hours before the end of an hour for which [`piece`](Self::piece) differs from their mean.
    pub fn recent(&self, hours: usize) -> usize {
        RECENT.min(hours)
    }

    /// Heat through the walls in a piece of an hour minus that of the hour (W), for the heat extracted from the fluid
    /// each hour (W).
    pub fn piece(&self, heat: &[f64], hour: usize, piece: usize) -> f64 {
        let steps = self.rise.chunks(PIECES).enumerate().take(hour + 1);
        steps
            .map(|(age, rise)| {
                let began = hour - age;
                let step = heat[began] - began.checked_sub(1).map_or(0.0, |before| heat[before]);
                step * (rise[piece] - rise.iter().sum::<f64>() / PIECES as f64)
            })
            .sum()
    }

    /// The ground near the bores at the end of some hours, for the heat extracted from the fluid in each of them (W).
    pub fn near(&self, heat: &[f64]) -> NearBores {
        let drop = |responses: &Vec<f64>| {
            let mut before = 0.0;
            let pulses = responses.iter().map(|&now| now - std::mem::replace(&mut before, now));
            pulses.zip(heat.iter().rev()).map(|(pulse, heat)| pulse * heat).sum()
        };
        NearBores { distances: self.distances, drops: self.beyond_line.iter().map(drop).collect() }
    }
}

/// p x Laplace{heat that the inside retains, s of a step}: 1 minus the share, integrated over time.
fn held(through_wall: &LaplaceCurve) -> LaplaceCurve {
    let [held] = through_wall.map(|p, share| [(1.0 - share) / p]);
    held
}

/// Additional temperature drop near each bore compared with a line, at one moment.
pub struct NearBores {
    distances: [f64; DISTANCES],
    drops: Vec<f64>,
}

impl NearBores {
    /// Distance from the axis beyond which a bore acts as a line (m).
    pub fn reach(&self) -> f64 {
        self.distances[DISTANCES - 1]
    }

    /// Drop at a distance from the axis; within the bore that at the wall (K).
    pub fn drop(&self, distance: f64) -> f64 {
        let place = 4.0 * (distance / self.distances[0]).log2().max(0.0);
        let (at, part) = (place as usize, place.fract());
        match self.drops.get(at..at + 2) {
            Some(ends) => ends[0] + part * (ends[1] - ends[0]),
            None => 0.0,
        }
    }
}
