//! The soil around pipes, which may freeze.

use super::resistance_table::ResistanceTable;
use super::responses::Responses;
use crate::abreast::Abreast;
use crate::ground_side::years::Column;
use crate::history::BLOCK;
use crate::lanes::Lanes;
use crate::loads::HOURS_PER_YEAR;
use crate::stepper::{Moments, Record, Stretch};

/// Gathers how cold the soil at the pipes becomes each year, by the temperatures of the fluid: as true as they are, where nothing
/// between the two stores heat.
pub(super) struct Soil<'a, A: Abreast> {
    abreast: A,
    /// Of each design.
    resistances: Vec<&'a ResistanceTable>,
    /// Mean fluid temperature at the beginning of the block [degC].
    fluid: A::Designs,
    coldest: A::Wide,
    /// Hours of the year in which the soil is frozen.
    frozen: A::Wide,
    /// Both, year by year, of each design.
    years: Vec<[Vec<f64>; 2]>,
}

impl<'a, A: Abreast> Soil<'a, A> {
    /// That of each loop; `None` where the loops don't lie in soil.
    pub fn around(abreast: A, loops: &[&'a Responses]) -> Option<Self> {
        let of = |lane: usize| loops[lane.min(loops.len() - 1)];
        loops[0].is_soil.then(|| Self {
            abreast,
            resistances: (0..A::Designs::COUNT).map(|lane| &of(lane).resistances).collect(),
            fluid: A::Designs::each(abreast.of_designs(), |lane| of(lane).undisturbed(0)),
            coldest: A::Wide::all(abreast.of_wide(), f64::INFINITY),
            frozen: A::Wide::all(abreast.of_wide(), 0.0),
            years: vec![[Vec::new(), Vec::new()]; loops.len()],
        })
    }

    /// Columns of the yearly table of each of `designs` designs; none without soil.
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

impl<A: Abreast> Record<A::Designs, BLOCK> for Soil<'_, A> {
    #[inline(always)]
    fn take(&mut self, first: usize, _stretch: &Stretch<BLOCK>, moments: &Moments<A::Designs, BLOCK>) {
        let abreast = self.abreast;
        let resistance = A::Designs::each(abreast.of_designs(), |lane| {
            self.resistances[lane].at(self.fluid.lane(lane))[0]
        });
        let resistance = abreast.throughout(resistance);
        let (zero, half) = (resistance.like(0.0), resistance.like(0.5));
        for part in 0..A::parts(BLOCK) {
            let entering = abreast.part(&moments.entering_fluid, part);
            let leaving = abreast.part(&moments.leaving_fluid, part);
            let heat = abreast.part(&moments.heat_extracted, part);
            let soil = resistance.mul_add(heat, (entering + leaving) * half);
            self.coldest = self.coldest.min(soil);
            self.frozen = self.frozen + zero.like(1.0).or_else(soil.is_below(zero), zero);
        }
        let (entering, leaving) = (moments.entering_fluid[BLOCK - 1], moments.leaving_fluid[BLOCK - 1]);
        self.fluid = (entering + leaving) * entering.like(0.5);
        if (first + BLOCK).is_multiple_of(HOURS_PER_YEAR) {
            self.end_year();
        }
    }
}
