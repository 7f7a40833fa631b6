//! Ground below the water: a column of a few cells under each layer.

use super::basin::LAYERS;
use crate::ground::Ground;

/// Cells of a column.
const CELLS: usize = 4;
/// Thickness of the first (m), and the ratio of each thickness to the one above.
const FIRST: f64 = 0.2;
const GROWTH: f64 = 2.5;

/// Columns of ground per square metre, solved by implicit steps with elimination from below.
///
/// The lower end is held at the ground's undisturbed temperature.
#[derive(Debug, Clone, PartialEq)]
pub struct Bed {
    /// Heat capacity divided by the time step (W/(m2 K)).
    stored: [f64; CELLS],
    /// Conductance to what lies above each cell (W/(m2 K)).
    upward: [f64; CELLS],
    /// Inverse of the diagonal after elimination (m2 K/W).
    pivots: [f64; CELLS],
    /// Share of a cell's heat passed upward: upward x pivot.
    passed: [f64; CELLS],
    /// Heat from the lower end with the last cell at 0 degC (W/m2).
    from_below: f64,
    /// Undisturbed temperature at the lower end (degC).
    pub deep: f64,
}

/// Temperatures of the cells below each layer (degC).
pub type Columns = [[f64; CELLS]; LAYERS];

/// Right-hand sides of the cells' equations once those below them are eliminated (W/m2).
pub type Known = [[f64; CELLS]; LAYERS];

impl Bed {
    /// The ground below a pond of a depth (m), with a time step (s).
    pub fn new(ground: &Ground, depth: f64, step: f64) -> Self {
        let thickness: [f64; CELLS] = std::array::from_fn(|cell| FIRST * GROWTH.powi(cell as i32));
        let stored = thickness.map(|thickness| ground.volumetric_heat_capacity * thickness / step);
        let upward = std::array::from_fn(|cell| {
            let above = if cell == 0 { 0.0 } else { thickness[cell - 1] };
            2.0 * ground.conductivity / (above + thickness[cell])
        });
        let end = 2.0 * ground.conductivity / thickness[CELLS - 1];
        let mut pivots = [0.0; CELLS];
        let mut downward = end;
        for cell in (0..CELLS).rev() {
            pivots[cell] = 1.0 / (stored[cell] + upward[cell] + downward);
            downward = upward[cell] * (1.0 - upward[cell] * pivots[cell]);
        }
        let deep = ground.undisturbed(depth + thickness.iter().sum::<f64>());
        let passed = std::array::from_fn(|cell| upward[cell] * pivots[cell]);
        Self { stored, upward, pivots, passed, from_below: end * deep, deep }
    }

    /// All cells at one temperature (degC).
    pub fn even(temperature: f64) -> Columns {
        [[temperature; CELLS]; LAYERS]
    }

    /// Heat absorbed by the ground per kelvin of the water (W/(m2 K)).
    #[inline(always)]
    pub fn conductance(&self) -> f64 {
        self.upward[0] * (1.0 - self.passed[0])
    }

    /// Eliminates the cells from below.
    #[inline(always)]
    pub fn known(&self, columns: &Columns) -> Known {
        let mut known = [[0.0; CELLS]; LAYERS];
        for (known, column) in known.iter_mut().zip(columns) {
            let mut from_below = self.from_below;
            for cell in (0..CELLS).rev() {
                known[cell] = self.stored[cell].mul_add(column[cell], from_below);
                from_below = self.passed[cell] * known[cell];
            }
        }
        known
    }

    /// Heat from the ground to water of 0 degC (W/m2).
    #[inline(always)]
    pub fn given(&self, known: &Known, layer: usize) -> f64 {
        self.passed[0] * known[layer][0]
    }

    /// Ends the hour with the water of each layer at a temperature (degC).
    #[inline(always)]
    pub fn advance(&self, columns: &mut Columns, known: &Known, water: &[f64; LAYERS]) {
        for layer in 0..LAYERS {
            let mut above = water[layer];
            for cell in 0..CELLS {
                above = self.passed[cell].mul_add(above, known[layer][cell] * self.pivots[cell]);
                columns[layer][cell] = above;
            }
        }
    }
}
