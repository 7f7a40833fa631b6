//! The reported errors of a run.

use serde::Serialize;

/// Largest error of the temperatures of a run, by part (K). Parts that don't apply to a kind of ground side are zero.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct RunError {
    /// Error of the exponentials: mean fluid temperature, and thereby entering and leaving fluid temperature, against
    /// exact superposition of the same heat with the resistance of the hour's own fluid.
    pub exponentials: f64,
    /// Error left by the iteration of the hours: the entering fluid's, because the heat that the run counted is not
    /// exactly that of the heat pump's curves at the temperature found.
    pub iteration: f64,
    /// Error of the tables of the loop's resistance and of the flow's kelvins per watt, compared with the equations
    /// between their nodes. If more than one temperature solves an hour, and this and the other errors leave open
    /// whether there is a colder one, the distance to it.
    pub resistance: f64,
    /// Error of using the resistance of the undisturbed fluid for the heat capacity inside the bores: an estimate, from
    /// the response with the resistance of the hour where it differs most.
    pub inside: f64,
    /// Error of tabulating the step response: the difference made by half as many points, an upper bound.
    pub tabulation: f64,
    /// Error of solving the loop's step response with fewer unknowns than segments: an estimate, from the gain of the
    /// last unknowns.
    pub segments: f64,
    /// Time step error of the water of ponds and wells: an estimate, from the difference that another step length
    /// makes.
    pub steps: f64,
    /// Error of the film around a pond's coils, which is not exactly that of the hour's heat: an estimate.
    pub film: f64,
}

impl RunError {
    /// No error: equations that are solved directly.
    pub const NONE: Self = Self {
        exponentials: 0.0,
        iteration: 0.0,
        resistance: 0.0,
        inside: 0.0,
        tabulation: 0.0,
        segments: 0.0,
        steps: 0.0,
        film: 0.0,
    };

    /// The larger of each of its parts.
    #[must_use]
    pub(super) fn or(self, other: Self) -> Self {
        Self {
            exponentials: self.exponentials.max(other.exponentials),
            iteration: self.iteration.max(other.iteration),
            resistance: self.resistance.max(other.resistance),
            inside: self.inside.max(other.inside),
            tabulation: self.tabulation.max(other.tabulation),
            segments: self.segments.max(other.segments),
            steps: self.steps.max(other.steps),
            film: self.film.max(other.film),
        }
    }
}
