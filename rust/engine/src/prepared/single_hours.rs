//! Steps ground sides that can't state in advance how hours are coupled.

use pulp::{Arch, Simd, WithSimd};

use super::Stepped;
use crate::cancel_token::CancelToken;
use crate::error::Error;
use crate::ground_side::GroundSide;
use crate::hourly::Hourly;
use crate::lane_layout::OneByOne;
use crate::stepper::{Course, TimeBlock, step};
use crate::yearly::Tally;

/// Steps `hours` hours of one design, an hour at a time.
///
/// # Errors
/// [`Error::Stopped`] if the token was cancelled.
pub(super) fn step_single_hours(
    ground_side: &mut impl GroundSide<OneByOne, 1>,
    course: &Course,
    hours: usize,
    hourly: Option<&mut Hourly>,
    token: &CancelToken,
) -> Result<Stepped, Error> {
    Arch::new().dispatch(Stepping { ground_side, course, hours, hourly, token })
}

struct Stepping<'a, G> {
    ground_side: &'a mut G,
    course: &'a Course<'a>,
    hours: usize,
    hourly: Option<&'a mut Hourly>,
    token: &'a CancelToken,
}

impl<G: GroundSide<OneByOne, 1>> WithSimd for Stepping<'_, G> {
    type Output = Result<Stepped, Error>;

    #[inline(always)]
    fn with_simd<S: Simd>(self, _simd: S) -> Self::Output {
        let Self { ground_side, course, hours, hourly, token } = self;
        let mut record = (Tally::new(OneByOne, course), hourly);
        let mut time_blocks = TimeBlock::all(course);
        step(OneByOne, ground_side, course, &mut time_blocks, hours, &mut record, token)?;
        Ok(Stepped::each(record.0.summaries(), vec![Vec::new()], vec![Vec::new()]).remove(0))
    }
}
