//! Resistance between fluid and bore wall over the fluid's temperature.

/// Resistance of the whole field and the flow's kelvins per watt, evenly tabulated over the mean fluid temperature.
#[derive(Debug, Clone, PartialEq)]
pub struct ResistanceTable {
    first_temperature: f64,
    per_step: f64,
    /// Resistance and 1 / (mass flow x heat capacity) at each temperature [K/W].
    rows: Vec<[f64; 2]>,
}

impl ResistanceTable {
    /// A table with `rows` of resistance and 1 / (mass flow x heat capacity) [K/W] (at least two), the first at `first_temperature` [degC].
    #[must_use]
    pub fn new(first_temperature: f64, temperature_step: f64, rows: Vec<[f64; 2]>) -> Self {
        Self { first_temperature, per_step: 1.0 / temperature_step, rows }
    }

    /// Resistance and 1 / (mass flow x heat capacity) [K/W] at a mean fluid temperature [degC]; beyond the table those of its end.
    #[inline(always)]
    pub fn at(&self, temperature: f64) -> (f64, f64) {
        let last = self.rows.len() - 2;
        let place = ((temperature - self.first_temperature) * self.per_step).clamp(0.0, (last + 1) as f64);
        let below = (place as usize).min(last);
        let share = place - below as f64;
        let [low, high] = [self.rows[below], self.rows[below + 1]];
        (low[0] + share * (high[0] - low[0]), low[1] + share * (high[1] - low[1]))
    }
}
