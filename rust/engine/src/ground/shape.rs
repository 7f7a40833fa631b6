//! Fields that differ only in size, or in the ground's diffusivity, and therefore share one step response.

use std::ops::RangeInclusive;

use super::{Condition, Ground, LaplaceCurve, Lean, LineSource, inclined_response, moving_response};
use crate::cancel_token::CancelToken;
use crate::error::Error;

/// Ground and size that represent all fields of one shape.
const GROUND: Ground = Ground {
    conductivity: 2.0,
    volumetric_heat_capacity: 2e6,
    temperature: 10.0,
    gradient: 0.0,
    darcy_flux: 0.0,
    flow_direction: 0.0,
    warming: None,
};
const LENGTH: f64 = 100.0;

/// Ratio of the farthest coordinate to the deepest bore up to which the reference length is the bore's depth.
const WIDE: f64 = 500.0;

/// Step of the logarithm of the first time: fields whose times differ by less may share a shape.
const TIME_STEP: f64 = 2.0;

/// A field at a standard size in standard ground, over a range of times.
///
/// The heat equation has no length or time scale other than those of the field: with t_s = L^2 / (9 alpha), L any
/// length of the field, the step response of fields of one shape is one function of t / t_s (Eskilson 1987). The range
/// of times is one of a fixed sequence, so a field's response is the same to the last bit whatever other fields share
/// it.
#[derive(Debug, Clone, PartialEq)]
pub struct Shape {
    sources: Vec<LineSource>,
    positions: Vec<[f64; 2]>,
    /// Empty if all bores are vertical.
    leans: Vec<Lean>,
    /// Velocity at which groundwater carries heat along (m/s).
    drift: [f64; 2],
    times: [f64; 2],
}

impl Shape {
    /// The shape of a field for `times` (s), and the factor by which its time is slower than the shape's.
    ///
    /// `sources` and `leans` have one entry for all `positions` (m), or one for each; all must be accepted by
    /// [`inclined_response`].
    #[must_use]
    pub fn of(
        ground: &Ground,
        sources: &[LineSource],
        positions: &[[f64; 2]],
        leans: &[Lean],
        times: &RangeInclusive<f64>,
    ) -> (Self, f64) {
        let deepest = sources.iter().map(|source| source.depth).fold(0.0, f64::max);
        let farthest = positions.iter().flatten().map(|value| value.abs()).fold(0.0, f64::max);
        let length = deepest.max(farthest / WIDE);
        let scaled = |value: f64| LENGTH * (value / length);
        let sources = sources
            .iter()
            .map(|source| LineSource {
                depth: scaled(source.depth),
                buried_depth: scaled(source.buried_depth),
                radius: scaled(source.radius),
            })
            .collect();
        let positions = positions.iter().map(|position| position.map(scaled)).collect();
        let slower = (length / LENGTH).powi(2) * GROUND.diffusivity() / ground.diffusivity();
        let (first, last) = (*times.start(), *times.end());
        let step = ((first / slower).ln() / TIME_STEP).floor();
        let times = [(step * TIME_STEP).exp(), ((step + 1.0) * TIME_STEP).exp() * (last / first)];
        let leans = if leans.iter().all(Lean::is_vertical) { Vec::new() } else { leans.to_vec() };
        let drift = ground.thermal_velocity().map(|velocity| velocity * slower * (LENGTH / length));
        (Self { sources, positions, leans, drift, times }, slower)
    }

    /// The step response at the standard size.
    ///
    /// # Errors
    /// Those of [`inclined_response`] and [`moving_response`].
    pub fn response(&self, token: &CancelToken) -> Result<LaplaceCurve, Error> {
        let times = self.times[0]..=self.times[1];
        let Self { sources, positions, leans, drift, .. } = self;
        if *drift == [0.0, 0.0] {
            let condition = Condition::UniformWallTemperature;
            return inclined_response(&GROUND, sources, positions, leans, &times, condition, token);
        }
        moving_response(&GROUND, *drift, sources, positions, leans, &times, token)
    }

    /// The numbers that define the shape, as bits: equal only for equal shapes.
    #[must_use]
    pub fn key(&self) -> Vec<u64> {
        let sources =
            self.sources.iter().flat_map(|source| [source.depth, source.buried_depth, source.radius]);
        let places = self.positions.iter().copied().flatten();
        let leans = self.leans.iter().flat_map(|lean| [lean.inclination, lean.direction]);
        sources.chain(places).chain(leans).chain(self.drift).chain(self.times).map(f64::to_bits).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ground::field_response;

    const HOUR: f64 = 3600.0;
    const TIMES: RangeInclusive<f64> = HOUR..=20.0 * 8760.0 * HOUR;

    fn field(size: f64) -> (LineSource, Vec<[f64; 2]>) {
        let source = LineSource { depth: 96.0 * size, buried_depth: 2.0 * size, radius: 0.0625 * size };
        (source, (0..12).map(|i| [6.0 * size * f64::from(i % 4), 5.0 * size * f64::from(i / 4)]).collect())
    }

    fn ground(conductivity: f64) -> Ground {
        Ground {
            conductivity,
            volumetric_heat_capacity: 2.3e6,
            temperature: 11.0,
            gradient: 0.0,
            darcy_flux: 0.0,
            flow_direction: 0.0,
            warming: None,
        }
    }

    fn shape(size: f64, conductivity: f64) -> (Shape, f64) {
        let (source, positions) = field(size);
        Shape::of(&ground(conductivity), &[source], &positions, &[], &TIMES)
    }

    #[test]
    fn gives_the_response_of_the_field() {
        for (size, conductivity) in [(1.0, 2.1), (0.25, 1.2), (2.0, 5.0)] {
            let (shape, slower) = shape(size, conductivity);
            let curve = shape.response(&CancelToken::default()).unwrap().slowed(slower);
            let (source, positions) = field(size);
            let condition = Condition::UniformWallTemperature;
            let own = field_response(
                &ground(conductivity),
                &[source],
                &positions,
                &TIMES,
                condition,
                &CancelToken::default(),
            )
            .unwrap();
            let latest = own.step_response(*TIMES.end());
            for hour in [1.0, 7.0, 100.0, 5000.0, 20.0 * 8760.0] {
                let (found, expected) = (curve.step_response(hour * HOUR), own.step_response(hour * HOUR));
                let error = (found - expected) / expected.max(0.03 * latest);
                assert!(error.abs() < 3e-5, "{hour} h: {found}, {expected}");
            }
        }
    }

    #[test]
    fn is_shared_by_fields_that_differ_only_in_size_or_diffusivity() {
        let key = |size, conductivity| shape(size, conductivity).0.key();
        assert_eq!(key(1.0, 2.1), key(1.0, 2.2));
        assert_eq!(key(1.0, 1.0), key(2.0, 4.0));
        let (source, mut positions) = field(1.0);
        let of = |positions: &[[f64; 2]], times| {
            Shape::of(&ground(2.1), &[source], positions, &[], &times).0.key()
        };
        assert_eq!(key(1.0, 2.1), of(&positions, TIMES));
        assert_ne!(key(1.0, 2.1), of(&positions, HOUR..=8760.0 * HOUR));
        positions[3][0] += 0.01;
        assert_ne!(key(1.0, 2.1), of(&positions, TIMES));
    }

    #[test]
    fn a_field_far_from_the_origin_keeps_its_position() {
        let (source, mut positions) = field(0.1);
        positions.iter_mut().for_each(|position| position[0] += 9e4);
        let (shape, _) = Shape::of(&ground(2.0), &[source], &positions, &[], &TIMES);
        assert!(shape.response(&CancelToken::default()).is_ok());
    }
}
