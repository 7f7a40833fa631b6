//! What the heat pump does near a temperature, and the hours that this solves.

use super::stretch::Stretch;
use crate::ground_side::Offer;
use crate::heat_pump::{Operation, ReadyHeatPump, Tangent};
use crate::hours::Hours;
use crate::lanes::Lanes;

/// A correction [K] after which an hour is solved: with the slope it is made with, what remains is below 1e-7 K.
const LAST_CORRECTION: f64 = 1e-5;

/// A straight line over a temperature for each hour [W].
#[derive(Debug, Clone, Copy)]
struct Line<const L: usize, const H: usize> {
    /// Where the temperature is 0 degC.
    at_zero: Hours<L, H>,
    slope: Hours<L, H>,
}

impl<const L: usize, const H: usize> Line<L, H> {
    const ZERO: Self = Self { at_zero: Hours::ZERO, slope: Hours::ZERO };

    #[inline(always)]
    fn at(&self, hour: usize, temperature: Lanes<L>) -> Lanes<L> {
        self.slope[hour].mul_add(temperature, self.at_zero[hour])
    }

    /// Sets a part to the line that touches a curve at temperatures.
    #[inline(always)]
    fn touch<const W: usize>(&mut self, first: usize, curve: Tangent<W>, temperatures: Lanes<W>) {
        self.at_zero.set_part(first, (-curve.slope).mul_add(temperatures, curve.value));
        self.slope.set_part(first, curve.slope);
    }
}

/// Heat extracted in a stretch of hours over the open-circuit temperature, the entering fluid temperature without heat in the hour,
/// near what is expected there.
///
/// As the loads come again year after year, so do the temperatures, but for the drift: the tangents of the year before tell nearly
/// where this year's hours end, and the curves need to be worked out but once, there.
#[derive(Debug, Clone, Copy)]
pub(super) struct Plan<const L: usize, const H: usize>(Line<L, H>);

/// What the heat pump does near the entering fluid temperatures at which its curves were worked out.
#[derive(Debug, Clone, Copy)]
pub(super) struct Work<const L: usize, const H: usize> {
    entering_fluid: Hours<L, H>,
    /// Heat given to the building and taken from it over the entering fluid temperature.
    heating: Line<L, H>,
    cooling: Line<L, H>,
}

/// The hours of a stretch as a plan solves them.
#[derive(Debug, Clone, Copy)]
pub(super) struct Solution<const L: usize, const H: usize> {
    /// Entering fluid temperature [degC].
    pub entering_fluid: Hours<L, H>,
    /// Heat extracted from the ground, less what goes into it past the heat pump [W].
    pub heat: Hours<L, H>,
}

impl<const L: usize, const H: usize> Plan<L, H> {
    pub const NONE: Self = Self(Line::ZERO);

    /// Plans with an amount of electricity for each watt that is asked for, whatever the temperature.
    #[inline(always)]
    pub fn assume(&mut self, stretch: &Stretch<H>, electricity: Lanes<L>) {
        for hour in 0..H {
            let (heating, cooling) = (stretch.heating[hour], stretch.cooling[hour]);
            let rest = Lanes::all(heating - cooling - stretch.besides[hour]);
            self.0.at_zero[hour] = (-electricity).mul_add(Lanes::all(heating + cooling), rest);
        }
    }

    /// Works out the curves at entering fluid temperatures and plans with their tangents; lane `i` of the heat pumps is design
    /// `i % L`.
    ///
    /// With v and s the value and slope of the heat that the heat pump extracts at a temperature T, b what goes into the ground
    /// besides, R the ground's first answer and O the open-circuit temperature, the heat q and the entering fluid E of an hour are
    ///
    /// ```text
    /// q = v - b + s (E - T)   with   E = O - R q
    /// q = (v - b - s T + s O) / (1 + R s)
    /// ```
    #[inline(always)]
    pub fn work_out<const W: usize>(
        &mut self,
        entering_fluid: &Hours<L, H>,
        heat_pumps: &ReadyHeatPump<W>,
        offer: &Offer<L, H>,
        stretch: &Stretch<H>,
    ) -> Work<L, H> {
        let mut work = Work { entering_fluid: *entering_fluid, heating: Line::ZERO, cooling: Line::ZERO };
        let resistance = Lanes::<W>::each(|lane| offer.answers[0].0[lane % L]);
        for part in 0..L * H / W {
            let first = part * W;
            let at = entering_fluid.part::<W>(first);
            let done: Operation<Tangent<W>> = heat_pumps.operate(at, &stretch.asked::<L, W>(first));
            work.heating.touch(first, done.heating, at);
            work.cooling.touch(first, done.cooling, at);
            let Tangent { value, slope } = done.heat_extracted;
            let besides = Lanes::each(|lane| stretch.besides[(first + lane) / L]);
            let share = resistance.mul_add(slope, Lanes::all(1.0)).recip();
            self.0.at_zero.set_part(first, (-slope).mul_add(at, value - besides) * share);
            self.0.slope.set_part(first, slope * share);
        }
        work
    }

    /// The hours that follow if the heat extracted keeps to the plan.
    #[inline(always)]
    pub fn solve(&self, offer: &Offer<L, H>) -> Solution<L, H> {
        let mut heat = Hours::ZERO;
        let mut open_circuit = offer.settled;
        for hour in 0..H {
            heat[hour] = self.0.at(hour, open_circuit[hour]);
            for later in hour + 1..H {
                open_circuit[later] = (-offer.answers[later - hour]).mul_add(heat[hour], open_circuit[later]);
            }
        }
        let mut entering_fluid = open_circuit;
        for hour in 0..H {
            entering_fluid[hour] = (-offer.answers[0]).mul_add(heat[hour], open_circuit[hour]);
        }
        Solution { entering_fluid, heat }
    }
}

impl<const L: usize, const H: usize> Work<L, H> {
    /// Nothing.
    pub const NONE: Self = Self { entering_fluid: Hours::ZERO, heating: Line::ZERO, cooling: Line::ZERO };

    /// Designs whose solution is where the curves were worked out.
    #[inline(always)]
    pub fn serves(&self, solution: &Solution<L, H>) -> [bool; L] {
        let mut farthest = Lanes::all(0.0);
        for hour in 0..H {
            let correction = solution.entering_fluid[hour] - self.entering_fluid[hour];
            farthest = farthest.max(correction.abs());
        }
        farthest.is_below(Lanes::all(LAST_CORRECTION))
    }

    /// Where to work out the curves next: what is solved stays where it was, and so comes out as it did.
    #[inline(always)]
    pub fn next(&self, is_solved: [bool; L], entering_fluid: &Hours<L, H>) -> Hours<L, H> {
        let mut next = self.entering_fluid;
        for hour in 0..H {
            next[hour] = next[hour].or_else(is_solved, entering_fluid[hour]);
        }
        next
    }

    /// Heat given to the building at an entering fluid temperature [W].
    #[inline(always)]
    pub fn heating(&self, hour: usize, entering_fluid: Lanes<L>) -> Lanes<L> {
        self.heating.at(hour, entering_fluid)
    }

    /// Heat taken from the building at an entering fluid temperature [W].
    #[inline(always)]
    pub fn cooling(&self, hour: usize, entering_fluid: Lanes<L>) -> Lanes<L> {
        self.cooling.at(hour, entering_fluid)
    }
}
