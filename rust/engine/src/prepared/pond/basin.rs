//! The pond divided into layers.

use crate::ground_side::pond::Pond;

/// Number of layers, all of the same thickness.
pub const LAYERS: usize = 6;

/// Number of interfaces between them.
pub const FACES: usize = LAYERS - 1;

/// Share of the solar radiation, the infrared part, absorbed in the first decimetres (Dake & Harleman 1969, Water
/// Resour. Res. 5, 484; value from memory, checked by tests/reference/test_second_sources_pond.py).
pub const SKIN: f64 = 0.4;

/// Fixed properties of the layers, from the surface down.
#[derive(Debug, Clone, PartialEq)]
pub struct Basin {
    /// Thickness of each layer (m).
    pub thickness: f64,
    /// Area at the top of each layer; the first is the water surface (m2).
    pub tops: [f64; LAYERS],
    /// Area of the bed in contact with each layer, in plan view (m2).
    pub beds: [f64; LAYERS],
    /// Volume of each layer (m3).
    pub volumes: [f64; LAYERS],
    /// Area on which light below the surface is absorbed in each layer, weighted by the remaining light (m2).
    pub lit: [f64; LAYERS],
}

impl Basin {
    /// Divides a pond into layers.
    pub fn new(pond: &Pond) -> Self {
        let rows = &pond.bathymetry;
        let thickness = rows[rows.len() - 1][0] / LAYERS as f64;
        let top = |layer: usize| layer as f64 * thickness;
        let tops = std::array::from_fn(|layer| area(rows, top(layer)));
        let below = |layer: usize| if layer + 1 < LAYERS { tops[layer + 1] } else { 0.0 };
        let left = |layer: usize| (-top(layer) / pond.extinction_depth).exp();
        Self {
            thickness,
            tops,
            beds: std::array::from_fn(|layer| tops[layer] - below(layer)),
            volumes: std::array::from_fn(|layer| volume(rows, top(layer), top(layer + 1))),
            lit: std::array::from_fn(|layer| tops[layer] * left(layer) - below(layer) * left(layer + 1)),
        }
    }

    /// Depth of the pond (m).
    pub fn depth(&self) -> f64 {
        self.thickness * LAYERS as f64
    }

    /// Area of the surface (m2).
    pub fn surface(&self) -> f64 {
        self.tops[0]
    }
}

/// Area at a depth, interpolated linearly between the rows (m2).
fn area(rows: &[[f64; 2]], depth: f64) -> f64 {
    let between = rows.windows(2).find(|pair| depth <= pair[1][0]);
    between.map_or(0.0, |pair| {
        let ([above, wide], [below, narrow]) = (pair[0], pair[1]);
        wide + (narrow - wide) * (depth - above) / (below - above)
    })
}

/// Volume between two depths (m3).
fn volume(rows: &[[f64; 2]], from: f64, to: f64) -> f64 {
    let piece = |pair: &[[f64; 2]]| {
        let (first, last) = (from.max(pair[0][0]), to.min(pair[1][0]));
        if last > first { 0.5 * (area(rows, first) + area(rows, last)) * (last - first) } else { 0.0 }
    };
    rows.windows(2).map(piece).sum()
}
