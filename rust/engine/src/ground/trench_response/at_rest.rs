//! What a fluid that gives and takes no heat shows of ground that isn't of one temperature.

use faer::linalg::solvers::{PartialPivLu, Solve};
use faer::{Mat, c64};

use super::Lines;
use crate::error::Error;

/// Share of each pipe of a trench in the temperature of a fluid without heat: they sum up to 1.
///
/// The pipes are in one fluid, so that they pass heat from where the ground is warmer to where it is colder. With h_ij the drop
/// at pipe i for a unit of heat of pipe j, and the temperatures T_i without pipes, no heat in all means
/// `fluid = (sum of x_i T_i) / (sum of x)` with (h + rho) x = 1, at each frequency: the same x as in the step response.
/// h_ij is `answer(r) - answer(r')`, r and r' being the distances of source and image [m]; rho is 2 pi k x resistance.
///
/// # Errors
/// [`Error::InvalidInput`] if pipes lie so close that the equations can't be solved.
pub fn weights_at_rest(
    lines: &Lines,
    [trenches, spacing]: [f64; 2],
    own: f64,
    answer: impl Fn(f64) -> c64,
) -> Result<Vec<c64>, Error> {
    let (count, trenches) = (lines.axes.len(), trenches as usize);
    let size = count * trenches;
    let mut matrix = Mat::<c64>::zeros(size, size);
    for row in 0..size {
        for column in row..size {
            let apart = (column / count - row / count) as f64 * spacing;
            let [near, image] = lines.distances(apart, row % count, column % count).map(&answer);
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
    let allowed = "must let the equations of the fluid temperature be solved: pipes lie too close";
    Err(Error::invalid("TrenchField", "pipes", "as given", "", allowed))
}
