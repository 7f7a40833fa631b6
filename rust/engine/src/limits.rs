//! Limits of the entering fluid temperature and other results, and the margin to freezing.

use serde::{Deserialize, Serialize};

use crate::error::Error;
use crate::quantity::{Quantified, Quantity};

/// Limits by which a run is judged; they don't affect the run itself. Further criteria are listed in
/// [`judgement`](crate::judgement).
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Limits {
    /// Lowest entering fluid temperature allowed (degC).
    pub entering_fluid_min: Option<f64>,
    /// Highest entering fluid temperature allowed (degC).
    pub entering_fluid_max: Option<f64>,
    /// Required margin of the lowest leaving fluid temperature above the freezing point (K).
    pub freezing_margin: f64,
    /// Lowest temperature allowed at the bore wall, or in the soil at the pipes of trenches (degC).
    pub wall_min: Option<f64>,
    /// Largest allowed back-up heat of a year, as a share of the year's heating.
    pub backup_share: Option<f64>,
    /// Largest allowed unmet cooling of a year, as a share of the year's cooling.
    pub unmet_cooling_share: Option<f64>,
    /// Most hours allowed in a year with demand and an entering fluid outside the heat pump's table (h).
    pub hours_outside_table: Option<f64>,
}

impl Quantified for Limits {
    const OWNER: &'static str = "Limits";
    const QUANTITIES: &'static [Quantity<Self>] = &[
        Quantity::new("entering_fluid_min", "degC", -50.0, 60.0, |l| l.entering_fluid_min),
        Quantity::new("entering_fluid_max", "degC", -50.0, 100.0, |l| l.entering_fluid_max),
        Quantity::new("freezing_margin", "K", 0.0, 50.0, |l| Some(l.freezing_margin)),
        Quantity::new("wall_min", "degC", -50.0, 60.0, |l| l.wall_min),
        Quantity::new("backup_share", "", 0.0, 1.0, |l| l.backup_share),
        Quantity::new("unmet_cooling_share", "", 0.0, 1.0, |l| l.unmet_cooling_share),
        Quantity::new("hours_outside_table", "h", 0.0, 8760.0, |l| l.hours_outside_table),
    ];
}

impl Limits {
    /// Checks that the limits are physical and in order.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] names the field that is not.
    pub fn validate(&self) -> Result<(), Error> {
        self.check_quantities()?;
        match (self.entering_fluid_min, self.entering_fluid_max) {
            (Some(least), Some(most)) if least >= most => {
                let allowed = format!("must be below entering_fluid_max, {most} degC");
                Err(Error::invalid(Self::OWNER, "entering_fluid_min", least, "degC", allowed))
            }
            _ => Ok(()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn limits(entering_fluid_min: Option<f64>, entering_fluid_max: Option<f64>) -> Limits {
        Limits { entering_fluid_min, entering_fluid_max, freezing_margin: 3.0, ..Limits::default() }
    }

    #[test]
    fn either_limit_may_be_left_out() {
        assert!(limits(None, None).validate().is_ok());
        assert!(limits(Some(-1.0), None).validate().is_ok());
        assert!(limits(None, Some(35.0)).validate().is_ok());
    }

    #[test]
    fn the_lowest_is_below_the_highest() {
        let text = limits(Some(30.0), Some(20.0)).validate().unwrap_err().to_string();
        assert_eq!(text, "Limits.entering_fluid_min = 30 degC: must be below entering_fluid_max, 20 degC");
    }
}
