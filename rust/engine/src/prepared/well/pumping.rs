//! The share of an hour in which a well pumps.

/// The share of an hour in which the well pumps, and its iteration if the pump stops with the compressor.
///
/// The heat of the hour is exchanged within that share, so the fluid differs from the water by the hour's mean heat
/// times w = 1 / share. The share in turn follows from the fluid: w is found by the secant method.
#[derive(Debug, Clone, Copy)]
pub struct Pumping {
    /// Inverse of the share; 1 in an hour without pumping.
    pub inverse: f64,
    /// The same as it follows from the fluid solved with it.
    pub follows: f64,
    /// Previous `inverse`, and its residual.
    before: Option<[f64; 2]>,
    pub tries: usize,
    is_idle: bool,
}

impl Pumping {
    pub const THROUGHOUT: Self = Self { inverse: 1.0, follows: 1.0, before: None, tries: 0, is_idle: false };

    pub fn share(&self) -> f64 {
        if self.is_idle { 0.0 } else { 1.0 / self.inverse }
    }

    /// Sets the share that follows from the fluid.
    #[inline(always)]
    pub fn follow(&mut self, share: f64) {
        self.is_idle = share <= 0.0;
        self.follows = if self.is_idle { 1.0 } else { 1.0 / share };
    }

    /// Begins an hour with the latest share.
    #[inline(always)]
    pub fn begin(&mut self) {
        (self.inverse, self.before, self.tries) = (self.follows, None, 0);
    }

    /// Improves the share.
    pub fn improve(&mut self) {
        let off = self.follows - self.inverse;
        let fixed_point = self.follows;
        let next = self.before.map_or(fixed_point, |[inverse, off_before]| {
            (self.inverse - inverse).mul_add(-off / (off - off_before), self.inverse)
        });
        self.before = Some([self.inverse, off]);
        self.inverse = if next.is_finite() && next >= 1.0 { next } else { fixed_point };
        self.tries += 1;
    }
}
