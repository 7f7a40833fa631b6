//! Interaction of bores, node by node, projected onto vectors over their segments.

use faer::Mat;
use multiversion::multiversion;
use rayon::prelude::*;

use super::exponential::exponential;
use super::interaction::{GRADE, Neighbours, Part, Segmented};
use super::kernel::Nodes;
use super::lattice::{F32Lanes, LANES, Lattice};
use super::pair_sums::lattice_sums;
use crate::cancel_token::CancelToken;

/// Bores that are summed together.
const TOGETHER: usize = 32;

/// The sums over bores i and j, i different from j, at each node.
pub fn between(nodes: &Nodes, field: &Segmented<'_>, parts: &[Part], basis: &Mat<f64>) -> Vec<Mat<f64>> {
    let (count, rows) = (basis.ncols(), basis.nrows());
    let group = |group: usize| -> Vec<F32Lanes> {
        let value = |row: usize, column: usize| {
            if column < count { basis[(row, column)] as f32 } else { 0.0 }
        };
        (0..rows).map(|row| std::array::from_fn(|lane| value(row, group * LANES + lane))).collect()
    };
    let groups: Vec<Vec<F32Lanes>> = (0..count.div_ceil(LANES)).map(group).collect();
    let mut sums = vec![Mat::<f64>::zeros(count, count); nodes.s().len()];
    for part in parts {
        let s = &nodes.s()[part.nodes.clone()];
        let mut taken = vec![part.ranges.zeros(); groups.len()];
        groups.iter().zip(&mut taken).for_each(|(heat, taken)| part.take(&part.ranges, heat, taken));
        let found = match &part.near {
            Some(near) => s.par_iter().map(|&s| near_sum(part, near, &taken, s, nodes.token())).collect(),
            None => far_sums(field, part, &taken, s, nodes.token()),
        };
        for (node, sum) in part.nodes.clone().zip(found) {
            sums[node] =
                Mat::from_fn(count, count, |row, column| 0.5 * (sum[(row, column)] + sum[(column, row)]));
        }
    }
    sums
}

/// Sum of the products of the lanes of two groups.
type LaneSums = [[f64; LANES]; LANES];

/// At one node, over neighbouring bores.
fn near_sum(
    part: &Part,
    near: &Neighbours,
    taken: &[Vec<F32Lanes>],
    s: f64,
    token: &CancelToken,
) -> Mat<f64> {
    let layers = part.layers;
    let weights: Vec<f32> =
        (0..layers.up_to(GRADE, 0.0, s)).map(|layer| layers.weight(layer, s) as f32).collect();
    let reach = GRADE.cut / (s * s);
    let bores: Vec<usize> = (0..part.ranges.count()).collect();
    let groups = taken.len();
    let few = |bores: &[usize]| -> Vec<LaneSums> {
        let mut sums = vec![[[0.0; LANES]; LANES]; groups * groups];
        let mut met = vec![[0.0; LANES]; weights.len()];
        for &bore in bores {
            token.check();
            for (from, heat) in taken.iter().enumerate() {
                let mut most = 0;
                // Each pair of bores once, for both orders.
                for (other, square) in near.of(bore, reach).filter(|(other, _)| *other > bore) {
                    let count = layers.up_to(GRADE, square, s).min(weights.len());
                    let heat = &heat[part.ranges.of(other)];
                    let count = count.min(heat.len());
                    met[most..count.max(most)].fill([0.0; LANES]);
                    most = most.max(count);
                    add_scaled(exponential(-square * s * s) as f32, heat, &mut met[..count]);
                }
                for (to, own) in taken.iter().enumerate() {
                    let own = &own[part.ranges.of(bore)];
                    add_products(&weights, own, &met[..most], &mut sums[to * groups + from]);
                }
            }
        }
        sums
    };
    let mut sum = Mat::zeros(groups * LANES, groups * LANES);
    for part in bores.par_chunks(TOGETHER).map(few).collect::<Vec<_>>() {
        for (at, square) in part.iter().enumerate() {
            let (row, column) = (at / groups * LANES, at % groups * LANES);
            for (i, line) in square.iter().enumerate() {
                line.iter().enumerate().for_each(|(j, value)| sum[(row + i, column + j)] += 2.0 * value);
            }
        }
    }
    sum
}

#[multiversion(targets("x86_64+avx+avx2+fma"))]
fn add_scaled(factor: f32, heat: &[F32Lanes], met: &mut [F32Lanes]) {
    for (heat, met) in heat.iter().zip(met) {
        for lane in 0..LANES {
            met[lane] += factor * heat[lane];
        }
    }
}

/// Adds the products of all lanes of two groups, over the sines with their weights.
#[multiversion(targets("x86_64+avx+avx2+fma"))]
fn add_products(weights: &[f32], own: &[F32Lanes], met: &[F32Lanes], sums: &mut LaneSums) {
    let mut products = [[0.0_f32; LANES]; LANES];
    for ((weight, own), met) in weights.iter().zip(own).zip(met) {
        let mut weighted = [0.0; LANES];
        for lane in 0..LANES {
            weighted[lane] = weight * met[lane];
        }
        for (products, own) in products.iter_mut().zip(own) {
            for lane in 0..LANES {
                products[lane] = own.mul_add(weighted[lane], products[lane]);
            }
        }
    }
    for (sums, products) in sums.iter_mut().zip(products) {
        sums.iter_mut().zip(products).for_each(|(sum, product)| *sum += f64::from(product));
    }
}

/// At nodes that use a lattice.
fn far_sums(
    field: &Segmented<'_>,
    part: &Part,
    taken: &[Vec<F32Lanes>],
    s: &[f64],
    token: &CancelToken,
) -> Vec<Mat<f64>> {
    let (layers, size) = (part.layers, taken.len() * LANES);
    let count = part.ranges.of(0).len();
    let [Some(&least), Some(&greatest)] = [s.first(), s.last()] else { return Vec::new() };
    let lattice = Lattice::new(&field.positions, GRADE, least, greatest, token);
    let of_layer = |layer: usize| -> Vec<Mat<f64>> {
        let groups: Vec<Vec<F32Lanes>> =
            taken.iter().map(|taken| taken.iter().skip(layer).step_by(count).copied().collect()).collect();
        lattice_sums(&lattice, &groups, s)
    };
    let mut sums = vec![Mat::<f64>::zeros(size, size); s.len()];
    for (layer, of_layer) in (0..count).into_par_iter().map(of_layer).collect::<Vec<_>>().iter().enumerate() {
        for ((sum, part), &s) in sums.iter_mut().zip(of_layer).zip(s) {
            *sum += faer::Scale(layers.weight(layer, s)) * part;
        }
    }
    sums
}
