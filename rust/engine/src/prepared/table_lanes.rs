//! Resistance tables of several loops, evaluated side by side.

use std::sync::Arc;

use super::resistance_table::{ResistanceTable, TERMS};
use crate::ground_side::Bend;
use crate::heat_pump::Tangent;
use crate::lane_layout::LaneLayout;
use crate::lanes::Lanes;

/// Adding this to a number below 2^51 and subtracting it again rounds the number; in between, the lowest bits hold the
/// integer.
const ROUNDING: f64 = 1.5 * (1_u64 << 52) as f64;

/// The tables of loops that step side by side.
#[derive(Debug, Clone)]
pub struct TableLanes<A: LaneLayout> {
    /// One per lane.
    tables: Vec<Arc<ResistanceTable>>,
    /// The place of a temperature is per step x temperature + offset, from 0 to the last.
    per_step: A::Wide,
    offset: A::Wide,
    last: A::Wide,
    bends: Vec<Bend<A::Wide>>,
    /// Polynomial in the temperature minus the middle of the table.
    kelvins_per_watt: [A::Wide; TERMS],
    /// The same, through only three points.
    nearly: [A::Wide; 3],
    /// Ends of the table and its middle [degC].
    coldest: A::Wide,
    warmest: A::Wide,
    middle: A::Wide,
    /// The resistances, if no table changes with temperature.
    constant: Option<A::Wide>,
    layout: A,
}

impl<A: LaneLayout> TableLanes<A> {
    /// The tables of designs; unused lanes repeat the last one.
    #[must_use]
    pub fn new(layout: A, designs: &[&Arc<ResistanceTable>]) -> Self {
        let of = |lane: usize| Arc::clone(designs[A::design(lane).min(designs.len() - 1)]);
        let tables: Vec<Arc<ResistanceTable>> = (0..A::Wide::COUNT).map(of).collect();
        let each =
            |of: &dyn Fn(&ResistanceTable) -> f64| A::Wide::each(layout.of_wide(), |lane| of(&tables[lane]));
        let most_bends = tables.iter().map(|table| table.bends.len()).max().unwrap_or(0);
        // Never reached by a loop with fewer.
        let none = Bend { temperature: f64::INFINITY, resistance: 0.0 };
        let bend = |number: usize| Bend {
            temperature: each(&|table| table.bends.get(number).unwrap_or(&none).temperature),
            resistance: each(&|table| table.bends.get(number).unwrap_or(&none).resistance),
        };
        let constant = each(&|table| table.pieces[0][0]);
        let is_constant =
            tables.iter().all(|table| table.pieces.iter().all(|piece| *piece == table.pieces[0]));
        Self {
            per_step: each(&|table| table.per_step),
            offset: each(&|table| 1.0 - table.first * table.per_step),
            last: each(&|table| table.rows as f64 + 1.5),
            bends: (0..most_bends).map(bend).collect(),
            kelvins_per_watt: std::array::from_fn(|term| {
                each(&|table| per_kelvin(table, term, table.kelvins_per_watt[term]))
            }),
            nearly: std::array::from_fn(|term| {
                each(&|table| per_kelvin(table, term, table.approximate_kelvins_per_watt[term]))
            }),
            coldest: each(&|table| table.first),
            warmest: each(&|table| table.first + table.rows as f64 / table.per_step),
            middle: each(&|table| table.span().0),
            constant: is_constant.then_some(constant),
            tables,
            layout,
        }
    }

    /// Resistance (K/W) over the mean fluid temperature (degC).
    #[inline(always)]
    pub fn resistance(&self, mean_fluid: A::Wide) -> Tangent<A::Wide> {
        let (zero, one) = (mean_fluid.like(0.0), mean_fluid.like(1.0));
        if let Some(constant) = self.constant {
            return Tangent { value: constant, slope: zero };
        }
        let place = mean_fluid.mul_add(self.per_step, self.offset).max(zero).min(self.last);
        // The integer below, or at an integer possibly that minus one: both give the same values.
        let mut rounded = (place - mean_fluid.like(0.5)) + mean_fluid.like(ROUNDING);
        let x = place - (rounded - mean_fluid.like(ROUNDING));
        for bend in &self.bends {
            rounded = rounded + one.or_else(bend.temperature.is_below(mean_fluid), zero);
        }
        let [a, b, c] = A::Wide::each_of(self.layout.of_wide(), |lane| {
            self.tables[lane].pieces[(rounded.lane(lane).to_bits() & 0xffff_ffff) as usize]
        });
        let inverse = one.over(c.mul_add(x, one));
        let value = b.mul_add(x, a) * inverse;
        Tangent { value, slope: (-c).mul_add(value, b) * (inverse * self.per_step) }
    }

    /// Kelvins per watt of the flow (K/W) over the mean fluid temperature (degC).
    #[inline(always)]
    pub fn kelvins_per_watt(&self, mean_fluid: A::Wide) -> Tangent<A::Wide> {
        let t = self.above_middle(mean_fluid);
        let [lower @ .., fourth, fifth] = &self.kelvins_per_watt;
        let (mut value, mut slope) = (fifth.mul_add(t, *fourth), *fifth);
        for term in lower.iter().rev() {
            slope = slope.mul_add(t, value);
            value = value.mul_add(t, *term);
        }
        Tangent { value, slope }
    }

    /// The same, accurate to some thousandths.
    #[inline(always)]
    pub fn approximate_kelvins_per_watt(&self, mean_fluid: A::Wide) -> A::Wide {
        let t = self.above_middle(mean_fluid);
        let [constant, slope, bend] = self.nearly;
        bend.mul_add(t, slope).mul_add(t, constant)
    }

    /// A temperature minus the middle of the table [K], held at its ends.
    #[inline(always)]
    fn above_middle(&self, temperature: A::Wide) -> A::Wide {
        temperature.max(self.coldest).min(self.warmest) - self.middle
    }

    /// Where films change their regime.
    #[inline(always)]
    pub fn bends(&self) -> &[Bend<A::Wide>] {
        &self.bends
    }
}

/// Coefficient of a power of the temperature minus the middle of a table [K], from that of its quotient by half the span.
fn per_kelvin(table: &ResistanceTable, power: usize, coefficient: f64) -> f64 {
    let (_, half) = table.span();
    coefficient * (1.0 / half).powi(power as i32)
}
