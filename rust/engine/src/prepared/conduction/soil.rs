//! The soil around pipes, which may freeze.

use super::responses::Responses;
use crate::column::Column;
use crate::lane_layout::{BLOCK, LaneLayout};
use crate::lanes::Lanes;
use crate::loads::HOURS_PER_YEAR;
use crate::stepper::{Moments, Record, TimeBlock};

/// Collects the lowest soil temperature at the pipes each year, computed from the fluid temperatures: equally accurate,
/// because nothing between the two stores heat.
pub(super) struct Soil<A: LaneLayout> {
    layout: A,
    coldest: A::Wide,
    /// Hours of the year in which the soil is frozen.
    frozen: A::Wide,
    /// Both, year by year, for each design.
    years: Vec<[Vec<f64>; 2]>,
}

impl<A: LaneLayout> Soil<A> {
    /// That of each loop; `None` if the loops are not in soil.
    pub fn around(layout: A, loops: &[&Responses]) -> Option<Self> {
        loops[0].is_soil.then(|| Self {
            layout,
            coldest: A::Wide::all(layout.of_wide(), f64::INFINITY),
            frozen: A::Wide::all(layout.of_wide(), 0.0),
            years: vec![[Vec::new(), Vec::new()]; loops.len()],
        })
    }

    /// Columns of the yearly table for each of `designs` designs; empty without soil.
    pub fn columns(soil: Option<Self>, designs: usize) -> Vec<Vec<Column>> {
        let Some(soil) = soil else { return vec![Vec::new(); designs] };
        let columns = |[coldest, frozen]: [Vec<f64>; 2]| {
            vec![("soil_at_pipes_min_degC", coldest), ("hours_soil_frozen", frozen)]
        };
        soil.years.into_iter().map(columns).collect()
    }

    #[inline(never)]
    fn end_year(&mut self) {
        for (design, [coldest, frozen]) in self.years.iter_mut().enumerate() {
            coldest
                .push(A::lanes_of(design).map(|lane| self.coldest.lane(lane)).fold(f64::INFINITY, f64::min));
            frozen.push(A::lanes_of(design).map(|lane| self.frozen.lane(lane)).sum());
        }
        self.coldest = self.coldest.like(f64::INFINITY);
        self.frozen = self.frozen.like(0.0);
    }
}

impl<A: LaneLayout> Record<A, BLOCK> for Soil<A> {
    #[inline(always)]
    fn take(
        &mut self,
        first: usize,
        _time_block: &TimeBlock<A::Demand, BLOCK>,
        moments: &Moments<A::Designs, BLOCK>,
    ) {
        let layout = self.layout;
        let (zero, half) = (self.coldest.like(0.0), self.coldest.like(0.5));
        for part in 0..A::parts(BLOCK) {
            let entering = layout.part(&moments.entering_fluid, part);
            let leaving = layout.part(&moments.leaving_fluid, part);
            let heat = layout.part(&moments.heat_extracted, part);
            let resistance = layout.part(&moments.resistance, part);
            let soil = resistance.mul_add(heat, (entering + leaving) * half);
            self.coldest = self.coldest.min(soil);
            self.frozen = self.frozen + zero.like(1.0).or_else(soil.is_below(zero), zero);
        }
        if (first + BLOCK).is_multiple_of(HOURS_PER_YEAR) {
            self.end_year();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lane_layout::OneByOne;

    /// Half a year with the fluid at -3 and -5 degC, then half a year at rest at 4 degC.
    #[test]
    fn soil_is_warmer_than_the_fluid_in_proportion_to_heat() {
        let none = f64::INFINITY;
        let mut soil =
            Soil { layout: OneByOne, coldest: none, frozen: 0.0, years: vec![[Vec::new(), Vec::new()]] };
        let time_block = TimeBlock::idle(0.0, [false; 2]);
        let moments = |entering: f64, heat: [f64; BLOCK]| Moments {
            entering_fluid: [entering; BLOCK],
            leaving_fluid: heat.map(|heat| entering - 1e-3 * heat),
            heat_extracted: heat,
            resistance: [2e-3; BLOCK],
            electricity: [0.0; BLOCK],
            heating: [0.0; BLOCK],
            cooling: [0.0; BLOCK],
        };
        // The mean fluid at -4 degC with 2 kW: at the pipes 0 degC, which is not below. With 1.9 kW -0.15 degC.
        let mut heat = [2000.0; BLOCK];
        heat[3] = 1900.0;
        let hours = 2 * HOURS_PER_YEAR;
        for first in (0..hours).step_by(BLOCK) {
            let works = first % HOURS_PER_YEAR < HOURS_PER_YEAR / 2 && first < HOURS_PER_YEAR;
            let now = if works { moments(-3.0, heat) } else { moments(4.0, [0.0; BLOCK]) };
            Record::<OneByOne, BLOCK>::take(&mut soil, first, &time_block, &now);
        }
        let columns = Soil::columns(Some(soil), 1).remove(0);
        let blocks = (HOURS_PER_YEAR / 2).div_ceil(BLOCK);
        let [(coldest, temperatures), (frozen, counts)] = &columns[..] else { panic!("two columns") };
        assert_eq!([*coldest, *frozen], ["soil_at_pipes_min_degC", "hours_soil_frozen"]);
        assert!((temperatures[0] + 0.15).abs() < 1e-12 && temperatures[1] == 4.0, "{temperatures:?}");
        assert_eq!(*counts, [blocks as f64, 0.0]);
        assert_eq!(Soil::<OneByOne>::columns(None, 2), [vec![], vec![]]);
    }
}
