//! Inclination of bores, and whether they are clear of each other below the surface.

use serde::{Deserialize, Serialize};

use super::piece::Piece;
use crate::error::Error;
use crate::ground::LineSource;
use crate::ground::spacing::shown_distance;

/// Greatest inclination (deg).
const MOST_INCLINED: f64 = 60.0;

/// Most bores in a field with inclined bores: solving the equations of this many takes seconds.
const MOST_BORES: usize = 60;

/// Tolerance for rounding in the distance of touching bores.
const ROUNDING: f64 = 1e-9;

/// Inclination and direction of a bore.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Lean {
    /// Angle between the bore and the vertical (deg).
    pub inclination: f64,
    /// Direction in which the bore descends, clockwise from north (deg); x points east and y north.
    pub direction: f64,
}

impl Lean {
    /// Whether the bore is vertical.
    #[must_use]
    pub fn is_vertical(&self) -> bool {
        self.inclination == 0.0
    }

    /// Depth below the surface per metre along the bore.
    #[must_use]
    pub fn reach(&self) -> f64 {
        self.inclination.to_radians().cos()
    }

    /// Unit vector down the bore: x, y and depth.
    fn axis(&self) -> [f64; 3] {
        let (across, along) = self.inclination.to_radians().sin_cos();
        let (east, north) = self.direction.to_radians().sin_cos();
        [across * east, across * north, along]
    }

    /// The piece of a bore at a position (m), between two lengths along it from the surface (m).
    pub(super) fn piece(&self, [x, y]: [f64; 2], lengths: [f64; 2]) -> Piece {
        let axis = self.axis();
        Piece::between(lengths.map(|length| [x + length * axis[0], y + length * axis[1], length * axis[2]]))
    }
}

/// Checks the inclination of the bores of a field, their number, and that they are clear of each other over the whole
/// depth: the distance between the axes of two bores is no less than the sum of their radii.
///
/// `sources` and `leans` have one entry for all `positions` (m), or one for each; without `leans` all bores are
/// vertical. Errors identify bores by number, counted from 1.
///
/// # Errors
/// [`Error::InvalidInput`] names what is wrong.
pub fn check_leans(sources: &[LineSource], positions: &[[f64; 2]], leans: &[Lean]) -> Result<(), Error> {
    let count = positions.len();
    if !matches!(leans.len(), 0 | 1) && leans.len() != count {
        let allowed = format!("must be one, or one for each of the {count} positions");
        return Err(Error::invalid("BoreField", "inclination", leans.len(), "", allowed));
    }
    for (number, lean) in leans.iter().enumerate() {
        for (field, value, most) in
            [("inclination", lean.inclination, MOST_INCLINED), ("direction", lean.direction, 360.0)]
        {
            if !(0.0..=most).contains(&value) {
                let allowed = format!("of bore {}: must be from 0 to {most} deg", number + 1);
                return Err(Error::invalid("BoreField", field, value, "deg", allowed));
            }
        }
    }
    if leans.iter().all(Lean::is_vertical) {
        return Ok(());
    }
    if count > MOST_BORES {
        let allowed = format!("must be {MOST_BORES} bores at most in a field with inclined bores");
        return Err(Error::invalid("BoreField", "positions", format!("{count} bores"), "", allowed));
    }
    check_clear(sources, positions, leans)
}

/// Checks that no two bores come closer than the sum of their radii over the whole depth; touching is allowed.
fn check_clear(sources: &[LineSource], positions: &[[f64; 2]], leans: &[Lean]) -> Result<(), Error> {
    let source = |bore: usize| sources[bore % sources.len()];
    let hole = |bore: usize| {
        leans[bore % leans.len()]
            .piece(positions[bore], [0.0, source(bore).buried_depth + source(bore).depth])
    };
    let holes: Vec<Piece> = (0..positions.len()).map(hole).collect();
    for (a, b) in (0..holes.len()).flat_map(|b| (0..b).map(move |a| (a, b))) {
        let (distance, least) = (holes[a].distance(&holes[b]), source(a).radius + source(b).radius);
        if distance < least * (1.0 - ROUNDING) {
            let allowed = format!(
                "is the distance of bores {} and {} below the surface, which would intersect: must be at least {least} m",
                a + 1,
                b + 1
            );
            return Err(Error::invalid("BoreField", "positions", shown_distance(distance), "m", allowed));
        }
    }
    Ok(())
}
