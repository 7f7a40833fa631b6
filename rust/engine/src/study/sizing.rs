//! The smallest value of a measure, or the first of several designs, for which every hour of the horizon holds.

use std::ops::RangeInclusive;

use rayon::prelude::*;

use crate::cancel_token::CancelToken;
use crate::design::{Design, hours_of};
use crate::error::Error;
use crate::ground_side::{Description, Measure};
use crate::judgement::{Criterion, Judgement};
use crate::loads::Loads;
use crate::prepared::prepare;
use crate::stepper::Course;

/// Values spread over the range if its upper end doesn't hold.
const SPREAD: usize = 8;

/// Rounds in which the range must have halved, or it is bisected; also the round after which the greatest value is
/// tried if none holds.
const ROUNDS: usize = 3;

/// Designs that are run side by side.
const SIDE_BY_SIDE: usize = 4;

/// Result of sizing.
#[derive(Debug)]
pub struct Sized<T> {
    /// The smallest value that holds, or the one with the largest margin if none does.
    pub value: T,
    /// The judgement with that value.
    pub judgement: Judgement,
    /// Number of hourly coupled runs.
    pub runs: usize,
    /// Why the greatest value can't be run, if it was tried.
    pub refusal: Option<Error>,
}

impl<T> Sized<T> {
    /// Whether all limits hold in every hour.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.judgement.holds()
    }
}

/// The smallest value of `measure` within `range` for which no limit is broken in any hour of `years` years.
///
/// The result was itself run and holds; a value smaller by `resolution` does not, unless the result is the lower end of
/// the range. The margin is nearly linear in 1 / value (the steady part of the drop falls with the length). Starting
/// with the design's own value, two values that are `resolution` apart are run side by side, which either ends the
/// search or gives the line to the next two, with bisection as the fallback. If the greatest value doesn't hold, values
/// across the range are tried before the search reports that none does.
///
/// # Errors
/// [`Error::InvalidInput`] for an invalid range, or if the design is invalid at every value; [`Error::Stopped`] if
/// `token` was cancelled; it counts runs.
pub fn least(
    design: &Design,
    loads: &Loads,
    years: usize,
    measure: Measure,
    range: &RangeInclusive<f64>,
    resolution: f64,
    token: &CancelToken,
) -> Result<Sized<f64>, Error> {
    check_range(range, resolution)?;
    let hours = hours_of(years)?;
    let run = |value: f64| {
        let found =
            with_measure(design, measure, value).and_then(|varied| judge(&varied, loads, hours, token));
        token.add(1).map(|()| Tried { value, found })
    };
    let mut search = Search { range, resolution, tried: Vec::new(), widths: Vec::new(), is_spread: false };
    let mut line = design.ground_side.measure(measure);
    loop {
        match search.next(line) {
            Next::Around(below) => {
                let (below, above) = rayon::join(|| run(below), || run(below + resolution));
                let pair = [below?, above?];
                line = root(&pair);
                search.learn(pair);
            }
            Next::AllOver(values) => {
                search.learn(values.into_par_iter().map(run).collect::<Result<Vec<_>, Error>>()?);
            }
            Next::Nowhere => return best(search.tried),
        }
    }
}

/// The first of several designs for which no limit is broken; if none holds, the one with the largest margin.
///
/// A few designs are run side by side; every design before the result is run.
///
/// # Errors
/// [`Error::InvalidInput`] if there is no design, or if every design is invalid; [`Error::Stopped`] if `token` was
/// cancelled; it counts runs.
pub fn first_that_holds(
    designs: &[Design],
    loads: &Loads,
    years: usize,
    token: &CancelToken,
) -> Result<Sized<usize>, Error> {
    let hours = hours_of(years)?;
    let run = |(value, design): (usize, &Design)| {
        let found = design.validate().and_then(|()| judge(design, loads, hours, token));
        token.add(1).map(|()| Tried { value, found })
    };
    let mut tried = Vec::with_capacity(designs.len());
    for (few, designs) in designs.chunks(SIDE_BY_SIDE).enumerate() {
        let numbered =
            designs.par_iter().enumerate().map(|(place, design)| (few * SIDE_BY_SIDE + place, design));
        tried.extend(numbered.map(run).collect::<Result<Vec<_>, Error>>()?);
        if tried.iter().any(Tried::holds) {
            break;
        }
    }
    best(tried)
}

/// A value and the result of its run.
struct Tried<T> {
    value: T,
    found: Result<Judgement, Error>,
}

impl<T> Tried<T> {
    fn holds(&self) -> bool {
        self.margin() >= 0.0
    }

    /// Distance to the closest limit (K or equivalent); minus infinity if it can't be run.
    fn margin(&self) -> f64 {
        match &self.found {
            Ok(judgement) => judgement.deciding().map_or(f64::INFINITY, Criterion::rank),
            Err(_) => f64::NEG_INFINITY,
        }
    }
}

/// The first that holds, or the one with the largest margin.
fn best<T>(mut tried: Vec<Tried<T>>) -> Result<Sized<T>, Error> {
    let runs = tried.len();
    let closest = || (0..runs).max_by(|&a, &b| tried[a].margin().total_cmp(&tried[b].margin()));
    let Some(place) = tried.iter().position(Tried::holds).or_else(closest) else {
        return Err(Error::invalid("Sizing", "designs", "none", "", "must be at least one"));
    };
    let is_last = place + 1 == runs;
    let Tried { value, found } = tried.swap_remove(place);
    // The last element has taken the place of the result.
    let refusal = if is_last { None } else { tried.swap_remove(place).found.err() };
    Ok(Sized { value, judgement: found?, runs, refusal })
}

fn check_range(range: &RangeInclusive<f64>, resolution: f64) -> Result<(), Error> {
    let (first, last) = (*range.start(), *range.end());
    if !(first > 0.0 && first < last && last.is_finite()) {
        let value = format!("{first} to {last}");
        return Err(Error::invalid("Sizing", "between", value, "m", "must be two rising numbers above 0"));
    }
    if !(resolution > 0.0 && resolution < last - first) {
        let allowed = format!("must be above 0 and less than the range, {} m", last - first);
        return Err(Error::invalid("Sizing", "resolution", resolution, "m", allowed));
    }
    Ok(())
}

/// The design with another value of a measure.
///
/// # Errors
/// [`Error::InvalidInput`] if the ground side has no such measure, or the varied design is invalid.
fn with_measure(design: &Design, measure: Measure, value: f64) -> Result<Design, Error> {
    let mut varied = design.clone();
    varied.ground_side.set_measure(measure, value)?;
    varied.validate()?;
    Ok(varied)
}

/// Runs every hour of the horizon and judges it; a fluid that freezes is judged like any other.
fn judge(design: &Design, loads: &Loads, hours: usize, token: &CancelToken) -> Result<Judgement, Error> {
    let ground_side = prepare(design, hours, &|shape| shape.response(token))?;
    let course = Course { designs: &[design], demands: &[design.demands(loads)?] };
    let mut stepped = ground_side.step(&course, hours, &token.of_part())?;
    Ok(stepped.judged(design))
}

/// Zero of the margin on the straight line over 1 / value through two runs; not finite if there is none.
fn root([a, b]: &[Tried<f64>; 2]) -> f64 {
    let (from, to) = (1.0 / a.value, 1.0 / b.value);
    1.0 / (from + (to - from) * a.margin() / (a.margin() - b.margin()))
}

/// Next step of the search.
enum Next {
    /// Run a value and one that is larger by a resolution.
    Around(f64),
    /// Run several values.
    AllOver(Vec<f64>),
    /// The search is complete.
    Nowhere,
}

/// The search for the smallest value that holds.
struct Search<'a> {
    range: &'a RangeInclusive<f64>,
    resolution: f64,
    /// In ascending order.
    tried: Vec<Tried<f64>>,
    /// Width of the bracket, round by round.
    widths: Vec<f64>,
    /// Whether values across the range were tried.
    is_spread: bool,
}

impl Search<'_> {
    fn learn(&mut self, tried: impl IntoIterator<Item = Tried<f64>>) {
        self.tried.extend(tried);
        self.tried.sort_by(|a, b| a.value.total_cmp(&b.value));
    }

    /// The next step, given the zero of the margin's line.
    fn next(&mut self, line: f64) -> Next {
        let (start, end) = (*self.range.start(), *self.range.end());
        let value = |place: usize| self.tried[place].value;
        let (lower, upper, is_known) = match self.tried.iter().position(Tried::holds) {
            Some(0) => (start, value(0), value(0) <= start),
            Some(place) => {
                let (lower, upper) = (value(place - 1), value(place));
                (lower, upper, upper - lower <= 1.001 * self.resolution)
            }
            None => (self.tried.last().map_or(start, |tried| tried.value), end, false),
        };
        if is_known {
            return Next::Nowhere;
        }
        if lower > end - 0.5 * self.resolution {
            let was_spread = std::mem::replace(&mut self.is_spread, true);
            return if was_spread { Next::Nowhere } else { Next::AllOver(spread(self.range)) };
        }
        let round = self.widths.len();
        let is_slow = round >= ROUNDS && upper - lower > 0.5 * self.widths[round - ROUNDS];
        self.widths.push(upper - lower);
        let middle = 2.0 / (1.0 / lower + 1.0 / upper);
        let centre = if round == ROUNDS && !self.tried.iter().any(Tried::holds) {
            end
        } else if is_slow || !line.is_finite() {
            middle
        } else {
            line.clamp(lower, upper)
        };
        Next::Around((centre - 0.5 * self.resolution).clamp(start, end - self.resolution))
    }
}

/// Values between the ends of a range, in even ratios.
fn spread(range: &RangeInclusive<f64>) -> Vec<f64> {
    let (first, ratio) = (*range.start(), range.end() / range.start());
    (1..=SPREAD).map(|i| first * ratio.powf(i as f64 / (SPREAD + 1) as f64)).collect()
}
