//! Sums over pairs of bores of exp(-r^2 s^2), between vectors across the field.

use faer::Mat;

use super::Placed;
use super::kernel::across;
use super::shapes::Shapes;

/// Step in ln r of the distances that stand for all.
const STEP: f64 = 0.04;

/// Points of Lagrange's interpolation in ln r.
const POINTS: usize = 6;

/// For vectors w over the bores, the sums over bores i and j of w_i exp(-r_ij^2 s^2) w_j, one for each pair of shapes
/// that i and j have, with i = j apart, which has the radius for r.
///
/// Distances are told by a ladder in ln r: each pair is laid onto six of its rungs once and for all s. Going through
/// all pairs is what takes the time of fields of thousands of bores; sums over a grid would take this place there.
pub struct PairSums {
    vectors: usize,
    shapes: usize,
    rungs: Vec<(f64, Vec<f64>)>,
    own: Vec<(f64, Vec<f64>)>,
}

impl PairSums {
    /// Sums for `vectors`, one to a column, bores in rows.
    pub fn new(bores: &[Placed], shapes: &Shapes, vectors: &Mat<f64>) -> Self {
        let (count, kinds) = (vectors.ncols(), shapes.edges.len());
        let weighted = |bore: usize| -> Vec<f64> {
            let mut row = vec![0.0; kinds * count];
            (0..count)
                .for_each(|vector| row[shapes.of_bore[bore] * count + vector] = vectors[(bore, vector)]);
            row
        };
        let rows: Vec<Vec<f64>> = (0..bores.len()).map(weighted).collect();
        Self { vectors: count, shapes: kinds, rungs: rungs(bores, &rows), own: own(bores, shapes, vectors) }
    }

    /// The sums over pairs at s, (shape, vector) x (shape, vector) in rows.
    pub fn apart(&self, s: f64) -> Vec<f64> {
        weighted_sum(&self.rungs, s, (self.shapes * self.vectors).pow(2))
    }

    /// The sums over single bores at s: for each shape vector x vector in rows.
    pub fn own(&self, s: f64) -> Vec<f64> {
        weighted_sum(&self.own, s, self.shapes * self.vectors.pow(2))
    }
}

fn weighted_sum(terms: &[(f64, Vec<f64>)], s: f64, size: usize) -> Vec<f64> {
    let mut sum = vec![0.0; size];
    for (distance, values) in terms {
        add(&mut sum, across(*distance, s), values);
    }
    sum
}

fn add(sum: &mut [f64], factor: f64, values: &[f64]) {
    if factor != 0.0 {
        sum.iter_mut().zip(values).for_each(|(sum, value)| *sum += factor * value);
    }
}

/// Distances with the symmetric matrix of products of rows laid onto each.
fn rungs(bores: &[Placed], rows: &[Vec<f64>]) -> Vec<(f64, Vec<f64>)> {
    let size = rows.first().map_or(0, Vec::len);
    let least = 2.0 * bores.iter().map(|bore| bore.source.radius).fold(f64::INFINITY, f64::min);
    let first = (least.ln() / STEP).floor() - 4.0;
    let spread = |axis: usize| {
        let values = bores.iter().map(|bore| bore.position[axis]);
        let ends =
            values.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), value| (a.min(value), b.max(value)));
        ends.1 - ends.0
    };
    let most = spread(0).hypot(spread(1)).max(least);
    let count = ((most.ln() / STEP).ceil() - first) as usize + POINTS;
    let mut products = vec![Vec::new(); count];
    let mut met = vec![0.0; count * size];
    for (i, bore) in bores.iter().enumerate() {
        met.fill(0.0);
        for (other, row) in bores[i + 1..].iter().zip(&rows[i + 1..]) {
            let place = distance(bore, other).ln() / STEP - first;
            let start = place.floor() as usize - (POINTS / 2 - 1);
            for (rung, weight) in lagrange(place.fract()).into_iter().enumerate() {
                add(&mut met[(start + rung) * size..][..size], weight, row);
            }
        }
        for (product, met) in products.iter_mut().zip(met.chunks(size)) {
            if met.iter().all(|&value| value == 0.0) {
                continue;
            }
            product.resize(size * size, 0.0);
            for (line, &value) in product.chunks_mut(size).zip(&rows[i]).filter(|(_, value)| **value != 0.0) {
                add(line, value, met);
            }
        }
    }
    let rung = |(index, product): (usize, Vec<f64>)| {
        let symmetric =
            (0..product.len()).map(|at| product[at] + product[(at % size) * size + at / size]).collect();
        (((first + index as f64) * STEP).exp(), symmetric)
    };
    products.into_iter().enumerate().filter(|(_, product)| !product.is_empty()).map(rung).collect()
}

/// Radii with the products of the vectors over the bores that have them.
fn own(bores: &[Placed], shapes: &Shapes, vectors: &Mat<f64>) -> Vec<(f64, Vec<f64>)> {
    let count = vectors.ncols();
    let mut radii: Vec<f64> = bores.iter().map(|bore| bore.source.radius).collect();
    radii.sort_by(f64::total_cmp);
    radii.dedup();
    let products = |radius: f64| {
        let mut products = vec![0.0; shapes.edges.len() * count * count];
        for (bore, &shape) in shapes.of_bore.iter().enumerate() {
            if bores[bore].source.radius != radius {
                continue;
            }
            for (a, b) in (0..count).flat_map(|a| (0..count).map(move |b| (a, b))) {
                products[(shape * count + a) * count + b] += vectors[(bore, a)] * vectors[(bore, b)];
            }
        }
        products
    };
    radii.into_iter().map(|radius| (radius, products(radius))).collect()
}

fn distance(bore: &Placed, other: &Placed) -> f64 {
    (bore.position[0] - other.position[0]).hypot(bore.position[1] - other.position[1])
}

/// Lagrange's polynomials of the points -2, -1, 0, 1, 2, 3 at x.
fn lagrange(x: f64) -> [f64; POINTS] {
    let point = |index: usize| index as f64 - (POINTS / 2 - 1) as f64;
    std::array::from_fn(|index| {
        let others = (0..POINTS).filter(|&other| other != index);
        others.map(|other| (x - point(other)) / (point(index) - point(other))).product()
    })
}
