//! Resistance between fluid and wall, and the flow's kelvins per watt, over the fluid's temperature.

use crate::bore::REGIME_LIMITS;
use crate::chebyshev::ChebyshevSeries;
use crate::error::Error;
use crate::fluid::{Fluid, FluidState};
use crate::ground_side::Bend;

/// Largest step of the table (K).
const STEP: f64 = 1.0;

/// Most bends with pieces of their own; kinks due to a viscosity that rises and falls again are covered by the pieces'
/// error.
const MOST_BENDS: usize = 8;

/// Distance of a bend from a row of the table below which it needs no piece of its own, in steps.
const ON_A_ROW: f64 = 1e-6;

/// Bisections that locate a bend to the last bit.
const HALVINGS: usize = 60;

/// Terms of the series of kelvins per watt.
pub const TERMS: usize = 6;

/// Places within a piece where its error is measured, close to the largest error of a smooth curve and away from the
/// rows of a fluid's own table.
const TEST_PLACES: [f64; 2] = [0.1875, 0.8125];

/// Bound of the error elsewhere in a piece, relative to that: a fluid's own table has kinks between the places.
const BETWEEN_PLACES: f64 = 2.0;

/// Resistance of the whole loop and kelvins per watt of its flow, over the mean fluid temperature.
///
/// The resistance is stored in pieces of at most one kelvin that end where a film changes its regime (Reynolds numbers
/// 2300 and 4000), where it is continuous but its slope is not. Within a piece,
///
/// ```text
/// R = (a + b x) / (1 + c x),   x the temperature above the row in steps
/// ```
///
/// through the exact values at its ends and middle. R has exactly this form if the Nusselt number is constant or linear
/// in the Reynolds number, and all fluid properties are linear in temperature.
#[derive(Debug, Clone, PartialEq)]
pub struct ResistanceTable {
    /// Temperature of the first row, steps per kelvin, number of rows.
    pub(super) first: f64,
    pub(super) per_step: f64,
    pub(super) rows: usize,
    /// In order of temperature; one before the first row, with the resistance at its beginning, one after the last.
    pub(super) pieces: Vec<[f64; 3]>,
    pub(super) bends: Vec<Bend<f64>>,
    /// Kelvins per watt, a polynomial in the temperature minus the middle of the table, divided by half its span.
    pub(super) kelvins_per_watt: [f64; TERMS],
    /// The same with three terms, accurate to some thousandths.
    pub(super) approximate_kelvins_per_watt: [f64; 3],
    /// Largest error found in each piece: resistance and kelvins per watt (K/W).
    errors: Vec<[f64; 2]>,
}

impl ResistanceTable {
    /// The table for a loop with a mass `flow` (kg/s).
    ///
    /// `reynolds` gives the Reynolds numbers of the films for a state of the fluid, `resistances` the resistance of the
    /// whole loop (K/W) for each of several states.
    ///
    /// # Errors
    /// Those of `resistances`.
    pub fn new(
        fluid: &Fluid,
        flow: f64,
        reynolds: impl Fn(&FluidState) -> Vec<f64>,
        resistances: impl Fn(&[FluidState]) -> Result<Vec<f64>, Error>,
    ) -> Result<Self, Error> {
        let [first, last] = fluid.temperatures();
        let rows = ((last - first) / STEP).ceil().max(1.0);
        let step = if last > first { (last - first) / rows } else { STEP };
        let node = |row: usize| first + step * row as f64;
        let mut bends = Vec::new();
        let mut pieces = Vec::new();
        for row in 0..rows as usize {
            let mut within = bends_between(fluid, &reynolds, node(row), node(row + 1));
            within.retain(|bend| {
                (ON_A_ROW..1.0 - ON_A_ROW).contains(&((bend - node(row)) / step)) && bends.len() < MOST_BENDS
            });
            within.truncate(MOST_BENDS - bends.len());
            bends.extend_from_slice(&within);
            let mut from = 0.0;
            for to in within.iter().map(|bend| (bend - node(row)) / step).chain([1.0]) {
                pieces.push((row, from, to));
                from = to;
            }
        }
        let places = |&(row, from, to): &(usize, f64, f64)| {
            let at = move |share: f64| node(row) + step * (from + share * (to - from));
            [0.0, 0.5, 1.0, TEST_PLACES[0], TEST_PLACES[1]].map(at)
        };
        let temperatures: Vec<f64> = pieces.iter().flat_map(places).collect();
        let states: Vec<FluidState> = temperatures.iter().map(|&at| fluid.at(at)).collect();
        let exact = resistances(&states)?;
        let (exact, _) = exact.as_chunks::<5>();

        let of_flow = |at: f64| 1.0 / (flow * fluid.at(at).heat_capacity);
        let ends = [exact[0][0], exact[exact.len() - 1][2]];
        let inner =
            pieces.iter().zip(exact).map(|(&(_, from, to), &[y0, ym, y1, ..])| piece(from, to, [y0, ym, y1]));
        let constant = |value: f64| [value, 0.0, 0.0];
        let mut table = Self {
            first,
            per_step: 1.0 / step,
            rows: rows as usize,
            pieces: std::iter::once(constant(ends[0])).chain(inner).chain([constant(ends[1])]).collect(),
            bends: Vec::new(),
            kelvins_per_watt: polynomial(first, last, of_flow),
            approximate_kelvins_per_watt: polynomial(first, last, of_flow),
            errors: Vec::new(),
        };
        // Evaluated individually, they could be read at the places of others.
        table.bends = bends.iter().map(|&temperature| Bend { temperature, resistance: 0.0 }).collect();
        for place in 0..table.bends.len() {
            table.bends[place].resistance = table.at(table.bends[place].temperature)[0];
        }
        let error = |(states, (exact, temperatures)): (&[FluidState], (&[f64; 5], &[f64]))| {
            let lost = |test: usize| {
                let found = table.at(temperatures[test]);
                let kelvins_per_watt = 1.0 / (flow * states[test].heat_capacity);
                [(found[0] - exact[test]).abs(), (found[1] - kelvins_per_watt).abs()]
            };
            let [one, other] = [lost(3), lost(4)];
            [0, 1].map(|which| BETWEEN_PLACES * f64::max(one[which], other[which]))
        };
        let errors: Vec<[f64; 2]> =
            states.chunks(5).zip(exact.iter().zip(temperatures.chunks(5))).map(error).collect();
        table.errors = std::iter::once([0.0; 2]).chain(errors).chain([[0.0; 2]]).collect();
        Ok(table)
    }

    /// Resistance and kelvins per watt (K/W) at a mean fluid temperature (degC); beyond the table those of its end.
    #[must_use]
    pub fn at(&self, temperature: f64) -> [f64; 2] {
        let [resistance, _] = self.resistance(temperature);
        let (middle, half) = self.span();
        let t = ((temperature - middle) / half).clamp(-1.0, 1.0);
        let kelvins_per_watt =
            self.kelvins_per_watt.iter().rev().fold(0.0, |sum, term| t.mul_add(sum, *term));
        [resistance, kelvins_per_watt]
    }

    /// Resistance (K/W) at a mean fluid temperature (degC) and its slope (1/W).
    #[must_use]
    pub fn resistance(&self, temperature: f64) -> [f64; 2] {
        let (piece, x) = self.place(temperature);
        let [a, b, c] = self.pieces[piece];
        let inverse = 1.0 / c.mul_add(x, 1.0);
        let value = b.mul_add(x, a) * inverse;
        [value, (-c).mul_add(value, b) * inverse * self.per_step]
    }

    /// Possible error of the table at a mean fluid temperature (degC), from the errors measured within the piece:
    /// resistance and kelvins per watt (K/W).
    #[must_use]
    pub fn error_at(&self, temperature: f64) -> [f64; 2] {
        self.errors[self.place(temperature).0]
    }

    /// Middle and half of the table's span (degC, K).
    pub(super) fn span(&self) -> (f64, f64) {
        let half = 0.5 * self.rows as f64 / self.per_step;
        (self.first + half, half)
    }

    /// The piece at a temperature, and the distance above its row, in steps.
    fn place(&self, temperature: f64) -> (usize, f64) {
        let place = ((temperature - self.first) * self.per_step + 1.0).clamp(0.0, self.rows as f64 + 1.5);
        let row = place as usize;
        let bends = self.bends.iter().filter(|bend| bend.temperature < temperature).count();
        (row + bends, place - row as f64)
    }
}

/// a, b and c of a piece between two places in steps above its row, from the values at its beginning, middle and end.
///
/// With u from 0 to 1 along the piece, y = y0 + (y1 - y0) u (1 + g) / (1 + g u), where the middle gives g. For values
/// that aren't monotonic there is no such curve without a pole; they are so flat that a straight line suffices.
fn piece(from: f64, to: f64, [y0, middle, y1]: [f64; 3]) -> [f64; 3] {
    let length = to - from;
    let share = (middle - y0) / (y1 - y0);
    let curved = |g: f64| {
        let rise = y0.mul_add(g, (y1 - y0) * (1.0 + g)) / length;
        [y0 - rise * from, rise, g / length, 1.0 - g * from / length]
    };
    let g = if (0.05..0.95).contains(&share) { (2.0 * share - 1.0) / (1.0 - share) } else { 0.0 };
    let [a, b, c, scale] =
        Some(curved(g)).filter(|[.., scale]| scale.abs() > 1e-6).unwrap_or_else(|| curved(0.0));
    [a / scale, b / scale, c / scale]
}

/// Temperatures between two others at which a Reynolds number crosses the limit of a regime, in order.
fn bends_between(fluid: &Fluid, reynolds: &impl Fn(&FluidState) -> Vec<f64>, from: f64, to: f64) -> Vec<f64> {
    let [at_from, at_to] = [from, to].map(|at| reynolds(&fluid.at(at)));
    let mut bends = Vec::new();
    for film in 0..at_from.len() {
        for limit in REGIME_LIMITS {
            if (at_from[film] > limit) == (at_to[film] > limit) {
                continue;
            }
            let is_beyond = |at: f64| (reynolds(&fluid.at(at))[film] > limit) == (at_to[film] > limit);
            let (mut before, mut beyond) = (from, to);
            for _ in 0..HALVINGS {
                let middle = 0.5 * (before + beyond);
                if is_beyond(middle) { beyond = middle } else { before = middle }
            }
            bends.push(0.5 * (before + beyond));
        }
    }
    bends.sort_by(f64::total_cmp);
    bends.dedup_by(|one, other| (*one - *other).abs() < ON_A_ROW);
    bends
}

/// Polynomial approximation of a smooth function between two temperatures, in the temperature minus their middle,
/// divided by half their distance: through Chebyshev points.
fn polynomial<const TERMS: usize>(first: f64, last: f64, of: impl Fn(f64) -> f64) -> [f64; TERMS] {
    let mut terms = [0.0; TERMS];
    if last <= first {
        terms[0] = of(first);
        return terms;
    }
    let samples: Vec<f64> = ChebyshevSeries::points(first, last, TERMS).map(of).collect();
    let series = ChebyshevSeries::through(first, last, &samples);
    // T0 = 1, T1 = t, T(n+1) = 2 t T(n) - T(n-1).
    let (mut polynomial, mut before) = ([0.0; TERMS], [0.0; TERMS]);
    polynomial[0] = 1.0;
    for (order, coefficient) in series.coefficients().iter().enumerate() {
        (0..TERMS).for_each(|power| terms[power] += coefficient * polynomial[power]);
        let factor = if order == 0 { 1.0 } else { 2.0 };
        let next = std::array::from_fn(|power| {
            factor * if power == 0 { 0.0 } else { polynomial[power - 1] } - before[power]
        });
        before = std::mem::replace(&mut polynomial, next);
    }
    terms
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::lane_layout::OneByOne;
    use crate::prepared::TableLanes;

    /// Where the films of the invented loop change their regimes (degC).
    const BENDS: [f64; 2] = [5.3, 22.3];

    /// A fluid of -10 to 30 degC whose conductivity encodes its temperature.
    fn fluid() -> Fluid {
        Fluid {
            name: "an invented fluid".to_owned(),
            freezing_point: -20.0,
            first_temperature: -10.0,
            temperature_step: 1.0,
            density: vec![1000.0; 41],
            heat_capacity: (0..41).map(|row| 4000.0 + 2.0 * f64::from(row)).collect(),
            conductivity: (0..41).map(|row| 0.40 + 0.01 * f64::from(row)).collect(),
            viscosity: vec![2e-3; 41],
        }
    }

    fn temperature(state: &FluidState) -> f64 {
        (state.conductivity - 0.40) / 0.01 - 10.0
    }

    /// Constant while laminar; 1 / R straight beyond, more steeply before the flow is turbulent.
    fn exact(temperature: f64) -> f64 {
        let transition = (temperature - BENDS[0]).clamp(0.0, BENDS[1] - BENDS[0]);
        1.0 / (100.0 + 20.0 * transition + 3.0 * (temperature - BENDS[1]).max(0.0))
    }

    fn table() -> ResistanceTable {
        let reynolds = |state: &FluidState| vec![2300.0 + 100.0 * (temperature(state) - BENDS[0])];
        let of = |states: &[FluidState]| Ok(states.iter().map(|state| exact(temperature(state))).collect());
        ResistanceTable::new(&fluid(), 0.5, reynolds, of).unwrap()
    }

    #[test]
    fn pieces_end_at_the_bends_and_are_exact_between_them() {
        let table = table();
        let bends: Vec<f64> = table.bends.iter().map(|bend| bend.temperature).collect();
        assert!(bends.iter().zip(BENDS).all(|(found, bend)| (found - bend).abs() < 1e-9), "{bends:?}");
        assert!((table.bends[0].resistance - exact(BENDS[0])).abs() < 1e-12);
        for step in 0..=5000 {
            let at = -12.0 + 0.009 * f64::from(step);
            let within = at.clamp(-10.0, 30.0);
            let [resistance, kelvins_per_watt] = table.at(at);
            assert!((resistance / exact(within) - 1.0).abs() < 1e-9, "{at} degC: {resistance}");
            let flow = 1.0 / (0.5 * fluid().at(within).heat_capacity);
            assert!((kelvins_per_watt / flow - 1.0).abs() < 1e-9, "{at} degC: {kelvins_per_watt}");
            let [off, _] = table.error_at(at);
            assert!((resistance - exact(within)).abs() <= off + 1e-15, "{at} degC: {off}");
        }
    }

    #[test]
    fn slopes_are_those_of_small_steps() {
        let table = table();
        for at in [-11.0, -9.5, 0.25, 5.29, 5.31, 14.7, 22.29, 22.31, 29.5, 31.0] {
            let [_, slope] = table.resistance(at);
            let near = |at: f64| table.resistance(at)[0];
            let small = (near(at + 1e-5) - near(at - 1e-5)) / 2e-5;
            assert!((slope - small).abs() < 1e-8 + 1e-5 * slope.abs(), "{at} degC: {slope} {small}");
        }
    }

    #[test]
    fn lanes_agree_with_a_single_table() {
        let table = table();
        let lanes = TableLanes::new(OneByOne, &[&Arc::new(table.clone())]);
        for step in 0..=4400 {
            let at = -12.0 + 0.01 * f64::from(step);
            let ([resistance, slope], found) = (table.resistance(at), lanes.resistance(at));
            assert!((found.value / resistance - 1.0).abs() < 1e-12, "{at} degC");
            // At the end of a piece the slope is that of one side or the other.
            let beside = [-1e-7, 1e-7].map(|by| table.resistance(at + by)[1]);
            let is_near = |other: f64| (found.slope - other).abs() < 1e-6 * other.abs() + 1e-12;
            assert!(is_near(slope) || beside.into_iter().any(is_near), "{at} degC: {} {slope}", found.slope);
            let [_, kelvins_per_watt] = table.at(at);
            assert!((lanes.kelvins_per_watt(at).value / kelvins_per_watt - 1.0).abs() < 1e-12, "{at} degC");
        }
    }

    #[test]
    fn a_piece_passes_through_its_three_values() {
        let curve = |x: f64| (2.0 + 3.0 * x) / (1.0 + 0.5 * x);
        for (from, to) in [(0.0, 1.0), (0.3, 0.8), (0.3, 1.0)] {
            let found = piece(from, to, [curve(from), curve(0.5 * (from + to)), curve(to)]);
            for (found, expected) in found.into_iter().zip([2.0, 3.0, 0.5]) {
                assert!((found - expected).abs() < 1e-9, "{from} to {to}: {found}");
            }
        }
        // Values that rise and fall again are joined by a straight line from end to end.
        assert_eq!(piece(0.0, 1.0, [1.0, 2.0, 1.5]), [1.0, 0.5, 0.0]);
        assert_eq!(piece(0.0, 1.0, [1.0, 1.0, 1.0]), [1.0, 0.0, 0.0]);
    }
}
