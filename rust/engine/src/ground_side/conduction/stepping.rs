//! Runs of loops that meet the ground by conduction alone, in blocks of hours.

use pulp::{Arch, Simd, WithSimd};

use super::memory::ConductionMemory;
use super::responses::Responses;
use super::soil::Soil;
use crate::abreast::{DesignsAbreast, HoursAbreast};
use crate::design::Design;
use crate::error::Error;
use crate::ground_side::Stepped;
use crate::heat_pump::Demand;
use crate::hourly::Hourly;
use crate::stepper::{Course, Stretch, step};
use crate::watch::Watch;
use crate::yearly::Tally;

/// Steps `hours` hours of one design.
///
/// # Errors
/// [`Error::Stopped`] when the watch says so.
pub fn step_alone(
    ready: &Responses,
    course: &Course,
    hours: usize,
    hourly: Option<&mut Hourly>,
    watch: &Watch,
) -> Result<Stepped, Error> {
    Arch::new().dispatch(Alone { ready, course, hours, hourly, watch })
}

/// Steps `hours` hours of designs of one kind that begin in the same month, as many side by side as the processor's vectors have lanes. Each
/// comes out as it does alone, to the bit.
///
/// # Errors
/// [`Error::Stopped`] when the watch says so.
pub fn step_together(
    loops: &[&Responses],
    designs: &[&Design],
    demands: &[Demand],
    hours: usize,
    watch: &Watch,
) -> Result<Vec<Stepped>, Error> {
    Arch::new().dispatch(Together { loops, designs, demands, hours, watch })
}

struct Alone<'a> {
    ready: &'a Responses,
    course: &'a Course<'a>,
    hours: usize,
    hourly: Option<&'a mut Hourly>,
    watch: &'a Watch,
}

impl WithSimd for Alone<'_> {
    type Output = Result<Stepped, Error>;

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) -> Self::Output {
        let Self { ready, course, hours, hourly, watch } = self;
        let abreast = HoursAbreast(simd);
        let mut memory = ConductionMemory::at_rest(abreast, &[ready]);
        let mut record = ((Tally::new(abreast, course), Soil::around(abreast, &[ready])), hourly);
        let stretches = Stretch::all(course);
        step(abreast, &mut memory, course, &stretches, hours, &mut record, watch)?;
        let ((tally, soil), _) = record;
        Ok(Stepped::each(tally.told(), Soil::columns(soil, 1)).remove(0))
    }
}

struct Together<'a> {
    loops: &'a [&'a Responses],
    designs: &'a [&'a Design],
    demands: &'a [Demand],
    hours: usize,
    watch: &'a Watch,
}

impl WithSimd for Together<'_> {
    type Output = Result<Vec<Stepped>, Error>;

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) -> Self::Output {
        let Self { loops, designs, demands, hours, watch } = self;
        let abreast = DesignsAbreast(simd);
        let mut stepped = Vec::with_capacity(designs.len());
        if designs.is_empty() {
            return Ok(stepped);
        }
        // Those that begin together share what is asked for.
        let stretches = Stretch::all(&Course { designs, demands });
        for (loops, designs) in loops.chunks(S::F64_LANES).zip(designs.chunks(S::F64_LANES)) {
            let course = Course { designs, demands };
            let mut memory = ConductionMemory::at_rest(abreast, loops);
            let mut record = (Tally::new(abreast, &course), Soil::around(abreast, loops));
            step(abreast, &mut memory, &course, &stretches, hours, &mut record, watch)?;
            let (tally, soil) = record;
            stepped.extend(Stepped::each(tally.told(), Soil::columns(soil, designs.len())));
        }
        Ok(stepped)
    }
}
