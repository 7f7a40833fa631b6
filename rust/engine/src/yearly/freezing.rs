//! Fluid that freezes.

use super::extremes::Moment;
use crate::error::Error;
use crate::lane_layout::{Demanded, LaneLayout};
use crate::lanes::Lanes;
use crate::loads::HOURS_PER_YEAR;
use crate::stepper::TimeBlock;

/// The first hour in which the fluid of a design froze.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Freezing {
    hour: usize,
    leaving_fluid: f64,
    freezing_point: f64,
}

impl Freezing {
    /// The leaving fluid at that time.
    #[must_use]
    pub fn moment(&self) -> Moment {
        Moment { temperature: self.leaving_fluid, hour: self.hour }
    }

    /// Records the first hour in which the circulating fluid of a design froze.
    #[cold]
    #[inline(never)]
    pub(super) fn note<A: LaneLayout, const H: usize>(
        frozen: &mut [Option<Self>],
        first: usize,
        time_block: &TimeBlock<A::Demand, H>,
        leaving_fluid: &[A::Designs; H],
        freezing_point: A::Wide,
    ) {
        for hour in 0..H {
            for (design, frozen) in frozen.iter_mut().enumerate() {
                let (leaving_fluid, freezing_point) =
                    (leaving_fluid[hour].lane(design), freezing_point.lane(design));
                if time_block.circulates[hour].of_design(design) > 0.0 && leaving_fluid < freezing_point {
                    frozen.get_or_insert(Self { hour: first + hour, leaving_fluid, freezing_point });
                }
            }
        }
    }
}

impl From<Freezing> for Error {
    fn from(freezing: Freezing) -> Self {
        Self::FluidFreezes {
            year: freezing.hour / HOURS_PER_YEAR + 1,
            hour: freezing.hour % HOURS_PER_YEAR,
            temperature: freezing.leaving_fluid,
            freezing_point: freezing.freezing_point,
        }
    }
}
