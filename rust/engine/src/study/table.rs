//! The cases of a study as columns.

use std::collections::BTreeSet;

use super::Case;
use crate::column::Column;
use crate::error::Error;
use crate::judgement::Criterion;
use crate::yearly::{LIMITS_BROKEN, RunYear};

/// The results of cases.
#[derive(Debug)]
pub struct CaseTable {
    /// Columns of shape (cases, years), row after row; NaN in years that a case doesn't reach and where its kind of
    /// ground side lacks the column.
    pub yearly: Vec<Column>,
    /// The deciding criterion of each case: margin in K or equivalent, year from 1, and hour of that year from 0; NaN
    /// without one, and no hour for annual criteria.
    pub deciding: [Column; 3],
    /// The name of that criterion; empty without one.
    pub deciding_names: Vec<&'static str>,
    /// Why a case can't be run, or not for all years.
    pub failures: Vec<Option<Error>>,
}

impl CaseTable {
    /// The table of cases over a number of years.
    #[must_use]
    pub fn of(cases: Vec<Case>, years: usize) -> Self {
        let name = |case: &Case| case.judgement.as_ref()?.deciding().map(|criterion| criterion.name);
        Self {
            yearly: yearly_columns(&cases, years),
            deciding: deciding_columns(&cases),
            deciding_names: cases.iter().map(|case| name(case).unwrap_or_default()).collect(),
            failures: cases.into_iter().map(|case| case.failure).collect(),
        }
    }
}

fn yearly_columns(cases: &[Case], years: usize) -> Vec<Column> {
    let column = |name, value: &dyn Fn(&Case, usize) -> Option<f64>| -> Column {
        let row = |case| (0..years).map(move |year| value(case, year).unwrap_or(f64::NAN));
        (name, cases.iter().flat_map(row).collect())
    };
    let of_year = |case: &Case, year: usize| case.yearly.get(year).copied();
    let numbers = RunYear::NUMBERS
        .iter()
        .map(|&(name, read)| column(name, &|case, year| of_year(case, year).map(|year| read(&year))));
    let hours = RunYear::HOURS
        .iter()
        .map(|&(name, read)| column(name, &|case, year| of_year(case, year).map(|year| read(&year).into())));
    let broken = column(LIMITS_BROKEN, &|case, year| {
        case.yearly.get(year)?;
        Some(case.judgement.as_ref()?.broken_in(year) as f64)
    });
    let beside: BTreeSet<_> =
        cases.iter().flat_map(|case| &case.kind_yearly).map(|(name, _)| *name).collect();
    let of_kinds = beside.into_iter().map(|name| {
        column(name, &|case, year| {
            let (_, values) = case.kind_yearly.iter().find(|(known, _)| *known == name)?;
            values.get(year).copied()
        })
    });
    numbers.chain(hours).chain([broken]).chain(of_kinds).collect()
}

fn deciding_columns(cases: &[Case]) -> [Column; 3] {
    let column = |name, read: fn(&Criterion) -> Option<f64>| -> Column {
        let of_case = |case: &Case| read(case.judgement.as_ref()?.deciding()?);
        (name, cases.iter().map(|case| of_case(case).unwrap_or(f64::NAN)).collect())
    };
    [
        column("margin_K", |criterion| Some(criterion.rank())),
        column("deciding_year", |criterion| Some((criterion.when.year() + 1) as f64)),
        column("deciding_hour", |criterion| criterion.when.hour().map(|hour| hour as f64)),
    ]
}
