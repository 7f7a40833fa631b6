//! What the heat pump does near a temperature, and the hours that this solves.

use super::stretch::Stretch;
use crate::abreast::Abreast;
use crate::ground_side::Offer;
use crate::heat_pump::{Operation, ReadyHeatPump, Tangent};
use crate::lanes::{Lanes, Mask};

/// A correction [K] after which an hour is solved: with the slope it is made with, what remains is below 1e-7 K.
const LAST_CORRECTION: f64 = 1e-5;

/// A straight line over a temperature for each hour [W].
#[derive(Debug, Clone, Copy)]
#[repr(C, align(64))]
struct Line<N, const H: usize> {
    /// Where the temperature is 0 degC.
    at_zero: [N; H],
    slope: [N; H],
}

impl<N: Lanes, const H: usize> Line<N, H> {
    fn flat(value: N) -> Self {
        Self { at_zero: [value; H], slope: [value.like(0.0); H] }
    }

    #[inline(always)]
    fn at(&self, hour: usize, temperature: N) -> N {
        self.slope[hour].mul_add(temperature, self.at_zero[hour])
    }

    /// Sets a part to the line that touches a curve at temperatures.
    #[inline(always)]
    fn touch<A: Abreast<Designs = N>>(
        &mut self,
        abreast: A,
        part: usize,
        curve: Tangent<A::Wide>,
        temperatures: A::Wide,
    ) {
        abreast.set_part(&mut self.at_zero, part, (-curve.slope).mul_add(temperatures, curve.value));
        abreast.set_part(&mut self.slope, part, curve.slope);
    }
}

/// Heat extracted in a stretch of hours over the open-circuit temperature, the entering fluid temperature without heat in the hour,
/// near what is expected there.
///
/// As the loads come again year after year, so do the temperatures, but for the drift: the tangents of the year before tell nearly
/// where this year's hours end, and the curves need to be worked out but once, there.
#[derive(Debug, Clone, Copy)]
pub(super) struct Plan<N, const H: usize>(Line<N, H>);

/// What the heat pump does near the entering fluid temperatures at which its curves were worked out.
#[derive(Debug, Clone, Copy)]
#[repr(C, align(64))]
pub(super) struct Work<N, const H: usize> {
    entering_fluid: [N; H],
    /// Heat given to the building and taken from it over the entering fluid temperature.
    heating: Line<N, H>,
    cooling: Line<N, H>,
}

/// The hours of a stretch as a plan solves them.
#[derive(Debug, Clone, Copy)]
#[repr(C, align(64))]
pub(super) struct Solution<N, const H: usize> {
    /// Entering fluid temperature [degC].
    pub entering_fluid: [N; H],
    /// Heat extracted from the ground, less what goes into it past the heat pump [W].
    pub heat: [N; H],
}

impl<N: Lanes, const H: usize> Plan<N, H> {
    /// Plans with an amount of electricity for each watt that is asked for, whatever the temperature.
    #[inline(always)]
    pub fn assume(stretch: &Stretch<H>, electricity: N) -> Self {
        let mut plan = Self(Line::flat(electricity.like(0.0)));
        for hour in 0..H {
            let (heating, cooling) = (stretch.heating()[hour], stretch.cooling()[hour]);
            let rest = electricity.like(heating - cooling - stretch.besides[hour]);
            plan.0.at_zero[hour] = (-electricity).mul_add(electricity.like(heating + cooling), rest);
        }
        plan
    }

    /// Works out the curves at the work's entering fluid temperatures and plans with their tangents: nearly, or exactly for the
    /// designs whose `exactly` is above zero.
    ///
    /// With v and s the value and slope at a temperature T of the heat that the heat pump extracts less what goes into the ground
    /// besides, and R the ground's first answer, the heat q and the entering fluid E of an hour whose open-circuit temperature is O
    /// are
    ///
    /// ```text
    /// q = v + s (E - T)   with   E = O - R q
    /// q = v + s f (O - T - R v)   with   f = 1 / (1 + R s)
    /// ```
    ///
    /// Where E ends at T, whatever f is does. Nearly, it is `1 - R s f` of the year before, improved by one step of Newton's iteration
    /// for the reciprocal: that saves a division.
    #[inline(always)]
    pub fn work_out<A: Abreast<Designs = N>>(
        &mut self,
        abreast: A,
        heat_pumps: &ReadyHeatPump<A::Wide>,
        work: &mut Work<N, H>,
        offer: &Offer<N, H>,
        stretch: &Stretch<H>,
        exactly: Option<N>,
    ) {
        let resistance = abreast.throughout(offer.answers[0]);
        let one = resistance.like(1.0);
        for part in 0..A::parts(H) {
            let at = abreast.part(&work.entering_fluid, part);
            let asked = stretch.asked(abreast, part);
            let done: Operation<Tangent<A::Wide>> = heat_pumps.operate(at, &asked);
            if asked.heating.is_some() {
                work.heating.touch(abreast, part, done.heating, at);
            }
            if asked.cooling.is_some() {
                work.cooling.touch(abreast, part, done.cooling, at);
            }
            let slope = done.heat_extracted.slope;
            let value = done.heat_extracted.value - abreast.shared(&stretch.besides, part);
            let divisor = resistance.mul_add(slope, one);
            let line = |share: A::Wide| {
                let slope = slope * share;
                ((-slope).mul_add(resistance.mul_add(value, at), value), slope)
            };
            let before = (abreast.part(&self.0.at_zero, part), abreast.part(&self.0.slope, part));
            let (at_zero, slope) = if let Some(exactly) = exactly {
                let is_wanted = one.like(0.0).is_below(abreast.throughout(exactly));
                let (at_zero, slope) = line(one.over(divisor));
                (at_zero.or_else(is_wanted, before.0), slope.or_else(is_wanted, before.1))
            } else {
                let share = (-resistance).mul_add(before.1, one);
                line(share * (-divisor).mul_add(share, one + one))
            };
            abreast.set_part(&mut self.0.at_zero, part, at_zero);
            abreast.set_part(&mut self.0.slope, part, slope);
        }
    }

    /// The hours that follow if the heat extracted keeps to the plan.
    #[inline(always)]
    pub fn solve(&self, offer: &Offer<N, H>) -> Solution<N, H> {
        let mut heat = [offer.kelvins_per_watt; H];
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

impl<N: Lanes, const H: usize> Work<N, H> {
    /// Nothing.
    pub fn none(zero: N) -> Self {
        Self { entering_fluid: [zero; H], heating: Line::flat(zero), cooling: Line::flat(zero) }
    }

    /// Where to work out the curves first.
    #[inline(always)]
    pub fn begin(&mut self, entering_fluid: &[N; H]) {
        self.entering_fluid = *entering_fluid;
    }

    /// Designs whose solution is not where the curves were worked out.
    #[inline(always)]
    pub fn misses(&self, solution: &Solution<N, H>) -> N::Mask {
        let mut farthest = self.entering_fluid[0].like(0.0);
        for hour in 0..H {
            let correction = solution.entering_fluid[hour] - self.entering_fluid[hour];
            farthest = farthest.max(correction.abs());
        }
        farthest.is_below(farthest.like(LAST_CORRECTION)).not()
    }

    /// Where to work out the curves next: what is solved stays where it was, and so comes out as it did.
    #[inline(always)]
    pub fn go_on(&mut self, is_open: N::Mask, entering_fluid: &[N; H]) {
        for hour in 0..H {
            self.entering_fluid[hour] = entering_fluid[hour].or_else(is_open, self.entering_fluid[hour]);
        }
    }

    /// Heat given to the building at an entering fluid temperature [W].
    #[inline(always)]
    pub fn heating(&self, hour: usize, entering_fluid: N) -> N {
        self.heating.at(hour, entering_fluid)
    }

    /// Heat taken from the building at an entering fluid temperature [W].
    #[inline(always)]
    pub fn cooling(&self, hour: usize, entering_fluid: N) -> N {
        self.cooling.at(hour, entering_fluid)
    }
}
