//! Heat pump and loop linearized at an operating point, and the solution of the linear equations.

use super::newton::NOWHERE;
use super::time_block::TimeBlock;
use crate::ground_side::{Bend, GroundSide, Offer};
use crate::heat_pump::{ModeLoads, Operation, PreparedHeatPump, Tangent};
use crate::lane_layout::{Demanded, LaneLayout};
use crate::lanes::{Lanes, Mask};

/// Largest correction [K] after which an hour counts as solved: with its slope, the remaining error is below 1e-7 K.
const LAST_CORRECTION: f64 = 1e-5;

/// A straight line over a temperature for each hour [W].
#[derive(Debug, Clone, Copy)]
#[repr(C, align(64))]
struct Line<N, const H: usize> {
    /// Value at 0 degC.
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

    /// Sets a part to the tangents of curves at temperatures.
    #[inline(always)]
    fn set_tangent<A: LaneLayout<Designs = N>>(
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

/// Heat extracted and entering fluid temperature of each hour of a time block as linear functions of the open-circuit
/// temperature, which is the temperature at the loop without heat in the hour.
///
/// Loads repeat every year, and so do the temperatures, except for the drift. The tangents of the previous year therefore
/// predict this year's hours closely, and in most years one evaluation of the curves, at the prediction, suffices.
#[derive(Debug, Clone, Copy)]
pub(super) struct Plan<N, const H: usize> {
    heat: Line<N, H>,
    entering_fluid: Line<N, H>,
}

/// The operating point of each hour, where the curves of heat pump and loop were last evaluated.
#[derive(Debug, Clone, Copy)]
#[repr(C, align(64))]
pub(super) struct OperatingPoint<N, const H: usize> {
    entering_fluid: [N; H],
    mean_fluid: [N; H],
    /// Resistance of the loop, and the flow's kelvins per watt [K/W].
    pub resistance: [N; H],
    pub kelvins_per_watt: [N; H],
    /// Heating and cooling delivered, over the entering fluid temperature.
    heating: Line<N, H>,
    cooling: Line<N, H>,
    /// Heat extracted by the heat pump [W], and its slope.
    heat_extracted: Tangent<[N; H]>,
    /// Whether any design needed bisection since this was last reset, and an hour of the time block that it couldn't solve.
    pub is_bisected: bool,
    pub not_converged: Option<usize>,
}

/// The hours of a time block as solved by a plan.
#[derive(Debug, Clone, Copy)]
#[repr(C, align(64))]
pub(super) struct Solution<N, const H: usize> {
    /// Entering fluid temperature [degC].
    pub entering_fluid: [N; H],
    /// Heat extracted from the ground, minus the heat supplied directly to the loop [W].
    pub heat: [N; H],
}

impl<N: Lanes, const H: usize> Plan<N, H> {
    /// No heat at any temperature.
    pub fn none(zero: N) -> Self {
        Self { heat: Line::flat(zero), entering_fluid: Line::flat(zero) }
    }

    /// Assumes a constant electricity per watt of load, and the loop's resistance at the no-load temperature.
    #[inline(always)]
    pub fn guess<A: LaneLayout<Designs = N>>(
        &mut self,
        layout: A,
        time_block: &TimeBlock<A::Demand, H>,
        electricity: N,
        offer: &Offer<N, H>,
        ground_side: &impl GroundSide<A, H>,
    ) {
        for hour in 0..H {
            let of = |number: A::Demand| number.per_design(electricity);
            let (heating, cooling) = (of(time_block.heating()[hour]), of(time_block.cooling()[hour]));
            let rest = heating - cooling - of(time_block.net_recharge[hour]);
            self.heat.at_zero[hour] = (-electricity).mul_add(heating + cooling, rest);
        }
        let own = layout.throughout(offer.pulse_response[0]);
        let (one, half) = (own.like(1.0), own.like(0.5));
        for part in 0..A::parts(H) {
            let at = layout.part(&offer.no_load_temperature, part);
            let flow = ground_side.approximate_kelvins_per_watt(at);
            let fall = (-flow).mul_add(half, own + ground_side.resistance(at).value);
            let entering = -(fall * layout.part(&self.heat.at_zero, part));
            layout.set_part(&mut self.entering_fluid.at_zero, part, entering);
            layout.set_part(&mut self.entering_fluid.slope, part, one);
        }
    }

    /// Evaluates the curves at the operating point and replaces the plan by their tangents.
    ///
    /// At the entering fluid temperature E* of the operating point, v and s are value and slope of the heat extracted by the
    /// heat pump minus the heat supplied directly to the loop. At the mean fluid temperature M* that belongs to E* and v, R
    /// and K are the loop's resistance and the flow's kelvins per watt, with slopes R' and K'. With the ground's first pulse
    /// response a, one step of Newton's iteration gives the heat q, entering fluid E and mean fluid M of an hour with the
    /// open-circuit temperature U:
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
    pub fn linearize<A: LaneLayout<Designs = N>>(
        &mut self,
        layout: A,
        heat_pumps: &PreparedHeatPump<A::Wide>,
        point: &mut OperatingPoint<N, H>,
        offer: &Offer<N, H>,
        ground_side: &impl GroundSide<A, H>,
        time_block: &TimeBlock<A::Demand, H>,
    ) {
        let own = layout.throughout(offer.pulse_response[0]);
        let (one, half) = (own.like(1.0), own.like(0.5));
        point.operate(layout, heat_pumps, time_block);
        for part in 0..A::parts(H) {
            let at = layout.part(&point.entering_fluid, part);
            let slope = layout.part(&point.heat_extracted.slope, part);
            let from_heat_pump = layout.part(&point.heat_extracted.value, part);
            let value = from_heat_pump - layout.demanded(&time_block.net_recharge, part);

            let half_heat = half * value;
            let near = (-half_heat).mul_add(ground_side.approximate_kelvins_per_watt(at), at);
            let flow = ground_side.kelvins_per_watt(near);
            let off = (-half_heat).mul_add(flow.value, at) - near;
            let kelvins_per_watt = flow.slope.mul_add(off, flow.value);
            let mean = (-half_heat).mul_add(kelvins_per_watt, at);
            let resistance = ground_side.resistance(mean);
            layout.set_part(&mut point.mean_fluid, part, mean);
            layout.set_part(&mut point.resistance, part, resistance.value);
            layout.set_part(&mut point.kelvins_per_watt, part, kelvins_per_watt);

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

    /// Solves the hours with the linear equations of the plan.
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
    /// All zero.
    pub fn none(zero: N) -> Self {
        Self { entering_fluid: [zero; H], heat: [zero; H] }
    }
}

impl<N: Lanes, const H: usize> OperatingPoint<N, H> {
    /// All zero.
    pub fn none(zero: N) -> Self {
        Self {
            entering_fluid: [zero; H],
            mean_fluid: [zero; H],
            resistance: [zero; H],
            kelvins_per_watt: [zero; H],
            heating: Line::flat(zero),
            cooling: Line::flat(zero),
            heat_extracted: Tangent { value: [zero; H], slope: [zero; H] },
            is_bisected: false,
            not_converged: None,
        }
    }

    /// Sets the first operating point.
    #[inline(always)]
    pub fn start_at(&mut self, entering_fluid: &[N; H]) {
        self.entering_fluid = *entering_fluid;
    }

    /// Evaluates the heat pumps at the operating point, with one loop for each combination of modes.
    #[inline(always)]
    fn operate<A: LaneLayout<Designs = N>>(
        &mut self,
        layout: A,
        heat_pumps: &PreparedHeatPump<A::Wide>,
        time_block: &TimeBlock<A::Demand, H>,
    ) {
        let heating = |part| time_block.heating_load(layout, part);
        let cooling = |part| time_block.cooling_load(layout, part);
        match (time_block.heats(), time_block.cools()) {
            (true, true) => self.operate_with(layout, heat_pumps, |part| ModeLoads {
                heating: Some(heating(part)),
                cooling: Some(cooling(part)),
            }),
            (true, false) => self.operate_with(layout, heat_pumps, |part| ModeLoads {
                heating: Some(heating(part)),
                cooling: None,
            }),
            (false, true) => self.operate_with(layout, heat_pumps, |part| ModeLoads {
                heating: None,
                cooling: Some(cooling(part)),
            }),
            (false, false) => {
                self.operate_with(layout, heat_pumps, |_| ModeLoads { heating: None, cooling: None });
            }
        }
    }

    /// Evaluates the heat pumps at the operating point with the loads of each part.
    #[inline(always)]
    fn operate_with<A: LaneLayout<Designs = N>>(
        &mut self,
        layout: A,
        heat_pumps: &PreparedHeatPump<A::Wide>,
        loads: impl Fn(usize) -> ModeLoads<A::Wide>,
    ) {
        for part in 0..A::parts(H) {
            let (at, loads) = (layout.part(&self.entering_fluid, part), loads(part));
            let done: Operation<Tangent<A::Wide>> = heat_pumps.operate(at, &loads);
            if loads.heating.is_some() {
                self.heating.set_tangent(layout, part, done.heating, at);
            }
            if loads.cooling.is_some() {
                self.cooling.set_tangent(layout, part, done.cooling, at);
            }
            layout.set_part(&mut self.heat_extracted.value, part, done.heat_extracted.value);
            layout.set_part(&mut self.heat_extracted.slope, part, done.heat_extracted.slope);
        }
    }

    /// Designs whose solution differs from the operating point by more than the last correction.
    #[inline(always)]
    pub fn unsolved(&self, solution: &Solution<N, H>) -> N::Mask {
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

    /// Entering fluid temperatures at which to restart, below the bends, if there may be a colder solution; otherwise
    /// [`NOWHERE`].
    pub fn colder<A: LaneLayout<Designs = N>>(
        &self,
        layout: A,
        ground_side: &impl GroundSide<A, H>,
        solution: &Solution<N, H>,
    ) -> [N; H] {
        let mut starts = [solution.heat[0].like(NOWHERE); H];
        for part in 0..A::parts(H) {
            // The coldest bend is applied last and takes precedence.
            for bend in ground_side.bends().iter().rev() {
                let is_colder = self.is_colder_below(layout, bend, solution, part);
                let before = layout.part(&starts, part);
                layout.set_part(&mut starts, part, bend.temperature.or_else(is_colder, before));
            }
        }
        starts
    }

    /// Where the mean fluid is above a bend but would be below it with the bend's resistance and the same heat.
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

    /// Moves the operating point of unsolved designs; the others keep theirs, and so their results.
    #[inline(always)]
    pub fn move_unsolved(&mut self, is_unsolved: N::Mask, entering_fluid: &[N; H]) {
        for hour in 0..H {
            self.entering_fluid[hour] = entering_fluid[hour].or_else(is_unsolved, self.entering_fluid[hour]);
        }
    }

    /// Heating delivered at an entering fluid temperature [W].
    #[inline(always)]
    pub fn heating(&self, hour: usize, entering_fluid: N) -> N {
        self.heating.at(hour, entering_fluid)
    }

    /// Cooling delivered at an entering fluid temperature [W].
    #[inline(always)]
    pub fn cooling(&self, hour: usize, entering_fluid: N) -> N {
        self.cooling.at(hour, entering_fluid)
    }
}
