//! Error of using the resistance of the undisturbed fluid, not that of the hour, for the heat capacity inside the
//! bores.

use std::f64::consts::TAU;

use crate::bore::{Bore, HeatCapacityInside, resistances};
use crate::fluid::Fluid;
use crate::ground::{Ground, LaplaceCurve};
use crate::history::HOUR;
use crate::loads::HOURS_PER_YEAR;

/// Hours after a step within which the heat capacity inside a bore has an effect: by then the fluid of any accepted
/// bore is quasi-steady.
const LAGS: usize = 48;

/// Safety factor: the difference is that of a fluid with one temperature at all times. Compared with finite volumes in
/// time, whose film follows the temperature, it was up to a fifth too small (tests/reference/test_inside_error.py).
const MARGIN: f64 = 1.5;

/// A bore of mean depth with its share of the flow, and the response of its wall.
#[derive(Debug, Clone)]
pub struct InsideError {
    /// Response of the wall without the heat capacity inside.
    pub curve: LaplaceCurve,
    /// The bore.
    pub bore: Bore,
    /// The ground around it.
    pub ground: Ground,
    /// The fluid in it.
    pub fluid: Fluid,
    /// Flow of one bore (kg/s).
    pub flow: f64,
    /// Temperature at which the response of the fluid was computed (degC).
    pub undisturbed: f64,
    /// 1 / (2 pi k x length of all bores), in K/W.
    pub drop_per_watt: f64,
}

impl InsideError {
    /// Largest difference in the first and the last year of a run (K), with a margin, if the fluid had a temperature
    /// (degC) at all times: call it with the temperature whose resistance differs most from that of the response.
    /// `heat` is that of the hours (W).
    #[must_use]
    pub fn at(&self, temperature: f64, heat: &[f64]) -> f64 {
        let Some(pulse_response) = self.pulse_response(temperature) else { return 0.0 };
        let year = HOURS_PER_YEAR.min(heat.len());
        let largest = |heat: &[f64]| {
            let mut drops = vec![0.0; heat.len()];
            for (lag, response) in pulse_response.iter().enumerate() {
                let past = &heat[..heat.len().saturating_sub(lag)];
                drops[lag.min(heat.len())..]
                    .iter_mut()
                    .zip(past)
                    .for_each(|(drop, heat)| *drop += response * heat);
            }
            drops.into_iter().map(f64::abs).fold(0.0, f64::max)
        };
        MARGIN * self.drop_per_watt * largest(&heat[..year]).max(largest(&heat[heat.len() - year..]))
    }

    /// Change with temperature of the fluid's response to a unit of heat in an hour, in that hour and the following
    /// ones, in terms of the response; the resistances, which act at once, are excluded.
    fn pulse_response(&self, temperature: f64) -> Option<Vec<f64>> {
        let inside = |temperature: f64| {
            let state = self.fluid.at(temperature);
            let found = resistances(&self.bore, self.ground.conductivity, &state, self.flow).ok()?;
            let steady = TAU * self.ground.conductivity * found.effective;
            Some((HeatCapacityInside::new(&self.bore, &self.ground, &state, &found)?, steady))
        };
        let ((now, steady), (before, steady_before)) = (inside(temperature)?, inside(self.undisturbed)?);
        let [gain] = self.curve.map(|p, response| {
            let fluid = |inside: &HeatCapacityInside| inside.fluid_and_wall(p, response)[0];
            [fluid(&now) - steady - (fluid(&before) - steady_before)]
        });
        let mut earlier = 0.0;
        let response = |hour: usize| {
            let response = gain.step_response(HOUR * hour as f64);
            response - std::mem::replace(&mut earlier, response)
        };
        Some((1..=LAGS).map(response).collect())
    }
}
