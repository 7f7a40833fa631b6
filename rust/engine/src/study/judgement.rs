//! How close a run comes to what it must not reach, and when.

use crate::design::Design;
use crate::hourly::Hourly;
use crate::stepper::Course;

/// What a run's temperatures are judged by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Limit {
    /// Lowest entering fluid temperature.
    EnteringFluidMin,
    /// Highest entering fluid temperature.
    EnteringFluidMax,
    /// Least distance of the leaving fluid from its freezing point.
    FreezingMargin,
}

impl Limit {
    /// The field of the design's limits.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::EnteringFluidMin => "entering_fluid_min",
            Self::EnteringFluidMax => "entering_fluid_max",
            Self::FreezingMargin => "freezing_margin",
        }
    }
}

/// The hour with demand that comes closest to a limit, or goes farthest beyond one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Judgement {
    /// Distance to the limit [K]; negative beyond it.
    pub margin: f64,
    /// The limit.
    pub limit: Limit,
    /// Hour of the run.
    pub hour: usize,
}

impl Judgement {
    /// Judges all hours in which the heat pump runs; `None` where there are none.
    ///
    /// Of limits that are equally close the one that is declared first decides, and of hours the first.
    #[must_use]
    pub fn of(design: &Design, course: &Course<1>, hourly: &Hourly) -> Option<Self> {
        let limits = &design.limits;
        let coldest_leaving = design.fluid.freezing_point + limits.freezing_margin;
        let [mut lowest, mut highest, mut leaving] =
            [(f64::INFINITY, 0), (f64::NEG_INFINITY, 0), (f64::INFINITY, 0)];
        let mut place = course.start;
        for (hour, (&entering, &left)) in hourly.entering_fluid.iter().zip(&hourly.leaving_fluid).enumerate()
        {
            let runs = course.demands[place].asks_heat_pump();
            place = if place + 1 == course.demands.len() { 0 } else { place + 1 };
            if !runs {
                continue;
            }
            if entering < lowest.0 {
                lowest = (entering, hour);
            }
            if entering > highest.0 {
                highest = (entering, hour);
            }
            if left < leaving.0 {
                leaving = (left, hour);
            }
        }
        let found = [
            limits.entering_fluid_min.map(|least| (lowest.0 - least, Limit::EnteringFluidMin, lowest.1)),
            limits.entering_fluid_max.map(|most| (most - highest.0, Limit::EnteringFluidMax, highest.1)),
            Some((leaving.0 - coldest_leaving, Limit::FreezingMargin, leaving.1)),
        ];
        let closest = found.into_iter().flatten().min_by(|a, b| a.0.total_cmp(&b.0));
        closest.filter(|(margin, ..)| margin.is_finite()).map(|(margin, limit, hour)| Self {
            margin,
            limit,
            hour,
        })
    }

    /// Whether no limit is broken.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.margin >= 0.0
    }
}
