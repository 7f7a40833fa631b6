//! The terms of a mode's capacity and COP.

use faer::linalg::solvers::SolveLstsq;
use faer::{Col, Mat};

use super::scaled_point::ScaledPoint;

/// Share of a term that the earlier terms must leave unexplained for it to be fitted.
const LEAST_NEW_SHARE: f64 = 0.02;

/// A power of the entering fluid temperature times a function of flow and entering load temperature.
pub struct Term {
    pub name: &'static str,
    pub power: usize,
    pub factor: fn(&ScaledPoint) -> f64,
}

const TERMS: [Term; 7] = [
    Term { name: "1", power: 0, factor: |_| 1.0 },
    Term { name: "T", power: 1, factor: |_| 1.0 },
    Term { name: "T2", power: 2, factor: |_| 1.0 },
    Term { name: "m", power: 0, factor: |place| place.flow },
    Term { name: "T m", power: 1, factor: |place| place.flow },
    Term { name: "L", power: 0, factor: |place| place.entering_load },
    Term { name: "T L", power: 1, factor: |place| place.entering_load },
];

impl Term {
    fn at(&self, place: &ScaledPoint) -> f64 {
        place.entering_fluid.powi(self.power as i32) * (self.factor)(place)
    }
}

/// Sum of the terms times their coefficients at a point.
pub fn sum(terms: &[&Term], coefficients: &Col<f64>, place: ScaledPoint) -> f64 {
    terms.iter().zip(coefficients.iter()).map(|(term, c)| c * term.at(&place)).sum()
}

/// The terms that are not combinations of earlier terms.
pub fn carried_terms(places: &[ScaledPoint]) -> Vec<&'static Term> {
    let mut carried: Vec<&Term> = Vec::new();
    for term in &TERMS {
        let squares =
            |values: &dyn Fn(&ScaledPoint) -> f64| places.iter().map(|p| values(p).powi(2)).sum::<f64>();
        let coefficients = least_squares(&carried, places, |row| term.at(&places[row]));
        let new = squares(&|place| term.at(place) - sum(&carried, &coefficients, *place));
        if new > LEAST_NEW_SHARE.powi(2) * squares(&|place| term.at(place)) {
            carried.push(term);
        }
    }
    carried
}

/// Least-squares coefficients of the terms for the values at the points.
pub fn least_squares(terms: &[&Term], places: &[ScaledPoint], value: impl Fn(usize) -> f64) -> Col<f64> {
    if terms.is_empty() {
        return Col::zeros(0);
    }
    let matrix = Mat::from_fn(places.len(), terms.len(), |row, column| terms[column].at(&places[row]));
    matrix.qr().solve_lstsq(Col::from_fn(places.len(), value))
}
