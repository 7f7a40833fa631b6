//! Bounds by which the hours of a run are counted.

use crate::design::Design;
use crate::heat_pump::{Demands, EnteringLoadCorrection, Mode, ModeLoads, PreparedHeatPump};
use crate::lane_layout::LaneLayout;
use crate::lanes::{Lanes, Mask};
use crate::stepper::Course;

/// Temperatures beyond which hours are counted (degC); infinite without a limit.
#[derive(Debug, Clone, Copy)]
#[repr(C, align(64))] // No vector lies across two lines of the processor's cache.
pub(super) struct Bounds<N: Lanes> {
    entering_min: N,
    entering_max: N,
    leaving_min: N,
    /// Freezing points of the fluids (degC).
    pub freezing_point: N,
    /// Highest temperatures at which the properties of the fluids are valid (degC).
    pub fluid_max: N,
    /// Range of the entering fluid temperature within which nothing is counted.
    inner_min: N,
    inner_max: N,
    heat_pumps: PreparedHeatPump<N>,
    /// Whether the entering load temperature leaves a table in any hour.
    leaves_tables: bool,
}

impl<N: Lanes> Bounds<N> {
    pub fn of<A: LaneLayout<Wide = N>>(layout: A, course: &Course) -> Self {
        let each = |of: &dyn Fn(&Design) -> f64| {
            layout.throughout(course.each(layout, |design: &Design| of(design)))
        };
        let limit_min = |design: &Design| design.limits.entering_fluid_min.unwrap_or(f64::NEG_INFINITY);
        let limit_max = |design: &Design| design.limits.entering_fluid_max.unwrap_or(f64::INFINITY);
        let inner_min =
            |design: &Design| modes(design).map(|mode| mode.range()[0]).fold(limit_min(design), f64::max);
        let inner_max =
            |design: &Design| modes(design).map(|mode| mode.range()[1]).fold(limit_max(design), f64::min);
        Self {
            entering_min: each(&limit_min),
            entering_max: each(&limit_max),
            leaving_min: each(&|design| design.fluid.freezing_point + design.limits.freezing_margin),
            freezing_point: each(&|design| design.fluid.freezing_point),
            fluid_max: each(&|design| design.fluid.highest()),
            inner_min: each(&inner_min),
            inner_max: each(&inner_max),
            heat_pumps: course.heat_pumps(layout),
            leaves_tables: course
                .designs
                .iter()
                .zip(course.demands)
                .any(|(design, demands)| leaves_tables(design, demands)),
        }
    }

    /// Whether a time block with this range of temperatures can contain hours to count.
    #[inline(always)]
    pub fn may_be_passed(&self, coldest: N, warmest: N, coldest_leaving: N) -> bool {
        let entering = coldest.is_below(self.inner_min).or(self.inner_max.is_below(warmest));
        self.leaves_tables || entering.or(coldest_leaving.is_below(self.leaving_min)).any()
    }

    /// Where an entering fluid temperature (degC) is below the lower limit.
    #[inline(always)]
    pub fn is_below_limit(&self, entering: N) -> N::Mask {
        entering.is_below(self.entering_min)
    }

    /// Where it is above the upper limit.
    #[inline(always)]
    pub fn is_above_limit(&self, entering: N) -> N::Mask {
        self.entering_max.is_below(entering)
    }

    /// Where it is outside the heat pump's table.
    #[inline(always)]
    pub fn is_outside_table(&self, entering: N, loads: &ModeLoads<N>) -> N::Mask {
        self.heat_pumps.is_outside_table(entering, loads)
    }

    /// Where a leaving fluid temperature (degC) is closer to freezing than the margin.
    #[inline(always)]
    pub fn is_near_freezing(&self, leaving: N) -> N::Mask {
        leaving.is_below(self.leaving_min)
    }
}

fn modes(design: &Design) -> impl Iterator<Item = &Mode> {
    [&design.heat_pump.heating, &design.heat_pump.cooling].into_iter().flatten()
}

fn leaves_tables(design: &Design, demands: &Demands) -> bool {
    let (series, scales) = (demands.series(), demands.scales());
    let leaves = |mode: Option<&Mode>, sides: &[f64], has_load: &dyn Fn(usize) -> bool| {
        let Some(EnteringLoadCorrection { range: [least, most], .. }) =
            mode.and_then(|mode| mode.entering_load.as_ref())
        else {
            return false;
        };
        (0..sides.len()).any(|hour| !(*least..=*most).contains(&sides[hour]) && has_load(hour))
    };
    let heats = |hour: usize| {
        scales.heating * series.heating[hour] > 0.0 || scales.hot_water * series.hot_water[hour] > 0.0
    };
    let cools = |hour: usize| scales.cooling * series.cooling[hour] > 0.0;
    let heat_pump = &design.heat_pump;
    leaves(heat_pump.heating.as_ref(), &series.heating_entering_load_temperature, &heats)
        || leaves(heat_pump.cooling.as_ref(), &series.cooling_entering_load_temperature, &cools)
}
