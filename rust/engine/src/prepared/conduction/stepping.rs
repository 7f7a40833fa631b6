//! Runs of conduction loops, in blocks of hours.

use pulp::{Arch, Simd, WithSimd};

use super::epochs::Epoch;
use super::mean_heat::MeanHeat;
use super::responses::Responses;
use super::soil::Soil;
use super::state::ConductionState;
use super::wall_heat::WallHeat;
use crate::cancel_token::CancelToken;
use crate::error::Error;
use crate::hourly::Hourly;
use crate::lane_layout::{BLOCK, Demanded, DesignLanes, HourLanes, LaneLayout};
use crate::lanes::{Lanes, Vector};
use crate::prepared::Stepped;
use crate::stepper::{Course, Later, OwnTimeBlocks, TimeBlock, TimeBlocks, step};
use crate::yearly::Tally;

/// Steps `hours` hours of one design.
///
/// # Errors
/// [`Error::Stopped`] if the token was cancelled.
pub fn step_alone(
    prepared: &Responses,
    course: &Course,
    hours: usize,
    hourly: Option<&mut Hourly>,
    token: &CancelToken,
) -> Result<Stepped, Error> {
    let whole = Epoch { prepared, course: *course, hours: 0..hours };
    step_epochs(&[whole], hourly, token).map(|mut stepped| stepped.remove(0))
}

/// Steps the epochs of a run one after the other; each feels the heat of those before.
///
/// # Errors
/// [`Error::Stopped`] if the token was cancelled.
pub(super) fn step_epochs(
    epochs: &[Epoch],
    hourly: Option<&mut Hourly>,
    token: &CancelToken,
) -> Result<Vec<Stepped>, Error> {
    Arch::new().dispatch(Alone { epochs, hourly, token })
}

/// Steps `hours` hours of designs of one kind, as many side by side as the processor's vectors have lanes. Each gives the
/// same bits as alone.
///
/// Entering load temperatures must be given for all designs or for none.
///
/// # Errors
/// [`Error::Stopped`] if the token was cancelled.
pub fn step_together(
    loops: &[&Responses],
    course: &Course,
    hours: usize,
    token: &CancelToken,
) -> Result<Vec<Stepped>, Error> {
    step_neighbours(loops, course, hours, None, token)
}

/// The same with the mean heat in each interval of a number of hours, a multiple of those of a block.
///
/// # Errors
/// [`Error::Stopped`] if the token was cancelled.
pub fn step_neighbours(
    loops: &[&Responses],
    course: &Course,
    hours: usize,
    heat_interval: Option<usize>,
    token: &CancelToken,
) -> Result<Vec<Stepped>, Error> {
    Arch::new().dispatch(Together { loops, course, hours, heat_interval, token })
}

struct Alone<'a> {
    epochs: &'a [Epoch<'a>],
    hourly: Option<&'a mut Hourly>,
    token: &'a CancelToken,
}

impl WithSimd for Alone<'_> {
    type Output = Result<Vec<Stepped>, Error>;

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) -> Self::Output {
        let Self { epochs, mut hourly, token } = self;
        let layout = HourLanes(simd);
        let mut state = ConductionState::initial(layout, &[epochs[0].prepared]);
        let mut stepped = Vec::with_capacity(epochs.len());
        for (place, Epoch { prepared, course, hours }) in epochs.iter().enumerate() {
            if place > 0 {
                state.continue_with(layout, &[prepared], hours.start);
            }
            // With hourly results, the wall follows from them.
            let heat = if hourly.is_none() { WallHeat::none(course, hours.len()) } else { None };
            let of_years = (Tally::new(layout, course), Soil::around(layout, &[prepared]));
            let of_hours = hourly.as_deref_mut().map(|record| Later { by: hours.start, record });
            let mut record = (of_years, (of_hours, heat));
            let (mut time_blocks, token) = (TimeBlock::all(course), token.after(hours.start));
            let ended = step(layout, &mut state, course, &mut time_blocks, hours.len(), &mut record, &token);
            ended.map_err(|error| match error {
                Error::NotConverged { hour } => Error::NotConverged { hour: hours.start + hour },
                other => other,
            })?;
            let ((tally, soil), (_, heat)) = record;
            let criteria = WallHeat::criteria(heat, &[prepared], course);
            stepped.extend(Stepped::each(tally.summaries(), Soil::columns(soil, 1), criteria));
        }
        Ok(stepped)
    }
}

struct Together<'a> {
    loops: &'a [&'a Responses],
    course: &'a Course<'a>,
    hours: usize,
    heat_interval: Option<usize>,
    token: &'a CancelToken,
}

impl WithSimd for Together<'_> {
    type Output = Result<Vec<Stepped>, Error>;

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) -> Self::Output {
        let Self { loops, course: Course { designs, demands }, hours, heat_interval, token } = self;
        let mut stepped = Vec::with_capacity(designs.len());
        let lanes = S::F64_LANES;
        for ((loops, designs), demands) in
            loops.chunks(lanes).zip(designs.chunks(lanes)).zip(demands.chunks(lanes))
        {
            let course = Course { designs, demands };
            let few = Few { loops, course: &course, hours, heat_interval, token };
            stepped.extend(if course.shares_demand() {
                few.step(DesignLanes::with_same_loads(simd), &mut TimeBlock::all(&course))?
            } else {
                few.step(DesignLanes::with_own_loads(simd), &mut OwnTimeBlocks::new(simd, &course))?
            });
        }
        Ok(stepped)
    }
}

/// Designs that fit into the lanes of the processor's vectors.
struct Few<'a> {
    loops: &'a [&'a Responses],
    course: &'a Course<'a>,
    hours: usize,
    heat_interval: Option<usize>,
    token: &'a CancelToken,
}

impl Few<'_> {
    #[inline(always)]
    fn step<S: Simd, D: Demanded<Vector<S>>>(
        self,
        layout: DesignLanes<S, D>,
        time_blocks: &mut impl TimeBlocks<D, BLOCK>,
    ) -> Result<Vec<Stepped>, Error> {
        let Self { loops, course, hours, heat_interval, token } = self;
        let mut state = ConductionState::initial(layout, loops);
        let of_years = (Tally::new(layout, course), Soil::around(layout, loops));
        let zero = Vector::all(layout.of_designs(), 0.0);
        let mean_heat = MeanHeat::over(heat_interval, loops.len(), hours, zero);
        let mut record = (of_years, (WallHeat::none(course, hours), mean_heat));
        step(layout, &mut state, course, time_blocks, hours, &mut record, token)?;
        let ((tally, soil), (heat, mean_heat)) = record;
        let criteria = WallHeat::criteria(heat, loops, course);
        let mut stepped = Stepped::each(tally.summaries(), Soil::columns(soil, loops.len()), criteria);
        for (stepped, means) in stepped.iter_mut().zip(MeanHeat::of_each(mean_heat, loops.len())) {
            stepped.mean_heat = means;
        }
        Ok(stepped)
    }
}
