//! A loop prepared for runs.

use std::f64::consts::PI;
use std::sync::Arc;

use super::undisturbed::Undisturbed;
use crate::ground::Ground;
use crate::history::{Ladder, Response, TabulatedResponse};
use crate::prepared::ResistanceTable;
use crate::prepared::bore_field::InsideError;

/// Step responses and resistances of a loop over a horizon: everything that stepping needs.
#[derive(Debug, Clone)]
pub struct Responses {
    /// Temperature of the fluid without heat.
    pub(super) undisturbed: Undisturbed,
    /// Whether the wall is soil that may freeze, whose temperature follows from fluid and resistance.
    pub(super) is_soil: bool,
    pub(super) drop_per_watt: f64,
    /// Relative error of the loop's step response.
    pub(super) response_error: f64,
    pub(super) wall: TabulatedResponse,
    /// Response of the fluid minus the loop's resistance; `None` if nothing inside the wall stores heat, so that it
    /// equals the wall's.
    pub(super) fluid: Option<TabulatedResponse>,
    pub(super) resistances: Arc<ResistanceTable>,
    /// Error due to the heat capacity inside; `None` if nothing inside the wall stores heat.
    pub(super) inside: Option<InsideError>,
    pub(super) ladder: Arc<Ladder>,
    /// Response of the fluid (K/W).
    pub(super) fluid_response: Response,
}

impl Responses {
    /// A loop over `hours` hours; the arguments are the fields of the type.
    #[must_use]
    pub(in crate::prepared) fn over(
        hours: usize,
        undisturbed: Undisturbed,
        drop_per_watt: f64,
        response_error: f64,
        wall: TabulatedResponse,
        fluid: Option<TabulatedResponse>,
        resistances: ResistanceTable,
    ) -> Self {
        let ladder = Ladder::for_horizon(hours);
        let fluid_response = ladder.fit(fluid.as_ref().unwrap_or(&wall)).times(drop_per_watt);
        Self {
            undisturbed,
            is_soil: false,
            inside: None,
            drop_per_watt,
            response_error,
            wall,
            fluid,
            resistances: Arc::new(resistances),
            ladder,
            fluid_response,
        }
    }

    /// The same loop with bores that store heat.
    #[must_use]
    pub(in crate::prepared) fn with_inside(self, inside: Option<InsideError>) -> Self {
        Self { inside, ..self }
    }

    /// The same loop with a wall of soil.
    #[must_use]
    pub(in crate::prepared) fn in_soil(self) -> Self {
        Self { is_soil: true, ..self }
    }
}

/// Temperature drop for a dimensionless response: 1 / (2 pi k x length), in K/W.
pub fn drop_per_watt(ground: &Ground, length: f64) -> f64 {
    1.0 / (2.0 * PI * ground.conductivity * length)
}
