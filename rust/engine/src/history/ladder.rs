//! A fixed ladder of exponentials that approximates a step response, updated in blocks of hours.

use std::array::from_fn;
use std::collections::BTreeMap;
use std::f64::consts::TAU;
use std::sync::Arc;

use faer::Mat;

use super::{HOUR, TabulatedResponse};
use crate::lane_layout::BLOCK;
use crate::memo::{Memo, memoized};

/// Number of exponentials.
pub const RUNGS: usize = 32;

/// One value per exponential.
pub type Rungs = [f64; RUNGS];

/// The response's first hours, which are kept exactly: the heat of an hour enters the exponentials after the block that
/// follows its own.
pub const RECENT: usize = 2 * BLOCK;

/// Age of the most recent heat in the exponentials, in hours: all later heat is kept hour by hour.
const FIRST_AGE: usize = BLOCK + 1;

/// Number of times at which the exponentials are fitted, evenly spaced in ln t and then moved to whole hours.
const SAMPLES: usize = 350;

/// Shortest time constant (s).
const SHORTEST: f64 = HOUR;

/// Extra spacing of the time constants toward both ends, where they only represent what lies beyond. It halves the
/// largest errors over 50 years compared with an even ladder and leaves those over a few years unchanged.
const BEND: f64 = 0.1;

/// Smallest singular value that is kept, relative to the largest.
const LEAST_SINGULAR_VALUE: f64 = 1e-12;

/// Ladders are cached across calls: building one takes as long as a tenth of a run.
static LADDERS: Memo<Arc<Ladder>> = Memo::new(BTreeMap::new());

/// Exponentials exp(-t / tau) whose tau are spaced in ln tau from one hour to the horizon.
///
/// With a = exp(-1 h / tau) and the heat q_m of hour m, the state of an exponential at the beginning of hour b, the
/// first of a block, is
///
/// ```text
/// s(b) = sum over m <= b - 9 of a^(b - 9 - m) q_m
/// s(b + 8) = a^8 s(b) + sum over k = 0..7 of a^(7 - k) q_(b - 8 + k)
/// ```
///
/// and the last line is applied hour by hour: s becomes a s + q_(b - 8 + k), eight times.
///
/// Only [`Response`] depends on the step response, so that all designs of one horizon share their ladder.
#[derive(Debug)]
pub struct Ladder {
    tau: Rungs,
    /// Times of the fit after the first age (h), and the least-squares inverse of the exponentials at these times.
    times: Vec<usize>,
    inverse: Vec<Rungs>,
    /// Factor by which each state decays in an hour: a.
    pub decay: Rungs,
}

/// A step response as a sum over the ladder's exponentials.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Response {
    /// Response to a unit of heat in one hour, at the end of that hour and of each following hour.
    pub recent: [f64; RECENT],
    /// Contribution of a unit of each state at the end of each hour of a block.
    pub past: [[f64; BLOCK]; RUNGS],
}

impl Response {
    /// The response times a factor.
    #[must_use]
    pub fn times(self, factor: f64) -> Self {
        Self {
            recent: self.recent.map(|response| factor * response),
            past: self.past.map(|responses| responses.map(|response| factor * response)),
        }
    }
}

impl Ladder {
    /// The ladder for runs of up to `hours` hours. The fit is invalid beyond its horizon, so choose the length of the
    /// run.
    #[must_use]
    pub fn for_horizon(hours: usize) -> Arc<Self> {
        memoized(&LADDERS, hours, || Arc::new(Self::new(hours)))
    }

    fn new(hours: usize) -> Self {
        let horizon = hours as f64 * HOUR;
        let tau: Rungs = from_fn(|i| {
            let place = i as f64 / (RUNGS - 1) as f64;
            SHORTEST * (horizon / SHORTEST).powf(place + BEND * (TAU * place).sin() / TAU)
        });

        let span = (hours as f64 / FIRST_AGE as f64).ln();
        let sample = |j: usize| FIRST_AGE as f64 * (span * j as f64 / SAMPLES as f64).exp();
        let mut times: Vec<usize> = (1..=SAMPLES).map(|j| sample(j).round() as usize - FIRST_AGE).collect();
        times.retain(|&time| time > 0);
        times.dedup();
        let inverse = least_squares_inverse(&times, &tau);
        Self { tau, times, inverse, decay: tau.map(|tau| (-HOUR / tau).exp()) }
    }

    /// Fits g(t) - g(9 h) = sum of w (1 - exp(-(t - 9 h) / tau)) from there to the horizon, by least squares.
    #[must_use]
    pub fn fit(&self, response: &TabulatedResponse) -> Response {
        let at = |hour: usize| response.at(hour as f64 * HOUR);
        let recent = from_fn(|age| if age == 0 { at(1) } else { at(age + 1) - at(age) });
        let first = at(FIRST_AGE);
        let mut weights = [0.0; RUNGS];
        for (&time, row) in self.times.iter().zip(&self.inverse) {
            let rise = at(FIRST_AGE + time) - first;
            (0..RUNGS).for_each(|i| weights[i] += row[i] * rise);
        }
        let past = from_fn(|i| {
            let by_hour = HOUR / self.tau[i];
            from_fn(|k| weights[i] * -(-by_hour).exp_m1() * (-by_hour * k as f64).exp())
        });
        Response { recent, past }
    }
}

/// One row per time (h): contribution of a response of one at that time to the weights of 1 - exp(-t / tau).
///
/// Neighbouring exponentials are so similar that the plain solution has weights of 1e10, which amplify rounding errors
/// to kelvins. Directions with singular values below [`LEAST_SINGULAR_VALUE`] of the largest are therefore dropped.
fn least_squares_inverse(times: &[usize], tau: &Rungs) -> Vec<Rungs> {
    let matrix = Mat::from_fn(times.len(), RUNGS, |j, i| -(-(times[j] as f64) * HOUR / tau[i]).exp_m1());
    let Ok(decomposition) = matrix.thin_svd() else {
        // The decomposition fails only for a matrix that isn't finite, and this one is.
        return vec![[f64::NAN; RUNGS]; times.len()];
    };
    let (u, s, v) = (decomposition.U(), decomposition.S().column_vector(), decomposition.V());
    let kept = (0..RUNGS).take_while(|&k| s[k] > LEAST_SINGULAR_VALUE * s[0]).count();
    let entry = |j: usize, i: usize| (0..kept).map(|k| u[(j, k)] / s[k] * v[(i, k)]).sum();
    (0..times.len()).map(|j| from_fn(|i| entry(j, i))).collect()
}
