//! Temperature of a fluid without heat in ground of nonuniform temperature.

use faer::linalg::solvers::{PartialPivLu, Solve};
use faer::{Mat, c64};

use super::Lines;
use crate::error::Error;

/// Weight of each pipe of a trench in the temperature of a fluid without heat; the weights sum to 1.
///
/// The pipes carry one fluid and therefore transfer heat from warmer to colder ground. With the drop h_ij at pipe i per
/// unit of heat of pipe j, and the temperatures T_i without pipes, zero total heat means `fluid = (sum of x_i T_i) /
/// (sum of x)` with (h + rho) x = 1, at each frequency: the same x as in the step response. h_ij is `response(r) -
/// response(r')`, where r and r' are the distances of source and image (m); rho is 2 pi k x resistance.
///
/// # Errors
/// [`Error::InvalidInput`] if pipes are too close for the equations to be solved.
pub fn no_load_weights(
    lines: &Lines,
    [trenches, spacing]: [f64; 2],
    own: f64,
    response: impl Fn(f64) -> c64,
) -> Result<Vec<c64>, Error> {
    let (count, trenches) = (lines.axes.len(), trenches as usize);
    let size = count * trenches;
    let mut matrix = Mat::<c64>::zeros(size, size);
    for row in 0..size {
        for column in row..size {
            let apart = (column / count - row / count) as f64 * spacing;
            let [near, image] = lines.distances(apart, row % count, column % count).map(&response);
            matrix[(row, column)] = near - image + if row == column { own } else { 0.0 };
            matrix[(column, row)] = matrix[(row, column)];
        }
    }
    let heat = PartialPivLu::new(matrix.as_ref()).solve(Mat::<c64>::full(size, 1, c64::ONE));
    let of_pipe = |pipe: usize| (0..trenches).map(|trench| heat[(trench * count + pipe, 0)]).sum::<c64>();
    let shares: Vec<c64> = (0..count).map(of_pipe).collect();
    let whole: c64 = shares.iter().sum();
    let weights: Vec<c64> = shares.into_iter().map(|share| share / whole).collect();
    if weights.iter().all(|weight| weight.is_finite()) {
        return Ok(weights);
    }
    let allowed = "must leave room between the pipes: they are too close to solve for the fluid temperature";
    Err(Error::invalid("TrenchField", "pipes", "as given", "", allowed))
}
