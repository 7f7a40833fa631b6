//! Many designs with the same loads, run over all cores, of which only tables are kept.

use std::collections::HashMap;

use rayon::prelude::*;

use super::judgement::Judgement;
use super::scratch::Scratch;
use crate::design::{Design, demands_of, hours_of};
use crate::error::Error;
use crate::ground::{KeptResponses, LaplaceCurve, Shape};
use crate::ground_side::{Column, GroundSideKind, ReadyGroundSide};
use crate::heat_pump::{Demand, ReadyHeatPump};
use crate::lanes::Lanes;
use crate::loads::Loads;
use crate::stepper::Course;
use crate::watch::Watch;
use crate::yearly::{Year, yearly};

/// What is kept of a run among many.
#[derive(Debug)]
pub struct Case {
    /// One row a year, or why there can be no run.
    pub yearly: Result<Vec<Year>, Error>,
    /// Columns of the same rows that only the design's kind of ground side has; none without a run.
    pub yearly_beside: Vec<Column>,
    /// The hour that comes closest to a limit, or goes farthest beyond one; `None` without demand or without a run. Where the
    /// fluid freezes it is the hour that would, if the fluid stayed liquid.
    pub judgement: Option<Judgement>,
}

impl Case {
    fn new(tables: Result<(Vec<Year>, Vec<Column>), Error>, judgement: Option<Judgement>) -> Self {
        match tables {
            Ok((yearly, yearly_beside)) => Self { yearly: Ok(yearly), yearly_beside, judgement },
            Err(error) => Self { yearly: Err(error), yearly_beside: Vec::new(), judgement },
        }
    }
}

/// Runs each design over `years` years of the same loads; one that can't be run has its error in the stead of tables.
///
/// Fields of one shape share one step response, which is read from `kept` where it is there and kept there where not. Results come in the order of the designs, each as [`run`](crate::run::run)
/// finds it, whatever runs beside it and on however many threads; `watch` counts cases.
///
/// # Errors
/// [`Error::InvalidInput`] if the horizon is out of range; [`Error::Stopped`] if `watch` says so; [`Error::Io`] if a
/// response can't be kept.
pub fn run_cases(
    designs: &[Design],
    loads: &Loads,
    years: usize,
    kept: Option<&KeptResponses>,
    watch: &Watch,
) -> Result<Vec<Case>, Error> {
    let hours = hours_of(years)?;
    let demands = demands_of(loads);
    let shapes = Shapes::of(designs, hours, kept, watch)?;
    let scratch = Scratch::new(hours);
    let run_one = |design: &Design| {
        let found = run_case(design, &shapes, &demands, &scratch);
        watch.add(1)?;
        Ok(found)
    };
    designs.par_iter().map(run_one).collect()
}

/// Runs one case and gathers its tables.
fn run_case(design: &Design, shapes: &Shapes, demands: &[Demand], scratch: &Scratch) -> Case {
    let ground_side = match prepare(design, shapes, demands, scratch.hours()) {
        Ok(ground_side) => ground_side,
        Err(error) => return Case::new(Err(error), None),
    };
    let heat_pump = ReadyHeatPump::new([&design.heat_pump]);
    let course = Course {
        demands,
        start: design.start_hour(),
        pump_power: Lanes([design.pump_power]),
        pump_stops: [design.pump_stops],
        freezing_point: Lanes([design.fluid.freezing_point]),
    };
    scratch.lend(|hourly| {
        let stepped = ground_side.run_for_years(&heat_pump, &course, hourly, &Watch::default());
        let judgement = Judgement::of(design, &course, hourly);
        let tables = stepped.map(|beside| (yearly(design, &course, hourly), beside));
        Case::new(tables, judgement)
    })
}

fn prepare(
    design: &Design,
    shapes: &Shapes,
    demands: &[Demand],
    hours: usize,
) -> Result<ReadyGroundSide, Error> {
    design.validate()?;
    design.check_modes(demands)?;
    ReadyGroundSide::new(design, hours, |shape| shapes.response(shape))
}

/// The step response of each shape of field, found once.
struct Shapes {
    /// `None` where there is none: whoever asks for it is told why.
    curves: HashMap<Vec<u64>, Option<LaplaceCurve>>,
}

impl Shapes {
    fn of(
        designs: &[Design],
        hours: usize,
        kept: Option<&KeptResponses>,
        watch: &Watch,
    ) -> Result<Self, Error> {
        let mut shapes: HashMap<Vec<u64>, Shape> = HashMap::new();
        for design in designs.iter().filter(|design| design.validate().is_ok()) {
            let GroundSideKind::BoreField(field) = &design.ground_side else { continue };
            let (shape, _) = field.shape(&design.ground, hours);
            shapes.entry(shape.key()).or_insert(shape);
        }
        let find = |(key, shape): (Vec<u64>, Shape)| {
            watch.add(0)?;
            match kept.map_or_else(|| shape.response(), |kept| kept.response(&shape)) {
                Err(error @ Error::Io { .. }) => Err(error),
                found => Ok((key, found.ok())),
            }
        };
        let curves = shapes.into_par_iter().map(find).collect::<Result<_, Error>>()?;
        Ok(Self { curves })
    }

    fn response(&self, shape: &Shape) -> Result<LaplaceCurve, Error> {
        match self.curves.get(&shape.key()) {
            Some(Some(curve)) => Ok(curve.clone()),
            _ => shape.response(),
        }
    }
}
