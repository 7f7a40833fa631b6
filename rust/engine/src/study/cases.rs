//! Many designs, run on all cores; only tables are kept.

use std::mem::take;

use rayon::prelude::*;

use super::shapes::Shapes;
use crate::cancel_token::CancelToken;
use crate::column::Column;
use crate::design::{Design, hours_of};
use crate::error::Error;
use crate::ground::ResponseCache;
use crate::heat_pump::{Demands, Scales};
use crate::judgement::Judgement;
use crate::lane_layout::BLOCK;
use crate::loads::HOURS_PER_YEAR;
use crate::prepared::conduction::{Responses, step_neighbours};
use crate::prepared::{PreparedGroundSide, Stepped, preparation, prepare};
use crate::stepper::Course;
use crate::yearly::RunYear;

/// Results of one case.
#[derive(Debug)]
pub struct Case {
    /// One row per year: all years, or those before the year in which the fluid froze; none of a case that can't be run.
    pub yearly: Vec<RunYear>,
    /// Columns of the same rows that are specific to the kind of ground side; empty without a run.
    pub kind_yearly: Vec<Column>,
    /// Judgement of the case; `None` without a run. If the fluid freezes, it is that of a fluid which stays liquid.
    pub judgement: Option<Judgement>,
    /// Why the case can't be run, or not for all years.
    pub failure: Option<Error>,
    /// Mean heat extracted in each interval (W), as if a fluid that froze had stayed liquid; empty unless it was
    /// requested.
    pub mean_heat: Vec<f64>,
}

impl Case {
    fn failed(error: Error) -> Self {
        Self {
            yearly: Vec::new(),
            kind_yearly: Vec::new(),
            judgement: None,
            failure: Some(error),
            mean_heat: Vec::new(),
        }
    }

    fn of(design: &Design, mut stepped: Stepped) -> Self {
        let judgement = Some(stepped.judged(design));
        let mut kind_yearly = take(&mut stepped.columns);
        let mean_heat = take(&mut stepped.mean_heat);
        let summary = stepped.into_summary();
        let mut yearly = summary.years;
        if let Some(freezing) = summary.freezing {
            let before = freezing.moment().hour / HOURS_PER_YEAR;
            yearly.truncate(before);
            kind_yearly.iter_mut().for_each(|(_, years)| years.truncate(before));
        }
        let failure = summary.freezing.map(Error::from);
        Self { yearly, kind_yearly, judgement, failure, mean_heat }
    }
}

/// Designs that step on one processor, as many side by side as its vectors have lanes.
const SIDE_BY_SIDE: usize = 8;

/// Runs each design over `years` years of its demand; the result of a design that can't be run has its error.
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
    demands: &[Demands],
    years: usize,
    cache: Option<&ResponseCache>,
    token: &CancelToken,
) -> Result<Vec<Case>, Error> {
    let study = Study::of(designs, years, None, cache, token)?;
    run_all(&study, designs, demands, token)
}

/// The same for bore fields that are neighbours, with the mean heat in each interval of `heat_interval` hours.
///
/// # Errors
/// Those of [`run_cases`]; [`Error::InvalidInput`] if the interval isn't a multiple of 8 hours that divides a year.
pub fn run_neighbours(
    designs: &[Design],
    demands: &[Demands],
    years: usize,
    heat_interval: usize,
    cache: Option<&ResponseCache>,
    token: &CancelToken,
) -> Result<Vec<Case>, Error> {
    if !heat_interval.is_multiple_of(BLOCK) || !HOURS_PER_YEAR.is_multiple_of(heat_interval) {
        let allowed = format!("must be a multiple of {BLOCK} h that divides {HOURS_PER_YEAR} h");
        return Err(Error::invalid("run_neighbours", "heat_interval", heat_interval, "h", allowed));
    }
    let study = Study::of(designs, years, Some(heat_interval), cache, token)?;
    run_all(&study, designs, demands, token)
}

/// Runs the designs of a study in groups that step side by side.
fn run_all(
    study: &Study,
    designs: &[Design],
    demands: &[Demands],
    token: &CancelToken,
) -> Result<Vec<Case>, Error> {
    let course = |place: usize| (&designs[place], demands[place]);
    let alike = |place: usize| steps_with(&designs[place], &demands[place]);
    let mut places: Vec<usize> = (0..designs.len()).collect();
    // Designs with the same demand in every hour step fastest.
    places.sort_by_cached_key(|&place| (alike(place), demand_key(&designs[place], &demands[place])));
    let go_together = |&one: &usize, &other: &usize| alike(one).is_some() && alike(one) == alike(other);
    let groups: Vec<&[usize]> =
        places.chunk_by(go_together).flat_map(|alike| alike.chunks(SIDE_BY_SIDE)).collect();
    let run_group = |group: &[usize]| {
        let few: Vec<_> = group.iter().map(|&place| course(place)).collect();
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

/// Kind of ground side, hours of the demand, and whether each mode has an entering load temperature.
type Alike = (&'static str, usize, [bool; 2]);

/// Designs with the same key may step side by side; `None` for one that steps alone.
fn steps_with(design: &Design, demands: &Demands) -> Option<Alike> {
    let series = demands.series();
    let sides = [&series.heating_entering_load_temperature, &series.cooling_entering_load_temperature];
    let kind = preparation(&design.ground_side).side_by_side()?;
    Some((kind, demands.len(), sides.map(|side| !side.is_empty())))
}

/// Equal for designs with the same demand in every hour.
fn demand_key(design: &Design, demands: &Demands) -> (usize, u32, [u64; 4]) {
    let Scales { heating, cooling, hot_water, recharge } = demands.scales();
    let scales = [heating, cooling, hot_water, recharge].map(f64::to_bits);
    (std::ptr::from_ref(demands.series()).addr(), design.start_month, scales)
}

/// Shared data of the cases of a study.
struct Study {
    hours: usize,
    /// Hours over which the heat is averaged, if it is requested.
    heat_interval: Option<usize>,
    shapes: Shapes,
    /// Cancelled with the study; its hours don't count as cases.
    token: CancelToken,
}

impl Study {
    /// That of designs over `years` years, with the step responses of all shapes.
    fn of(
        designs: &[Design],
        years: usize,
        heat_interval: Option<usize>,
        cache: Option<&ResponseCache>,
        token: &CancelToken,
    ) -> Result<Self, Error> {
        let hours = hours_of(years)?;
        let shapes = Shapes::of(designs, hours, cache, token)?;
        Ok(Self { hours, heat_interval, shapes, token: token.of_part() })
    }

    /// Runs designs that may step side by side.
    fn run(&self, few: &[(&Design, Demands)]) -> Result<Vec<Case>, Error> {
        let mut cases: Vec<Option<Case>> = Vec::new();
        let (mut designs, mut demands, mut prepared) = (Vec::new(), Vec::new(), Vec::new());
        for &(design, demand) in few {
            cases.push(match self.prepare(design, &demand) {
                Ok(ground_side) if ground_side.responses().is_some() => {
                    designs.push(design);
                    demands.push(demand);
                    prepared.push(ground_side);
                    None
                }
                Ok(ground_side) => {
                    let course = Course { designs: &[design], demands: &[demand] };
                    let stepped = ground_side.step_for_years(&course, self.hours, &self.token);
                    Some(stepped.map_or_else(Case::failed, |stepped| Case::of(design, stepped)))
                }
                Err(error) => Some(Case::failed(error)),
            });
        }
        let loops: Vec<&Responses> =
            prepared.iter().filter_map(|ground_side| ground_side.responses()).collect();
        let course = Course { designs: &designs, demands: &demands };
        let stepped: Vec<Result<Stepped, Error>> =
            match step_neighbours(&loops, &course, self.hours, self.heat_interval, &self.token) {
                Ok(stepped) => stepped.into_iter().map(Ok).collect(),
                // A case that doesn't converge must not affect the others.
                Err(_) => (0..loops.len()).map(|place| self.step_one(loops[place], &course, place)).collect(),
            };
        let of = |(design, stepped): (&Design, Result<Stepped, Error>)| {
            stepped.map_or_else(Case::failed, |stepped| Case::of(design, stepped))
        };
        let mut stepped = designs.into_iter().zip(stepped).map(of);
        let case = |case: Option<Case>| case.or_else(|| stepped.next());
        Ok(cases.into_iter().filter_map(case).collect())
    }

    /// Steps one of several designs by itself.
    fn step_one(&self, prepared: &Responses, course: &Course, place: usize) -> Result<Stepped, Error> {
        let Course { designs, demands } = course;
        let alone = Course { designs: &designs[place..=place], demands: &demands[place..=place] };
        let stepped = step_neighbours(&[prepared], &alone, self.hours, self.heat_interval, &self.token);
        stepped.map(|mut stepped| stepped.remove(0))
    }

    fn prepare(&self, design: &Design, demands: &Demands) -> Result<Box<dyn PreparedGroundSide>, Error> {
        design.validate()?;
        design.check_modes(demands)?;
        prepare(design, self.hours, &|shape| self.shapes.response(shape, &self.token))
    }
}
