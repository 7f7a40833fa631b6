//! Resistance between fluid and the wall that meets the ground over the fluid's temperature.

/// Added to a number below 2^51 and taken away again, this rounds it; in between, the lowest bits hold the whole number.
const ROUNDING: f64 = 1.5 * (1_u64 << 52) as f64;

/// Resistance of the whole loop and the flow's kelvins per watt, evenly tabulated over the mean fluid temperature.
#[derive(Debug, Clone, PartialEq)]
pub struct ResistanceTable {
    first_temperature: f64,
    per_step: f64,
    last: f64,
    rows: Vec<Row>,
}

/// Values at one temperature and what they gain up to the next [K/W].
#[derive(Debug, Clone, Copy, PartialEq)]
struct Row {
    resistance: f64,
    resistance_gain: f64,
    kelvins_per_watt: f64,
    kelvins_per_watt_gain: f64,
}

impl ResistanceTable {
    /// A table of resistance and 1 / (mass flow x heat capacity) [K/W] at temperatures [degC] that follow each other by a step.
    #[must_use]
    pub fn new(first_temperature: f64, temperature_step: f64, values: &[[f64; 2]]) -> Self {
        let next = values.iter().skip(1).chain(values.last());
        let row = |(low, high): (&[f64; 2], &[f64; 2])| Row {
            resistance: low[0],
            resistance_gain: high[0] - low[0],
            kelvins_per_watt: low[1],
            kelvins_per_watt_gain: high[1] - low[1],
        };
        Self {
            first_temperature,
            per_step: 1.0 / temperature_step,
            last: values.len() as f64 - 1.0,
            rows: values.iter().zip(next).map(row).collect(),
        }
    }

    /// Resistance and 1 / (mass flow x heat capacity) [K/W] at a mean fluid temperature [degC]; beyond the table those of its end.
    #[inline(always)]
    pub fn at(&self, temperature: f64) -> [f64; 2] {
        let place = ((temperature - self.first_temperature) * self.per_step).max(0.0).min(self.last);
        // The whole number below, or at a whole number perhaps that itself: either gives the same values.
        let rounded = (place - 0.5) + ROUNDING;
        let share = place - (rounded - ROUNDING);
        let row = &self.rows[(rounded.to_bits() & 0xffff_ffff) as usize];
        [
            share.mul_add(row.resistance_gain, row.resistance),
            share.mul_add(row.kelvins_per_watt_gain, row.kelvins_per_watt),
        ]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_lie_on_the_lines_between_the_rows() {
        let table = ResistanceTable::new(-10.0, 2.0, &[[1.0, 10.0], [3.0, 20.0], [2.0, 50.0]]);
        let expected = [
            (-20.0, 1.0, 10.0),
            (-10.0, 1.0, 10.0),
            (-9.5, 1.5, 12.5),
            (-8.0, 3.0, 20.0),
            (-7.0, 2.5, 35.0),
            (-6.0, 2.0, 50.0),
            (90.0, 2.0, 50.0),
        ];
        for (temperature, resistance, kelvins_per_watt) in expected {
            assert_eq!(table.at(temperature), [resistance, kelvins_per_watt], "{temperature} degC");
        }
    }
}
