//! Fluid that freezes.

use super::stretch::Stretch;
use crate::error::Error;
use crate::hours::Hours;
use crate::lanes::Lanes;
use crate::loads::HOURS_PER_YEAR;

/// The first hour in which the fluid of a design froze.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Freezing {
    hour: usize,
    leaving_fluid: f64,
    freezing_point: f64,
}

impl Freezing {
    /// Notes the hours of a stretch in which the fluid of a design froze while it circulated, unless it did before.
    #[cold]
    #[inline(never)]
    pub(super) fn note<const L: usize, const H: usize>(
        frozen: &mut [Option<Self>; L],
        first: usize,
        stretch: &Stretch<H>,
        leaving_fluid: &Hours<L, H>,
        freezing_point: Lanes<L>,
    ) {
        for hour in (0..H).filter(|&hour| stretch.circulates[hour] > 0.0) {
            let freezes = leaving_fluid[hour].is_below(freezing_point);
            for lane in (0..L).filter(|&lane| freezes[lane]) {
                frozen[lane].get_or_insert(Self {
                    hour: first + hour,
                    leaving_fluid: leaving_fluid[hour].0[lane],
                    freezing_point: freezing_point.0[lane],
                });
            }
        }
    }
}

impl From<Freezing> for Error {
    fn from(freezing: Freezing) -> Self {
        let (year, of_year) = (freezing.hour / HOURS_PER_YEAR + 1, freezing.hour % HOURS_PER_YEAR);
        let leaving = freezing.leaving_fluid;
        let allowed = format!(
            "must be below the fluid that leaves the heat pump, {leaving:.2} degC in year {year}, hour {of_year}: more \
             antifreeze, more length of bore or more flow"
        );
        Self::invalid("Fluid", "freezing_point", freezing.freezing_point, "degC", allowed)
    }
}
