//! The shortest possible period of a periodic lattice.

use std::collections::HashSet;

use crate::cancel_token::CancelToken;

/// Numbers without a prime factor above 5, for which Fourier transforms are fast.
pub fn smooth(least: usize) -> usize {
    let is_smooth = |mut number: usize| {
        for prime in [2, 3, 5] {
            while number.is_multiple_of(prime) {
                number /= prime;
            }
        }
        number == 1
    };
    (least.max(1)..).find(|&number| is_smooth(number)).unwrap_or(least)
}

/// Stride in which bores are examined.
const STRIDE: usize = 61;

/// Points of a lattice along each axis, so that bores which are neighbours only through periodicity are out of reach.
///
/// `positions`, `reach` and `step` are in m. A lattice as wide as the field and the reach together is always
/// sufficient. If much of it would be empty, such as between clusters or beside a street, the field is wrapped onto a
/// smaller one.
pub fn period(positions: &[[f64; 2]], reach: f64, step: f64, token: &CancelToken) -> [usize; 2] {
    let spans = [0, 1].map(|axis| {
        let values = positions.iter().map(|position| position[axis]);
        values.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), value| (a.min(value), b.max(value)))
    });
    let whole = spans.map(|(least, most)| smooth(((most - least + reach) / step).ceil() as usize));
    // Bores in cells that are not adjacent are out of each other's reach.
    let points = smooth((reach / step).ceil() as usize);
    let side = points as f64 * step;
    let cell = |position: &[f64; 2]| [0, 1].map(|axis| ((position[axis] - spans[axis].0) / side) as i64);
    let area = |counts: [usize; 2]| counts[0] as f64 * counts[1] as f64;
    let most = 0.5 * area(whole) / (points * points) as f64;
    let mut cells = HashSet::new();
    // A few places all over the field are enough to detect that it is full.
    for first in 0..STRIDE {
        token.check();
        for position in positions.iter().skip(first).step_by(STRIDE) {
            cells.insert(cell(position));
            if cells.len() as f64 >= most {
                return whole;
            }
        }
    }
    let sizes = |axis: usize| {
        let widest = smooth(whole[axis].div_ceil(points) + 1);
        std::iter::successors(Some(3), |&size| Some(smooth(size + 1 + size / 4)))
            .take_while(move |&size| size <= widest)
    };
    let mut candidates: Vec<[usize; 2]> = sizes(0)
        .flat_map(|x| sizes(1).map(move |y| [x, y]))
        .filter(|&counts| (cells.len() as f64..most).contains(&area(counts)))
        .collect();
    candidates.sort_by(|&a, &b| area(a).total_cmp(&area(b)).then(a.cmp(&b)));
    let fits = candidates.into_iter().find(|&counts| {
        token.check();
        stay_apart(&cells, counts)
    });
    fits.map_or(whole, |counts| counts.map(|count| count * points))
}

/// Whether cells that are adjacent on a torus are also adjacent in the field.
fn stay_apart(cells: &HashSet<[i64; 2]>, counts: [usize; 2]) -> bool {
    let [columns, rows] = counts.map(|count| count as i64);
    let place = |[x, y]: [i64; 2]| (y.rem_euclid(rows) * columns + x.rem_euclid(columns)) as usize;
    let mut taken = vec![false; counts[0] * counts[1]];
    if cells.iter().any(|&cell| std::mem::replace(&mut taken[place(cell)], true)) {
        return false;
    }
    let around = || (-1..=1).flat_map(|dx| (-1..=1).map(move |dy| [dx, dy]));
    cells.iter().all(|&[x, y]| {
        around().map(|[dx, dy]| [x + dx, y + dy]).all(|near| !taken[place(near)] || cells.contains(&near))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Whether any two bores within reach on the torus are also within reach in the field.
    fn is_safe(positions: &[[f64; 2]], reach: f64, step: f64) -> bool {
        let sides = period(positions, reach, step, &CancelToken::default()).map(|count| count as f64 * step);
        positions.iter().all(|a| {
            positions.iter().all(|b| {
                let apart = [0, 1].map(|axis| (a[axis] - b[axis]).abs());
                let wrapped =
                    [0, 1].map(|axis| apart[axis] - sides[axis] * (apart[axis] / sides[axis]).round());
                wrapped[0].hypot(wrapped[1]) >= reach
                    || (wrapped[0].hypot(wrapped[1]) - apart[0].hypot(apart[1])).abs() < 1e-6
            })
        })
    }

    #[test]
    fn wrapped_bores_are_out_of_reach() {
        let grid = |width: u32, corner: [f64; 2]| {
            (0..width * width).map(move |i| {
                [6.0 * f64::from(i % width) + corner[0], 6.0 * f64::from(i / width) + corner[1]]
            })
        };
        let field: Vec<[f64; 2]> = grid(12, [3.0, -7.0]).collect();
        let clusters: Vec<_> = grid(8, [0.0, 0.0]).chain(grid(8, [9000.0, 4000.0])).collect();
        let street: Vec<_> = (0..300).map(|i| [6.0 * f64::from(i), 4.0 * f64::from(i)]).collect();
        for (positions, most) in [(field, 10_000), (clusters, 20_000), (street, 70_000)] {
            assert!(is_safe(&positions, 30.0, 2.0));
            let [x, y] = period(&positions, 30.0, 2.0, &CancelToken::default());
            assert!(x * y < most, "{x} x {y}");
        }
    }
}
