//! A fixed ladder of exponentials that stands in for a step response.

use faer::Mat;
use faer::linalg::solvers::SolveLstsqCore;

use super::{HOUR, TabulatedResponse};

/// Number of exponentials.
pub const RUNGS: usize = 48;

/// One value for each exponential.
pub type Rungs = [f64; RUNGS];

/// Number of times, evenly spread in ln t, at which the exponentials are fitted.
const SAMPLES: usize = 350;

/// Exponentials 1 - exp(-t / tau) whose taus are evenly spread in ln tau from a quarter of an hour to twice the horizon.
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
        let first = (0.25 * HOUR).ln();
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
    #[must_use]
    pub fn fit(&self, response: &TabulatedResponse) -> Rungs {
        let last = (self.hours as f64).ln();
        let times: Vec<f64> =
            (0..SAMPLES).map(|j| HOUR * (last * j as f64 / (SAMPLES - 1) as f64).exp()).collect();
        let matrix = Mat::from_fn(SAMPLES, RUNGS, |j, i| -(-times[j] / self.tau[i]).exp_m1());
        let mut weights = Mat::from_fn(SAMPLES, 1, |j, _| response.at(times[j]));
        matrix.col_piv_qr().solve_lstsq_in_place_with_conj(faer::Conj::No, weights.as_mut());
        std::array::from_fn(|i| weights[(i, 0)])
    }
}
