//! The water of a well, with what its return well brings back.

use std::sync::Arc;

use crate::ground_side::well::weights;

/// Fewest hours of pumping over which the returned water is averaged, and the most of such intervals in a run.
const LEAST_INTERVAL: usize = 24;
const MOST_INTERVALS: usize = 4096;

/// Returned water by intervals of pumping.
#[derive(Debug, Clone, PartialEq)]
pub struct Returned {
    /// Hours of pumping in an interval.
    pub interval: usize,
    /// Weights of the intervals, the oldest first; empty without a return well.
    pub weights: Vec<f64>,
}

impl Returned {
    /// The shortest intervals that a run of `hours` hours allows, for an `arrival` in hours of pumping.
    pub fn for_run(hours: usize, arrival: Option<f64>) -> Self {
        Self::new(LEAST_INTERVAL.max(hours.div_ceil(MOST_INTERVALS)), hours, arrival)
    }

    /// Intervals of a number of hours in a run of `hours` hours, for an `arrival` in hours of pumping.
    pub fn new(interval: usize, hours: usize, arrival: Option<f64>) -> Self {
        let weights = arrival.map_or_else(Vec::new, |arrival| {
            let mut weights = weights(arrival / interval as f64, hours / interval);
            weights.reverse();
            weights
        });
        Self { interval, weights }
    }
}

/// The well water. Its temperature is constant within an interval of pumping: that of the aquifer, plus the mean over
/// all streamlines of the returned water at the time when the water that arrives now left the return well.
#[derive(Debug, Clone)]
pub struct WellWater {
    aquifer: f64,
    /// Fall of the discharge temperature per watt while the well pumps (K/W).
    pub fall: f64,
    by: Arc<Returned>,
    /// Current temperature of the well water (degC).
    pub temperature: f64,
    /// Returned water minus the aquifer's temperature, averaged over each interval of pumping (K).
    pub returned: Vec<f64>,
    /// Hours of pumping in the current interval, and the sum of that difference over them (K h).
    pub hours: f64,
    pub sum: f64,
}

impl WellWater {
    /// Water at the temperature of the aquifer (degC).
    pub fn initial(aquifer: f64, fall: f64, by: &Arc<Returned>) -> Self {
        let returned = Vec::with_capacity(by.weights.len());
        Self { aquifer, fall, by: Arc::clone(by), temperature: aquifer, returned, hours: 0.0, sum: 0.0 }
    }

    /// Most intervals whose water is remembered.
    pub fn most_intervals(&self) -> usize {
        self.by.weights.len()
    }

    /// Ends an hour with a mean heat (W) and a share of pumping.
    #[inline(always)]
    pub fn take(&mut self, heat: f64, share: f64) {
        if share == 0.0 {
            return;
        }
        let returned = self.temperature - self.aquifer - heat * self.fall / share;
        let until_end = self.by.interval as f64 - self.hours;
        if share < until_end {
            self.hours += share;
            self.sum = returned.mul_add(share, self.sum);
            return;
        }
        self.sum = returned.mul_add(until_end, self.sum);
        self.renew();
        self.hours = share - until_end;
        self.sum = returned * self.hours;
    }

    /// Ends an interval.
    #[inline(never)]
    fn renew(&mut self) {
        let weights = &self.by.weights;
        if self.returned.len() < weights.len() {
            self.returned.push(self.sum / self.by.interval as f64);
        }
        self.temperature =
            self.aquifer + dot(&weights[weights.len() - self.returned.len()..], &self.returned);
    }
}

/// Numbers added side by side, in the same order on every processor.
const SIDE_BY_SIDE: usize = 8;

/// Sum of the products.
fn dot(a: &[f64], b: &[f64]) -> f64 {
    let mut sums = [0.0; SIDE_BY_SIDE];
    let (a, rest_of_a) = a.as_chunks::<SIDE_BY_SIDE>();
    let (b, rest_of_b) = b.as_chunks::<SIDE_BY_SIDE>();
    for (a, b) in a.iter().zip(b) {
        for lane in 0..SIDE_BY_SIDE {
            sums[lane] += a[lane] * b[lane];
        }
    }
    sums.into_iter().chain(rest_of_a.iter().zip(rest_of_b).map(|(a, b)| a * b)).sum()
}
