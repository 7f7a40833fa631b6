//! Values at the bores laid onto lattices, for sums of exp(-r^2 s^2) that reach across many bores.

use super::Placed;

/// Fields of no more bores need no lattice.
const FEW: usize = 200;

/// Greatest s x mean spacing of the bores that a lattice serves.
const COARSEST: f64 = 0.6;

/// Step of a lattice x the greatest s that it serves; it serves down to half of that.
const STEP: f64 = 0.3;

/// Points of Lagrange's interpolation along each axis.
const POINTS: usize = 8;

/// exp(-r^2 s^2) below exp(-CUT) along an axis is left out.
const CUT: f64 = 21.0;

/// Values at the points of a square lattice, in rows along x with all columns of a point together.
pub struct Lattice {
    step: f64,
    corner: [f64; 2],
    counts: [usize; 2],
    columns: usize,
    values: Vec<f64>,
}

/// The s [1/m] below which lattices serve a field; 0 for a field of a few bores.
pub fn greatest_s(bores: &[Placed]) -> f64 {
    if bores.len() <= FEW {
        return 0.0;
    }
    let [width, height] = [0, 1].map(|axis| {
        let (least, most) = span(bores.iter().map(|bore| bore.position[axis]));
        most - least
    });
    let count = bores.len() as f64;
    COARSEST / (width * height / count).sqrt().max(width.max(height) / count)
}

/// Lattices for all s from `least` to `greatest`, each twice as coarse as the one before.
pub fn lattices(bores: &[Placed], rows: &[f64], columns: usize, least: f64, greatest: f64) -> Vec<Lattice> {
    let mut lattices: Vec<Lattice> = Vec::new();
    let mut serves = greatest;
    while serves > least {
        let lattice = match lattices.last() {
            None => {
                let points = bores.iter().map(|bore| bore.position).zip(rows.chunks(columns));
                Lattice::new(points, columns, STEP / serves)
            }
            Some(finer) => Lattice::new(finer.points(), columns, STEP / serves),
        };
        lattices.push(lattice);
        serves *= 0.5;
    }
    lattices
}

/// Number of the one of the lattices from `greatest` down that serves s.
pub fn serving(greatest: f64, s: f64) -> Option<usize> {
    (s < greatest).then(|| (greatest / s).log2() as usize)
}

impl Lattice {
    /// Lays the rows that belong to points onto a lattice: Lagrange's interpolation, transposed.
    fn new<'a>(
        points: impl Iterator<Item = ([f64; 2], &'a [f64])> + Clone,
        columns: usize,
        step: f64,
    ) -> Self {
        let spans = [0, 1].map(|axis| span(points.clone().map(|(position, _)| position[axis])));
        let corner = spans.map(|(least, _)| least - (POINTS / 2) as f64 * step);
        let counts = spans.map(|(least, most)| ((most - least) / step) as usize + POINTS + 2);
        let mut lattice =
            Self { step, corner, counts, columns, values: vec![0.0; counts[0] * counts[1] * columns] };
        for (position, row) in points {
            let places = lattice.places(position);
            for (start, weight) in places {
                let values = &mut lattice.values[start..start + columns];
                values.iter_mut().zip(row).for_each(|(value, row)| *value += weight * row);
            }
        }
        lattice
    }

    /// Each point with its row.
    fn points(&self) -> impl Iterator<Item = ([f64; 2], &[f64])> + Clone {
        self.values.chunks(self.columns).enumerate().map(|(index, row)| {
            let place = [index % self.counts[0], index / self.counts[0]];
            ([0, 1].map(|axis| self.corner[axis] + self.step * place[axis] as f64), row)
        })
    }

    /// The rows that a position is interpolated between, by their start, and their weights; none weighs nothing.
    fn places(&self, position: [f64; 2]) -> impl Iterator<Item = (usize, f64)> + use<> {
        let [x, y] = [0, 1].map(|axis| {
            let place = (position[axis] - self.corner[axis]) / self.step;
            (place as usize + 1 - POINTS / 2, lagrange(place.fract()))
        });
        let (width, columns) = (self.counts[0], self.columns);
        let place = move |at: usize| {
            let (column, row) = (at % POINTS, at / POINTS);
            (((y.0 + row) * width + x.0 + column) * columns, x.1[column] * y.1[row])
        };
        (0..POINTS * POINTS).map(place).filter(|(_, weight)| *weight != 0.0)
    }

    /// The values, row by row as [`smoothed`](Self::smoothed) gives them.
    pub fn values(&self) -> &[f64] {
        &self.values
    }

    /// At each point, the sum over all points of exp(-r^2 s^2) x value, first along x and then along y.
    pub fn smoothed(&self, s: f64) -> Vec<f64> {
        let reach = (CUT.sqrt() / (s * self.step)) as usize;
        let bell: Vec<f64> = (0..=reach).map(|away| (-(away as f64 * self.step * s).powi(2)).exp()).collect();
        let width = self.counts[0] * self.columns;
        let mut along = self.values.clone();
        for (row, values) in along.chunks_mut(width).zip(self.values.chunks(width)) {
            for (away, &factor) in bell.iter().enumerate().take(self.counts[0]).skip(1) {
                let shift = away * self.columns;
                add(&mut row[..width - shift], factor, &values[shift..]);
                add(&mut row[shift..], factor, &values[..width - shift]);
            }
        }
        let mut smoothed = vec![0.0; along.len()];
        for (index, row) in smoothed.chunks_mut(width).enumerate() {
            let near = index.saturating_sub(reach)..self.counts[1].min(index + reach + 1);
            for other in near {
                add(row, bell[index.abs_diff(other)], &along[other * width..][..width]);
            }
        }
        smoothed
    }

    /// Adds what some values on the lattice are at a position.
    pub fn gather(&self, values: &[f64], position: [f64; 2], sum: &mut [f64]) {
        for (start, weight) in self.places(position) {
            add(sum, weight, &values[start..start + self.columns]);
        }
    }

    /// Adds what some values on the lattice are at the points of a finer one.
    pub fn refine(&self, values: &[f64], finer: &Self, sums: &mut [f64]) {
        for ((position, _), sum) in finer.points().zip(sums.chunks_mut(self.columns)) {
            self.gather(values, position, sum);
        }
    }
}

fn add(sum: &mut [f64], factor: f64, values: &[f64]) {
    sum.iter_mut().zip(values).for_each(|(sum, value)| *sum += factor * value);
}

fn span(values: impl Iterator<Item = f64>) -> (f64, f64) {
    values.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), value| (a.min(value), b.max(value)))
}

/// Lagrange's polynomials of the points -3, -2, ... 4 at x.
fn lagrange(x: f64) -> [f64; POINTS] {
    // Products of each point's distances from the others.
    const PRODUCTS: [f64; POINTS] = [-5040.0, 720.0, -240.0, 144.0, -144.0, 240.0, -720.0, 5040.0];
    let away: [f64; POINTS] = std::array::from_fn(|point| x + 3.0 - point as f64);
    let mut weights = PRODUCTS.map(f64::recip);
    let (mut below, mut above) = (1.0, 1.0);
    for point in 0..POINTS {
        weights[point] *= below;
        below *= away[point];
        weights[POINTS - 1 - point] *= above;
        above *= away[POINTS - 1 - point];
    }
    weights
}
