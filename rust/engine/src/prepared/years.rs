//! Columns of the yearly table for one kind of ground side.

use std::ops::Range;

use rayon::prelude::*;

use crate::loads::HOURS_PER_YEAR;

/// One value per year of a run of `hours` hours, from the range of its hours.
pub(super) fn by_year(hours: usize, of: impl Fn(Range<usize>) -> f64 + Sync) -> Vec<f64> {
    let year = |year: usize| of(year * HOURS_PER_YEAR..(year + 1) * HOURS_PER_YEAR);
    (0..hours / HOURS_PER_YEAR).into_par_iter().map(year).collect()
}

/// The smallest value; NaN without values.
pub(super) fn least(values: impl Iterator<Item = f64>) -> f64 {
    values.fold(f64::NAN, f64::min)
}

/// The largest value; NaN without values.
pub(super) fn greatest(values: impl Iterator<Item = f64>) -> f64 {
    values.fold(f64::NAN, f64::max)
}

/// Number of hours whose value satisfies a condition.
pub(super) fn hours(values: impl Iterator<Item = f64>, is_such: impl Fn(f64) -> bool) -> f64 {
    values.filter(|&value| is_such(value)).count() as f64
}
