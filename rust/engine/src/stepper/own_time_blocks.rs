//! Time blocks of designs side by side whose loads differ.

use pulp::Simd;

use super::course::Course;
use super::time_block::{HourLoads, TimeBlock, TimeBlocks};
use crate::heat_pump::{Demands, Scales};
use crate::lane_layout::BLOCK;
use crate::lanes::{Lanes, Vector};

/// The time blocks of designs with loads of their own, which may start in different months.
///
/// Each is made when a run reaches it: those of a whole year would take more memory than all else that the designs
/// need.
#[derive(Debug)]
pub struct OwnTimeBlocks<'a, S: Simd> {
    simd: S,
    /// The series of each lane, as [`series_of`] lists them.
    series: Vec<[&'a [f64]; SERIES]>,
    /// The first hour of each lane.
    starts: Vec<usize>,
    /// Number of hours of the series.
    length: usize,
    /// Whether all lanes read the same hours of the same series.
    is_shared: bool,
    /// Which series are not zero throughout, in any lane.
    is_present: [bool; SERIES],
    /// Factors of heating, hot water, cooling and recharge.
    scales: [Vector<S>; 4],
    /// The hours of each series in the current time block; zero if it is not present.
    hours: [[Vector<S>; BLOCK]; SERIES],
    time_block: TimeBlock<Vector<S>, BLOCK>,
}

/// Number of series.
const SERIES: usize = 9;

/// The series of heat and power, and the entering load temperatures in heating and in cooling.
fn series_of<'a>(demands: &Demands<'a>) -> [&'a [f64]; SERIES] {
    let series = demands.series();
    [
        &series.heating,
        &series.hot_water,
        &series.cooling,
        &series.recharge,
        &series.recovered,
        &series.element,
        &series.distribution_power,
        &series.heating_entering_load_temperature,
        &series.cooling_entering_load_temperature,
    ]
}

impl<'a, S: Simd> OwnTimeBlocks<'a, S> {
    /// Those of a course; unused lanes repeat the last design. Entering load temperatures must be given for all designs
    /// or for none.
    #[must_use]
    pub fn new(simd: S, course: &Course<'a>) -> Self {
        let designs = (0..S::F64_LANES).map(|lane| lane.min(course.designs.len() - 1));
        let (demands, starts): (Vec<Demands>, Vec<usize>) =
            designs.map(|design| (course.demands[design], course.start(design))).unzip();
        let is_first = |lane: usize| std::ptr::eq(demands[lane].series(), demands[0].series());
        let is_like_first = |lane: usize| is_first(lane) && starts[lane] == starts[0];
        let series: Vec<_> = demands.iter().map(series_of).collect();
        let is_present = |which: usize| {
            let is_not_zero = |lane: usize| series[lane][which].iter().any(|&value| value != 0.0);
            (0..S::F64_LANES).filter(|&lane| lane == 0 || !is_first(lane)).any(is_not_zero)
        };
        let scale = |of: fn(&Scales) -> f64| Vector::each(simd, |lane| of(&demands[lane].scales()));
        Self {
            simd,
            is_shared: (1..S::F64_LANES).all(is_like_first),
            is_present: std::array::from_fn(is_present),
            length: demands[0].len(),
            scales: [
                scale(|scales| scales.heating),
                scale(|scales| scales.hot_water),
                scale(|scales| scales.cooling),
                scale(|scales| scales.recharge),
            ],
            hours: [[Vector::all(simd, 0.0); BLOCK]; SERIES],
            time_block: TimeBlock::idle(
                Vector::all(simd, 0.0),
                [7, 8].map(|side| !series[0][side].is_empty()),
            ),
            series,
            starts,
        }
    }

    /// Reads the hours of one of the series that begin with the given hour in each lane.
    #[inline(always)]
    fn read(&mut self, firsts: &[usize; BLOCK], which: usize) {
        let hours = &mut self.hours[which];
        if self.is_shared {
            let values = &self.series[0][which][firsts[0]..firsts[0] + BLOCK];
            for k in 0..BLOCK {
                hours[k] = Vector::all(self.simd, values[k]);
            }
            return;
        }
        // A processor's vectors have at most as many lanes as a block has hours.
        let mut rows = [[0.0; BLOCK]; BLOCK];
        for lane in 0..S::F64_LANES {
            let values = &self.series[lane][which][firsts[lane]..firsts[lane] + BLOCK];
            rows[lane].copy_from_slice(values);
        }
        for k in 0..BLOCK {
            hours[k] = Vector::each(self.simd, |lane| rows[lane][k]);
        }
    }
}

impl<S: Simd> TimeBlocks<Vector<S>, BLOCK> for OwnTimeBlocks<'_, S> {
    fn count(&self) -> usize {
        self.length / BLOCK
    }

    /// Gives each design the bits of [`TimeBlock::all`].
    #[inline(always)]
    fn at(&mut self, place: usize) -> &TimeBlock<Vector<S>, BLOCK> {
        let mut firsts = [0; BLOCK];
        for lane in 0..S::F64_LANES {
            let first = self.starts[lane] + place * BLOCK;
            firsts[lane] = if first < self.length { first } else { first - self.length };
        }
        for which in 0..SERIES {
            if self.is_present[which] {
                self.read(&firsts, which);
            }
        }
        let [heating, hot_water, cooling, recharge, recovered, element, distribution, warm, cold] =
            &self.hours;
        self.time_block.set(self.scales, |hour| HourLoads {
            heating: [heating[hour], hot_water[hour]],
            cooling: cooling[hour],
            recharge: [recharge[hour], recovered[hour]],
            electricity: [element[hour], distribution[hour]],
        });
        for (mode, side) in [(&mut self.time_block.heating, warm), (&mut self.time_block.cooling, cold)] {
            if let Some(sides) = &mut mode.side {
                *sides = *side;
            }
        }
        &self.time_block
    }
}
