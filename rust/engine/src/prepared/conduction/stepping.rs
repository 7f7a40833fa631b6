//! Runs of conduction loops, in blocks of hours.

use pulp::{Arch, Simd, WithSimd};

use super::responses::Responses;
use super::soil::Soil;
use super::state::ConductionState;
use crate::cancel_token::CancelToken;
use crate::design::Design;
use crate::error::Error;
use crate::heat_pump::Demand;
use crate::hourly::Hourly;
use crate::lane_layout::{DesignLanes, HourLanes};
use crate::prepared::Stepped;
use crate::stepper::{Course, TimeBlock, step};
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
    Arch::new().dispatch(Alone { prepared, course, hours, hourly, token })
}

/// Steps `hours` hours of designs of one kind that begin in the same month, as many side by side as the processor's
/// vectors have lanes. Each gives the same bits as alone.
///
/// # Errors
/// [`Error::Stopped`] if the token was cancelled.
pub fn step_together(
    loops: &[&Responses],
    designs: &[&Design],
    demands: &[Demand],
    hours: usize,
    token: &CancelToken,
) -> Result<Vec<Stepped>, Error> {
    Arch::new().dispatch(Together { loops, designs, demands, hours, token })
}

struct Alone<'a> {
    prepared: &'a Responses,
    course: &'a Course<'a>,
    hours: usize,
    hourly: Option<&'a mut Hourly>,
    token: &'a CancelToken,
}

impl WithSimd for Alone<'_> {
    type Output = Result<Stepped, Error>;

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) -> Self::Output {
        let Self { prepared, course, hours, hourly, token } = self;
        let layout = HourLanes(simd);
        let mut state = ConductionState::initial(layout, &[prepared]);
        let mut record = ((Tally::new(layout, course), Soil::around(layout, &[prepared])), hourly);
        let time_blocks = TimeBlock::all(course);
        step(layout, &mut state, course, &time_blocks, hours, &mut record, token)?;
        let ((tally, soil), _) = record;
        Ok(Stepped::each(tally.summaries(), Soil::columns(soil, 1)).remove(0))
    }
}

struct Together<'a> {
    loops: &'a [&'a Responses],
    designs: &'a [&'a Design],
    demands: &'a [Demand],
    hours: usize,
    token: &'a CancelToken,
}

impl WithSimd for Together<'_> {
    type Output = Result<Vec<Stepped>, Error>;

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) -> Self::Output {
        let Self { loops, designs, demands, hours, token } = self;
        let layout = DesignLanes(simd);
        let mut stepped = Vec::with_capacity(designs.len());
        if designs.is_empty() {
            return Ok(stepped);
        }
        // Designs that begin in the same month share their demand.
        let time_blocks = TimeBlock::all(&Course { designs, demands });
        for (loops, designs) in loops.chunks(S::F64_LANES).zip(designs.chunks(S::F64_LANES)) {
            let course = Course { designs, demands };
            let mut state = ConductionState::initial(layout, loops);
            let mut record = (Tally::new(layout, &course), Soil::around(layout, loops));
            step(layout, &mut state, &course, &time_blocks, hours, &mut record, token)?;
            let (tally, soil) = record;
            stepped.extend(Stepped::each(tally.summaries(), Soil::columns(soil, designs.len())));
        }
        Ok(stepped)
    }
}
