//! The criteria of a run, and the one definition of "holds" that runs, studies, sizing and comparisons share.
//!
//! | criterion | bound | decides |
//! | --- | --- | --- |
//! | `entering_fluid_min`, `entering_fluid_max` | the design's limits, in hours with demand | where given |
//! | `freezing_margin` | leaving fluid at least this far above its freezing point, in hours with demand | always |
//! | `frozen_fluid` | circulating fluid at or above its freezing point; only where it froze | always |
//! | `fluid_max` | circulating fluid within its table of properties, and not boiling | always |
//! | `ice_max` | ice on a pond, which must not reach the coils | always |
//! | `lowest_discharge`, `discharge_freezing` | a well's discharge, by the design and by 0 degC | always |
//! | `available_drawdown` | drawdown in a well | where given |
//! | `wall_min` | bore wall, or soil at the pipes; 0 degC where no limit is given | where given |
//! | `coil_surface_min`, `water_at_coils_min` | surface of a pond's coils above 0 degC, water around them above 1 degC | never |
//! | `hours_outside_table` | hours of a year with demand outside the heat pump's table; 0 where no limit is given | where given |
//! | `backup_share`, `unmet_cooling_share` | of a year's heating and cooling; 0 where no limit is given | where given |
//!
//! A criterion that doesn't decide is a caution: it is reported if broken, but the design still holds. The heat pump's
//! table and capacity don't decide on their own, because a plant may be designed with back-up heat, and because cooling
//! with fluid colder than the table occurs every spring. Frost at bores or pipes doesn't either, because many fields in
//! cold climates are built to withstand it.

use serde::ser::SerializeStruct;
use serde::{Serialize, Serializer};

use crate::design::Design;
use crate::fluid::Fluid;
use crate::limits::Limits;
use crate::loads::HOURS_PER_YEAR;
use crate::yearly::{Moment, RunSummary, RunYear};

/// Freezing point of water (degC).
pub const FREEZING_WATER: f64 = 0.0;

/// Boiling point of water without pressure (degC).
const WATER_BOILS: f64 = 100.0;

/// The quantity that a criterion measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quality {
    /// A temperature (degC), its margin in K.
    Temperature,
    /// A length (m).
    Length,
    /// A share.
    Share,
    /// Hours of a year.
    Hours,
}

impl Quality {
    /// The unit of the required and the actual value.
    #[must_use]
    pub fn unit(self) -> &'static str {
        match self {
            Self::Temperature => "degC",
            Self::Length => "m",
            Self::Share => "",
            Self::Hours => "h",
        }
    }

    /// The margin that ranks equal to one kelvin when criteria of different kinds are compared.
    fn like_one_kelvin(self) -> f64 {
        match self {
            Self::Temperature => 1.0,
            Self::Length => 0.1,
            Self::Share => 0.01,
            Self::Hours => 10.0,
        }
    }
}

/// The allowed side of a bound.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Bound {
    /// No less than this.
    AtLeast(f64),
    /// No more than this.
    AtMost(f64),
}

impl Bound {
    fn required(self) -> f64 {
        match self {
            Self::AtLeast(value) | Self::AtMost(value) => value,
        }
    }

    /// Distance from a value to the bound; negative beyond it.
    fn margin(self, actual: f64) -> f64 {
        match self {
            Self::AtLeast(least) => actual - least,
            Self::AtMost(most) => most - actual,
        }
    }
}

/// The time at which a run is closest to a bound.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum When {
    /// Hour of the run.
    Hour(usize),
    /// Year of the run from 0, for annual values.
    RunYear(usize),
}

impl When {
    /// Year of the run from 0.
    #[must_use]
    pub fn year(self) -> usize {
        match self {
            Self::Hour(hour) => hour / HOURS_PER_YEAR,
            Self::RunYear(year) => year,
        }
    }

    /// Hour of that year from 0.
    #[must_use]
    pub fn hour(self) -> Option<usize> {
        match self {
            Self::Hour(hour) => Some(hour % HOURS_PER_YEAR),
            Self::RunYear(_) => None,
        }
    }
}

/// One criterion and the run's result for it.
#[derive(Debug, Clone, PartialEq)]
pub struct Criterion {
    /// Its name.
    pub name: &'static str,
    /// Whether a run that breaks it fails; otherwise it is a caution.
    pub decides: bool,
    /// The quantity it measures.
    pub quality: Quality,
    /// The allowed values.
    pub bound: Bound,
    /// The run's value that is closest to the bound, or farthest beyond it.
    pub actual: f64,
    /// The time of that value.
    pub when: When,
    /// Hours in which it is broken, for each year of the run.
    pub hours_broken: Vec<u32>,
}

impl Criterion {
    /// A criterion for one value per hour, judged only in hours that count; `None` if no hour counts.
    pub(crate) fn of_hours(
        name: &'static str,
        decides: bool,
        quality: Quality,
        bound: Bound,
        values: &[f64],
        counts: impl Fn(usize) -> bool,
    ) -> Option<Self> {
        let mut hours_broken = vec![0; values.len() / HOURS_PER_YEAR];
        let mut worst: Option<(f64, usize)> = None;
        for (hour, &value) in values.iter().enumerate().filter(|&(hour, _)| counts(hour)) {
            let margin = bound.margin(value);
            hours_broken[hour / HOURS_PER_YEAR] += u32::from(margin < 0.0);
            if worst.is_none_or(|(least, _)| margin < least) {
                worst = Some((margin, hour));
            }
        }
        let (_, hour) = worst?;
        Some(Self {
            name,
            decides,
            quality,
            bound,
            actual: values[hour],
            when: When::Hour(hour),
            hours_broken,
        })
    }

    /// A criterion for the wall between loop and ground, in all hours of the run: the design's limit, or frost.
    pub(crate) fn of_wall(limits: &Limits, wall: &[f64]) -> Option<Self> {
        let bound = Bound::AtLeast(limits.wall_min.unwrap_or(FREEZING_WATER));
        let decides = limits.wall_min.is_some();
        Self::of_hours("wall_min", decides, Quality::Temperature, bound, wall, |_| true)
    }

    /// A criterion for a temperature whose worst hour is known.
    fn of_moment(name: &'static str, bound: Bound, worst: &Moment, hours_broken: Vec<u32>) -> Self {
        let when = When::Hour(worst.hour);
        let quality = Quality::Temperature;
        Self { name, decides: true, quality, bound, actual: worst.temperature, when, hours_broken }
    }

    /// A criterion for one value per year that must not exceed a limit. It decides if the limit is given; otherwise the
    /// limit is zero.
    fn of_years(
        name: &'static str,
        quality: Quality,
        limit: Option<f64>,
        years: &[RunYear],
        value: impl Fn(&RunYear) -> f64,
        hours: impl Fn(&RunYear) -> u32,
    ) -> Option<Self> {
        let bound = Bound::AtMost(limit.unwrap_or(0.0));
        let year = (0..years.len()).rev().max_by(|&a, &b| value(&years[a]).total_cmp(&value(&years[b])))?;
        let broken = |year: &RunYear| if bound.margin(value(year)) < 0.0 { hours(year) } else { 0 };
        Some(Self {
            name,
            decides: limit.is_some(),
            quality,
            bound,
            actual: value(&years[year]),
            when: When::RunYear(year),
            hours_broken: years.iter().map(broken).collect(),
        })
    }

    /// The criterion of a part of a run that begins after some years.
    fn later(mut self, years: usize) -> Self {
        self.when = match self.when {
            When::Hour(hour) => When::Hour(hour + years * HOURS_PER_YEAR),
            When::RunYear(year) => When::RunYear(year + years),
        };
        self.hours_broken.splice(0..0, vec![0; years]);
        self
    }

    /// Adds the same criterion of a later part of the run.
    fn join(&mut self, later: Self) {
        if self.decides != later.decides {
            if later.decides {
                *self = later;
            }
            return;
        }
        self.hours_broken.resize(later.hours_broken.len(), 0);
        let hours =
            self.hours_broken.iter().zip(&later.hours_broken).map(|(one, other)| one + other).collect();
        if later.margin() < self.margin() {
            *self = later;
        }
        self.hours_broken = hours;
    }

    /// The required value, in the criterion's unit.
    #[must_use]
    pub fn required(&self) -> f64 {
        self.bound.required()
    }

    /// Distance to the bound, negative beyond it, in the criterion's unit (K for temperatures).
    #[must_use]
    pub fn margin(&self) -> f64 {
        self.bound.margin(self.actual)
    }

    /// The margin on a scale comparable between criteria: in K, where 0.1 m, 1 % or 10 h rank as one kelvin.
    #[must_use]
    pub fn rank(&self) -> f64 {
        self.margin() / self.quality.like_one_kelvin()
    }

    /// Whether the bound is respected.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.margin() >= 0.0
    }
}

impl Serialize for Criterion {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut fields = serializer.serialize_struct("Criterion", 10)?;
        fields.serialize_field("name", self.name)?;
        fields.serialize_field("decides", &self.decides)?;
        fields.serialize_field("unit", self.quality.unit())?;
        fields.serialize_field("required", &self.required())?;
        fields.serialize_field("actual", &self.actual)?;
        fields.serialize_field("margin", &self.margin())?;
        fields.serialize_field("rank", &self.rank())?;
        fields.serialize_field("year", &(self.when.year() + 1))?;
        fields.serialize_field("hour", &self.when.hour())?;
        fields.serialize_field("hours_broken", &self.hours_broken)?;
        fields.end()
    }
}

/// All criteria of a run.
#[derive(Debug, Clone, PartialEq)]
pub struct Judgement {
    /// Those of the fluid, of the ground side and of the heat pump.
    pub criteria: Vec<Criterion>,
}

/// Whether the run holds, the position of the deciding criterion, and all criteria.
impl Serialize for Judgement {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut fields = serializer.serialize_struct("Judgement", 3)?;
        fields.serialize_field("holds", &self.holds())?;
        fields.serialize_field("deciding", &self.place_of_deciding())?;
        fields.serialize_field("criteria", &self.criteria)?;
        fields.end()
    }
}

impl Judgement {
    /// Judges the results of a design, with the additional criteria of its ground side.
    #[must_use]
    pub fn of(design: &Design, summary: &RunSummary, of_ground_side: Vec<Criterion>) -> Self {
        let mut criteria = of_fluid(design, summary);
        criteria.extend(of_ground_side);
        criteria.extend(of_heat_pump(&design.limits, &summary.years));
        Self { criteria }
    }

    /// The judgement of a run from those of its parts, each with its number of years, one after the other.
    ///
    /// Of a criterion that several have, the worst counts; where it decides in some of them, only these count.
    #[must_use]
    pub fn of_parts(parts: impl IntoIterator<Item = (Self, usize)>) -> Self {
        let mut criteria: Vec<Criterion> = Vec::new();
        let mut passed = 0;
        for (part, years) in parts {
            for known in &mut criteria {
                known.hours_broken.resize(passed + years, 0);
            }
            for criterion in part.criteria {
                let criterion = criterion.later(passed);
                match criteria.iter_mut().find(|known| known.name == criterion.name) {
                    Some(known) => known.join(criterion),
                    None => criteria.push(criterion),
                }
            }
            passed += years;
        }
        Self { criteria }
    }

    /// Whether no deciding criterion is broken.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.criteria.iter().all(|criterion| !criterion.decides || criterion.holds())
    }

    /// The deciding criterion with the smallest margin; the first if several have the same, and `None` if no criterion
    /// decides.
    #[must_use]
    pub fn deciding(&self) -> Option<&Criterion> {
        self.place_of_deciding().map(|place| &self.criteria[place])
    }

    /// The position of that criterion among all of them.
    fn place_of_deciding(&self) -> Option<usize> {
        let rank = |place: usize| self.criteria[place].rank();
        let closer = |a, b| if rank(b) < rank(a) { b } else { a };
        (0..self.criteria.len()).filter(|&place| self.criteria[place].decides).reduce(closer)
    }

    /// Number of deciding criteria that are broken in a year of the run from 0.
    #[must_use]
    pub fn broken_in(&self, year: usize) -> usize {
        let is_broken = |criterion: &&Criterion| criterion.decides && criterion.hours_broken[year] > 0;
        self.criteria.iter().filter(is_broken).count()
    }
}

/// Criteria of the fluid; none if it never circulated.
fn of_fluid(design: &Design, summary: &RunSummary) -> Vec<Criterion> {
    let Design { limits, fluid, .. } = design;
    let hours = |of: fn(&RunYear) -> u32| summary.years.iter().map(of).collect::<Vec<u32>>();
    let mut criteria = Vec::new();
    if let Some(extremes) = &summary.extremes {
        let min = limits.entering_fluid_min.map(|least| {
            let hours = hours(|year| year.hours_below_limit);
            let bound = Bound::AtLeast(least);
            Criterion::of_moment("entering_fluid_min", bound, &extremes.coldest_entering, hours)
        });
        let max = limits.entering_fluid_max.map(|most| {
            let hours = hours(|year| year.hours_above_limit);
            let bound = Bound::AtMost(most);
            Criterion::of_moment("entering_fluid_max", bound, &extremes.warmest_entering, hours)
        });
        criteria.extend(min.into_iter().chain(max));
        let bound = Bound::AtLeast(fluid.freezing_point + limits.freezing_margin);
        let near = hours(|year| year.hours_near_freezing);
        criteria.push(Criterion::of_moment("freezing_margin", bound, &extremes.coldest_leaving, near));
    }
    if let Some(freezing) = &summary.freezing {
        let bound = Bound::AtLeast(fluid.freezing_point);
        let mut frozen = vec![0; summary.years.len()];
        frozen[freezing.moment().hour / HOURS_PER_YEAR] = 1;
        criteria.push(Criterion::of_moment("frozen_fluid", bound, &freezing.moment(), frozen));
    }
    if let Some(warmest) = &summary.warmest_fluid {
        let too_warm = hours(|year| year.hours_fluid_too_warm);
        criteria.push(Criterion::of_moment("fluid_max", Bound::AtMost(fluid.highest()), warmest, too_warm));
    }
    criteria
}

/// Criteria of the heat pump.
fn of_heat_pump(limits: &Limits, years: &[RunYear]) -> impl Iterator<Item = Criterion> {
    let share = |part: f64, rest: f64| if part > 0.0 { part / (part + rest) } else { 0.0 };
    let table = Criterion::of_years(
        "hours_outside_table",
        Quality::Hours,
        limits.hours_outside_table,
        years,
        |year| f64::from(year.hours_outside_table),
        |year| year.hours_outside_table,
    );
    let backup = Criterion::of_years(
        "backup_share",
        Quality::Share,
        limits.backup_share,
        years,
        |year| share(year.backup_kwh, year.heating_kwh),
        |year| year.hours_short_of_capacity,
    );
    let unmet = Criterion::of_years(
        "unmet_cooling_share",
        Quality::Share,
        limits.unmet_cooling_share,
        years,
        |year| share(year.unmet_cooling_kwh, year.cooling_kwh),
        |year| year.hours_short_of_capacity,
    );
    [table, backup, unmet].into_iter().flatten()
}

impl Fluid {
    /// Highest temperature at which the results are valid (degC): the end of the table, or the boiling point of water
    /// if the properties are constant.
    #[must_use]
    pub fn highest(&self) -> f64 {
        let is_constant = [&self.density, &self.heat_capacity, &self.conductivity, &self.viscosity]
            .iter()
            .all(|values| values.iter().all(|value| *value == values[0]));
        if is_constant { WATER_BOILS } else { self.temperatures()[1].min(WATER_BOILS) }
    }
}
