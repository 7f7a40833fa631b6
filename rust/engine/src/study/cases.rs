//! Many designs with the same loads, run on all cores; only tables are kept.

use std::mem::take;

use rayon::prelude::*;

use super::shapes::Shapes;
use crate::cancel_token::CancelToken;
use crate::column::Column;
use crate::design::{Design, demands_of, hours_of};
use crate::error::Error;
use crate::ground::ResponseCache;
use crate::heat_pump::Demand;
use crate::judgement::Judgement;
use crate::loads::Loads;
use crate::prepared::conduction::{Responses, step_together};
use crate::prepared::{PreparedGroundSide, Stepped, preparation, prepare};
use crate::stepper::Course;
use crate::yearly::RunYear;

/// Results of one case.
#[derive(Debug)]
pub struct Case {
    /// One row per year, or the error of a case that can't be run.
    pub yearly: Result<Vec<RunYear>, Error>,
    /// Columns of the same rows that are specific to the kind of ground side; empty without a run.
    pub kind_yearly: Vec<Column>,
    /// Judgement of the case; `None` without a run. If the fluid freezes, it is that of a fluid which stays liquid.
    pub judgement: Option<Judgement>,
}

impl Case {
    fn failed(error: Error) -> Self {
        Self { yearly: Err(error), kind_yearly: Vec::new(), judgement: None }
    }

    fn of(design: &Design, mut stepped: Stepped) -> Self {
        let judgement = Some(stepped.judged(design));
        let kind_yearly = take(&mut stepped.columns);
        match stepped.liquid() {
            Ok(summary) => Self { yearly: Ok(summary.years), kind_yearly, judgement },
            Err(error) => Self { judgement, ..Self::failed(error) },
        }
    }
}

/// Designs that step on one processor, as many side by side as its vectors have lanes.
const SIDE_BY_SIDE: usize = 8;

/// Runs each design over `years` years of the same loads; the result of a design that can't be run is its error.
///
/// Fields of one shape share one step response, which is read from `cache` or stored there. Results are in the order of
/// the designs and equal those of [`run`](crate::run::run), whatever else is in the study and with any number of
/// threads; `token` counts cases.
///
/// # Errors
/// [`Error::InvalidInput`] if the horizon is out of range; [`Error::Stopped`] if `token` was cancelled; [`Error::Io`]
/// if a response can't be stored.
pub fn run_cases(
    designs: &[Design],
    loads: &Loads,
    years: usize,
    cache: Option<&ResponseCache>,
    token: &CancelToken,
) -> Result<Vec<Case>, Error> {
    let hours = hours_of(years)?;
    let study = Study {
        demands: &demands_of(loads),
        hours,
        shapes: Shapes::of(designs, hours, cache, token)?,
        token: token.of_part(),
    };
    let mut places: Vec<usize> = (0..designs.len()).collect();
    let alike = |&place: &usize| steps_with(&designs[place]);
    places.sort_by_key(alike);
    let go_together = |one: &usize, other: &usize| alike(one).is_some() && alike(one) == alike(other);
    let groups: Vec<&[usize]> =
        places.chunk_by(go_together).flat_map(|alike| alike.chunks(SIDE_BY_SIDE)).collect();
    let run_group = |group: &[usize]| {
        let few: Vec<&Design> = group.iter().map(|&place| &designs[place]).collect();
        let found = study.run(&few)?;
        token.add(few.len())?;
        Ok(found)
    };
    let found: Vec<Vec<Case>> =
        groups.par_iter().map(|&group| run_group(group)).collect::<Result<_, Error>>()?;
    let mut cases: Vec<(usize, Case)> = places.into_iter().zip(found.into_iter().flatten()).collect();
    cases.sort_by_key(|&(place, _)| place);
    Ok(cases.into_iter().map(|(_, case)| case).collect())
}

/// Designs with the same key may step side by side; `None` for one that steps alone.
fn steps_with(design: &Design) -> Option<(&str, u32)> {
    preparation(&design.ground_side).side_by_side().map(|kind| (kind, design.start_month))
}

/// Shared data of the cases of a study.
struct Study<'a> {
    demands: &'a [Demand],
    hours: usize,
    shapes: Shapes,
    /// Cancelled with the study; its hours don't count as cases.
    token: CancelToken,
}

impl Study<'_> {
    /// Runs designs that may step side by side.
    fn run(&self, designs: &[&Design]) -> Result<Vec<Case>, Error> {
        let mut cases: Vec<Option<Case>> = Vec::new();
        let (mut together, mut prepared) = (Vec::new(), Vec::new());
        for &design in designs {
            cases.push(match self.prepare(design) {
                Ok(ground_side) if ground_side.responses().is_some() && design.limits.wall_min.is_none() => {
                    together.push(design);
                    prepared.push(ground_side);
                    None
                }
                Ok(ground_side) => {
                    let course = Course { designs: &[design], demands: self.demands };
                    let stepped = ground_side.step_for_years(&course, self.hours, &self.token);
                    Some(stepped.map_or_else(Case::failed, |stepped| Case::of(design, stepped)))
                }
                Err(error) => Some(Case::failed(error)),
            });
        }
        let loops: Vec<&Responses> =
            prepared.iter().filter_map(|ground_side| ground_side.responses()).collect();
        let step = |loops: &[&Responses], designs: &[&Design]| {
            step_together(loops, designs, self.demands, self.hours, &self.token)
        };
        let stepped: Vec<Result<Stepped, Error>> = match step(&loops, &together) {
            Ok(stepped) => stepped.into_iter().map(Ok).collect(),
            // A case that doesn't converge must not affect the others.
            Err(_) => loops
                .iter()
                .zip(&together)
                .map(|(&responses, &design)| {
                    step(&[responses], &[design]).map(|mut stepped| stepped.remove(0))
                })
                .collect(),
        };
        let of = |(design, stepped): (&Design, Result<Stepped, Error>)| {
            stepped.map_or_else(Case::failed, |stepped| Case::of(design, stepped))
        };
        let mut stepped = together.into_iter().zip(stepped).map(of);
        let case = |case: Option<Case>| case.or_else(|| stepped.next());
        Ok(cases.into_iter().filter_map(case).collect())
    }

    fn prepare(&self, design: &Design) -> Result<Box<dyn PreparedGroundSide>, Error> {
        design.validate()?;
        design.check_modes(self.demands)?;
        prepare(design, self.hours, &|shape| self.shapes.response(shape, &self.token))
    }
}
