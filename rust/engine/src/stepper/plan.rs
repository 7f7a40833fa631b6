//! What heat pump and loop do near a temperature, and the hours that this solves.

use super::newton::NOWHERE;
use super::time_block::TimeBlock;
use crate::ground_side::{Bend, GroundSide, Offer};
use crate::heat_pump::{Operation, ReadyHeatPump, Tangent};
use crate::lane_layout::LaneLayout;
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
    fn touch<A: LaneLayout<Designs = N>>(
        &mut self,
        layout: A,
        part: usize,
        curve: Tangent<A::Wide>,
        temperatures: A::Wide,
    ) {
        self.set_part(layout, part, [(-curve.slope).mul_add(temperatures, curve.value), curve.slope]);
    }

    /// Sets a part to a line by its value at 0 degC and its slope.
    #[inline(always)]
    fn set_part<A: LaneLayout<Designs = N>>(
        &mut self,
        layout: A,
        part: usize,
        [at_zero, slope]: [A::Wide; 2],
    ) {
        layout.set_part(&mut self.at_zero, part, at_zero);
        layout.set_part(&mut self.slope, part, slope);
    }
}

/// Heat extracted and entering fluid temperature in a time block over the open-circuit temperature, that which the loop meets
/// without heat in the hour, near what is expected there.
///
/// As the loads come again year after year, so do the temperatures, but for the drift: the tangents of the year before tell nearly
/// where this year's hours end, and the curves need to be worked out but once, there.
#[derive(Debug, Clone, Copy)]
pub(super) struct Plan<N, const H: usize> {
    heat: Line<N, H>,
    entering_fluid: Line<N, H>,
}

/// What heat pump and loop do near the entering fluid temperatures at which their curves were worked out.
#[derive(Debug, Clone, Copy)]
#[repr(C, align(64))]
pub(super) struct Work<N, const H: usize> {
    entering_fluid: [N; H],
    mean_fluid: [N; H],
    /// Of the loop there, and of its flow [K/W].
    pub resistance: [N; H],
    pub kelvins_per_watt: [N; H],
    /// Heat given to the building and taken from it over the entering fluid temperature.
    heating: Line<N, H>,
    cooling: Line<N, H>,
    /// Whether any design needed bisection since this was last taken away, and an hour of the time block that it couldn't solve.
    pub is_bisected: bool,
    pub not_converged: Option<usize>,
}

/// The hours of a time block as a plan solves them.
#[derive(Debug, Clone, Copy)]
#[repr(C, align(64))]
pub(super) struct Solution<N, const H: usize> {
    /// Entering fluid temperature [degC].
    pub entering_fluid: [N; H],
    /// Heat extracted from the ground, less what goes into it past the heat pump [W].
    pub heat: [N; H],
}

impl<N: Lanes, const H: usize> Plan<N, H> {
    /// No heat, whatever the temperature.
    pub fn none(zero: N) -> Self {
        Self { heat: Line::flat(zero), entering_fluid: Line::flat(zero) }
    }

    /// Plans with an amount of electricity for each watt that is asked for, and with the loop's resistance at the temperature that it
    /// meets, whatever the temperature.
    #[inline(always)]
    pub fn assume<A: LaneLayout<Designs = N>>(
        &mut self,
        layout: A,
        time_block: &TimeBlock<H>,
        electricity: N,
        offer: &Offer<N, H>,
        ground_side: &impl GroundSide<A, H>,
    ) {
        for hour in 0..H {
            let (heating, cooling) = (time_block.heating()[hour], time_block.cooling()[hour]);
            let rest = electricity.like(heating - cooling - time_block.besides[hour]);
            self.heat.at_zero[hour] = (-electricity).mul_add(electricity.like(heating + cooling), rest);
        }
        let own = layout.throughout(offer.pulse_response[0]);
        let (one, half) = (own.like(1.0), own.like(0.5));
        for part in 0..A::parts(H) {
            let at = layout.part(&offer.no_load_temperature, part);
            let flow = ground_side.kelvins_per_watt_nearly(at);
            let fall = (-flow).mul_add(half, own + ground_side.resistance(at).value);
            let entering = -(fall * layout.part(&self.heat.at_zero, part));
            layout.set_part(&mut self.entering_fluid.at_zero, part, entering);
            layout.set_part(&mut self.entering_fluid.slope, part, one);
        }
    }

    /// Works out the curves at the work's entering fluid temperatures and plans with their tangents.
    ///
    /// At the entering fluid temperature E* of the work, v and s are the value and slope of the heat that the heat pump extracts less
    /// what goes into the ground besides; at the mean fluid temperature M* that belongs to it, R and K the loop's resistance and the
    /// flow's kelvins per watt, with slopes R' and K'. With the ground's first answer a, heat q, entering fluid E and mean fluid M of
    /// an hour whose open-circuit temperature is U are, by one step of Newton's iteration in all three,
    ///
    /// ```text
    /// q = v + s (E - E*)
    /// M = U - (a + R) q - R' v (M - M*)
    /// E = M + K q / 2 + K' v (M - M*) / 2
    /// ```
    ///
    /// With w = 1 + R' v, x = 1 + K' v / 2, z = x (a + R) - w K / 2, and f = 1 / (w + s z) these are
    ///
    /// ```text
    /// E = f (x U + (w - x) M* - z (v - s E*))
    /// q = s E + v - s E*
    /// ```
    #[inline(always)]
    pub fn work_out<A: LaneLayout<Designs = N>>(
        &mut self,
        layout: A,
        heat_pumps: &ReadyHeatPump<A::Wide>,
        work: &mut Work<N, H>,
        offer: &Offer<N, H>,
        ground_side: &impl GroundSide<A, H>,
        time_block: &TimeBlock<H>,
    ) {
        let own = layout.throughout(offer.pulse_response[0]);
        let (one, half) = (own.like(1.0), own.like(0.5));
        for part in 0..A::parts(H) {
            let at = layout.part(&work.entering_fluid, part);
            let loads = time_block.loads(layout, part);
            let done: Operation<Tangent<A::Wide>> = heat_pumps.operate(at, &loads);
            if loads.heating.is_some() {
                work.heating.touch(layout, part, done.heating, at);
            }
            if loads.cooling.is_some() {
                work.cooling.touch(layout, part, done.cooling, at);
            }
            let slope = done.heat_extracted.slope;
            let value = done.heat_extracted.value - layout.shared(&time_block.besides, part);

            let half_heat = half * value;
            let near = (-half_heat).mul_add(ground_side.kelvins_per_watt_nearly(at), at);
            let flow = ground_side.kelvins_per_watt(near);
            let off = (-half_heat).mul_add(flow.value, at) - near;
            let kelvins_per_watt = flow.slope.mul_add(off, flow.value);
            let mean = (-half_heat).mul_add(kelvins_per_watt, at);
            let resistance = ground_side.resistance(mean);
            layout.set_part(&mut work.mean_fluid, part, mean);
            layout.set_part(&mut work.resistance, part, resistance.value);
            layout.set_part(&mut work.kelvins_per_watt, part, kelvins_per_watt);

            let w = resistance.slope.mul_add(value, one);
            let x = flow.slope.mul_add(half_heat, one);
            let z = x * (own + resistance.value) - w * (half * kelvins_per_watt);
            let f = one.over(slope.mul_add(z, w));
            let at_zero = (-slope).mul_add(at, value);
            let moved = (w - x) * mean;
            let entering = [(moved - z * at_zero) * f, x * f];
            self.entering_fluid.set_part(layout, part, entering);
            self.heat.set_part(layout, part, [slope.mul_add(entering[0], at_zero), slope * entering[1]]);
        }
    }

    /// The hours that follow if heat and entering fluid keep to the plan.
    #[inline(always)]
    pub fn solve(&self, offer: &Offer<N, H>, solution: &mut Solution<N, H>) {
        let mut open_circuit = offer.no_load_temperature;
        for hour in 0..H {
            let heat = self.heat.at(hour, open_circuit[hour]);
            for later in hour + 1..H {
                open_circuit[later] =
                    (-offer.pulse_response[later - hour]).mul_add(heat, open_circuit[later]);
            }
            solution.heat[hour] = heat;
            solution.entering_fluid[hour] = self.entering_fluid.at(hour, open_circuit[hour]);
        }
    }
}

impl<N: Lanes, const H: usize> Solution<N, H> {
    /// Nothing.
    pub fn none(zero: N) -> Self {
        Self { entering_fluid: [zero; H], heat: [zero; H] }
    }
}

impl<N: Lanes, const H: usize> Work<N, H> {
    /// Nothing.
    pub fn none(zero: N) -> Self {
        Self {
            entering_fluid: [zero; H],
            mean_fluid: [zero; H],
            resistance: [zero; H],
            kelvins_per_watt: [zero; H],
            heating: Line::flat(zero),
            cooling: Line::flat(zero),
            is_bisected: false,
            not_converged: None,
        }
    }

    /// Where to work out the curves first.
    #[inline(always)]
    pub fn begin(&mut self, entering_fluid: &[N; H]) {
        self.entering_fluid = *entering_fluid;
    }

    /// Designs whose solution is not where the curves were worked out.
    #[inline(always)]
    pub fn misses(&self, solution: &Solution<N, H>) -> N::Mask {
        let mut lowest = self.entering_fluid[0].like(0.0);
        let mut highest = lowest;
        for hour in 0..H {
            let correction = solution.entering_fluid[hour] - self.entering_fluid[hour];
            lowest = lowest.min(correction);
            highest = highest.max(correction);
        }
        highest.max(-lowest).is_below(highest.like(LAST_CORRECTION)).not()
    }

    /// Whether any hour may have a colder solution below a bend of the resistance.
    #[inline(always)]
    pub fn may_be_colder<A: LaneLayout<Designs = N>>(
        &self,
        layout: A,
        ground_side: &impl GroundSide<A, H>,
        solution: &Solution<N, H>,
    ) -> bool {
        let mut any = false;
        for part in 0..A::parts(H) {
            for bend in ground_side.bends() {
                any |= self.is_colder_below(layout, bend, solution, part).any();
            }
        }
        any
    }

    /// Entering fluid temperatures to begin with below the bends, where there may be a colder solution; elsewhere [`NOWHERE`].
    pub fn colder<A: LaneLayout<Designs = N>>(
        &self,
        layout: A,
        ground_side: &impl GroundSide<A, H>,
        solution: &Solution<N, H>,
    ) -> [N; H] {
        let mut starts = [solution.heat[0].like(NOWHERE); H];
        for part in 0..A::parts(H) {
            // The coldest of them comes first.
            for bend in ground_side.bends().iter().rev() {
                let is_colder = self.is_colder_below(layout, bend, solution, part);
                let before = layout.part(&starts, part);
                layout.set_part(&mut starts, part, bend.temperature.or_else(is_colder, before));
            }
        }
        starts
    }

    /// Where the mean fluid is above a bend whose resistance would, with the same heat, bring it below.
    #[inline(always)]
    fn is_colder_below<A: LaneLayout<Designs = N>>(
        &self,
        layout: A,
        bend: &Bend<A::Wide>,
        solution: &Solution<N, H>,
        part: usize,
    ) -> <A::Wide as Lanes>::Mask {
        let above = layout.part(&self.mean_fluid, part) - bend.temperature;
        let more = bend.resistance - layout.part(&self.resistance, part);
        above.like(0.0).is_below(above).and(above.is_below(more * layout.part(&solution.heat, part)))
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
