//! A fixed ladder of exponentials that stands in for a step response.

use faer::Mat;

use super::{HOUR, TabulatedResponse};

/// Number of exponentials.
pub const RUNGS: usize = 48;

/// One value for each exponential.
pub type Rungs = [f64; RUNGS];

/// Number of times, evenly spread in ln t and then moved to whole hours, at which the exponentials are fitted.
const SAMPLES: usize = 350;

/// Least singular value that counts, over the largest.
const LEAST_SINGULAR_VALUE: f64 = 1e-11;

/// Exponentials 1 - exp(-t / tau) whose taus are evenly spread in ln tau from a tenth of an hour to twice the horizon.
///
/// Only the weights depend on the response, so that several responses to the same heat share the states.
#[derive(Debug, Clone, PartialEq)]
pub struct Ladder {
    tau: Rungs,
    hours: usize,
}

impl Ladder {
    /// The ladder for runs of up to `hours` hours; a fit is worthless beyond its horizon, so make it as long as the run.
    #[must_use]
    pub fn for_horizon(hours: usize) -> Self {
        let first = (0.1 * HOUR).ln();
        let last = (2.0 * hours as f64 * HOUR).ln();
        let tau = std::array::from_fn(|i| (first + (last - first) * i as f64 / (RUNGS - 1) as f64).exp());
        Self { tau, hours }
    }

    /// What an hour leaves of each state: exp(-1 h / tau).
    #[must_use]
    pub fn decay(&self) -> Rungs {
        self.tau.map(|tau| (-HOUR / tau).exp())
    }

    /// Weights w with g(t) = sum of w (1 - exp(-t / tau)) from the first hour to the horizon, by least squares.
    ///
    /// Neighbouring exponentials are so alike that the plain solution has weights of 1e10, which rounding turns into kelvins:
    /// directions with singular values below [`LEAST_SINGULAR_VALUE`] of the largest are left out.
    #[must_use]
    pub fn fit(&self, response: &TabulatedResponse) -> Rungs {
        let last = (self.hours as f64).ln();
        let hour = |j: usize| (last * j as f64 / (SAMPLES - 1) as f64).exp().round();
        let mut times: Vec<f64> = (0..SAMPLES).map(|j| hour(j) * HOUR).collect();
        times.dedup();
        let matrix = Mat::from_fn(times.len(), RUNGS, |j, i| -(-times[j] / self.tau[i]).exp_m1());
        let Ok(decomposition) = matrix.thin_svd() else {
            // Only a matrix that isn't finite has none, and this one is.
            return [f64::NAN; RUNGS];
        };
        let (u, s, v) = (decomposition.U(), decomposition.S().column_vector(), decomposition.V());
        let mut weights = [0.0; RUNGS];
        for k in (0..RUNGS).take_while(|&k| s[k] > LEAST_SINGULAR_VALUE * s[0]) {
            let projection: f64 =
                times.iter().enumerate().map(|(j, &time)| u[(j, k)] * response.at(time)).sum();
            (0..RUNGS).for_each(|i| weights[i] += projection / s[k] * v[(i, k)]);
        }
        weights
    }
}
