//! Ground sides as a design describes them, and the interface through which the stepper uses them.
//!
//! Each kind has a folder here with its description: the part of a design, its validation and what sizing may vary.
//! What prepares and steps a kind stands above the stepper, in `prepared/`.

pub mod bore_field;
pub(crate) mod fresh_water;
mod measure;
pub mod pond;
pub mod trench_field;
pub mod well;

use serde::{Deserialize, Serialize};

pub use measure::Measure;

use crate::error::Error;
use crate::ground::Ground;
use crate::heat_pump::Tangent;
use crate::lane_layout::LaneLayout;
use bore_field::BoreField;
use pond::Pond;
use trench_field::TrenchField;
use well::Well;

/// The linear response of a ground side in a time block, one number per design.
///
/// With the heat extracted in the time block, the temperature at the loop is `no_load_temperature - sum of
/// pulse_response x heat`: the first response times the heat of the hour itself, the second times that of the hour
/// before, and so on back to the time block's first hour. The resistance of the loop lies between it and the fluid: see
/// [`GroundSide`].
#[derive(Debug, Clone, Copy, PartialEq)]
#[repr(C, align(64))]
pub struct Offer<N, const H: usize> {
    /// Temperature at the loop in each hour without heat in the time block (degC).
    pub no_load_temperature: [N; H],
    /// Fall of that temperature per watt extracted throughout an hour, in that hour and the following ones (K/W); the
    /// first is zero or positive.
    pub pulse_response: [N; H],
}

/// State of the loops of designs while their runs step: returns an offer and receives the heat, once every `H` hours.
///
/// With the no-load temperature U of an hour, which follows from the heat of all earlier hours, the first pulse
/// response a, the loop's resistance R and the flow's kelvins per watt K, an hour with the heat q has the mean fluid
/// temperature M and the entering fluid temperature E:
///
/// ```text
/// M = U - (a + R(M)) q
/// E = M + K(M) q / 2
/// ```
///
/// R and K are those of the hour's own fluid. R falls where a film becomes turbulent, so M may rise with q there, and
/// more than one temperature can solve an hour with heat extraction: a colder fluid with a laminar film stays colder.
/// The coldest solution counts, which is conservative.
pub trait GroundSide<A: LaneLayout, const H: usize> {
    /// Whether its flow stops with the compressor. Its lines then apply while the flow runs, for the mean heat of the
    /// whole hour, and [`set_flow_shares`](Self::set_flow_shares) is called before [`offer`](Self::offer) and before
    /// [`refined`](Self::refined).
    #[inline(always)]
    fn flow_stops(&self) -> bool {
        false
    }

    /// Sets the share of each hour of the time block in which the flow runs, as currently estimated.
    #[inline(always)]
    fn set_flow_shares(&mut self, _shares: &[A::Designs; H]) {}

    /// The offer for the next time block.
    fn offer(&mut self) -> Offer<A::Designs, H>;

    /// The loop's resistance R (K/W) over the mean fluid temperature (degC).
    fn resistance(&self, mean_fluid: A::Wide) -> Tangent<A::Wide>;

    /// Entering minus leaving fluid temperature per watt, K = 1 / (mass flow x heat capacity) in K/W, over the mean
    /// fluid temperature (degC).
    fn kelvins_per_watt(&self, mean_fluid: A::Wide) -> Tangent<A::Wide>;

    /// The same, accurate to some thousandths, with less work.
    #[inline(always)]
    fn approximate_kelvins_per_watt(&self, mean_fluid: A::Wide) -> A::Wide {
        self.kelvins_per_watt(mean_fluid).value
    }

    /// Where the slope of the resistance changes abruptly, in order of temperature.
    fn bends(&self) -> &[Bend<A::Wide>];

    /// A better offer for the same time block if the heat extracted (W) with the last one shows that its lines are too
    /// inaccurate; otherwise `None`.
    #[inline(always)]
    fn refined(&mut self, _heat_extracted: &[A::Designs; H]) -> Option<Offer<A::Designs, H>> {
        None
    }

    /// Records the heat extracted in each hour (W) and ends the time block.
    fn commit(&mut self, heat_extracted: &[A::Designs; H]);
}

/// A temperature at which a film changes its regime.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bend<N> {
    /// Mean fluid temperature (degC).
    pub temperature: N,
    /// Resistance at that temperature (K/W).
    pub resistance: N,
}

/// What every description of a ground side provides.
pub trait Description {
    /// Checks that the values are physical.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] names what is wrong.
    fn validate(&self) -> Result<(), Error>;

    /// Mean temperature of the ground around the loop before any heat is extracted (degC).
    fn undisturbed(&self, ground: &Ground) -> f64;

    /// What this is, if groundwater must not flow around it; `None` if it may.
    fn needs_still_ground(&self) -> Option<&'static str>;

    /// Why the ground's undisturbed temperature must stay the same; `None` if it may change.
    fn needs_constant_ground(&self) -> Option<&'static str> {
        None
    }

    /// Current value of a measure (m); NaN if the ground side has none.
    fn measure(&self, _measure: Measure) -> f64 {
        f64::NAN
    }

    /// Changes a measure (m).
    ///
    /// # Errors
    /// [`Error::InvalidInput`] if the ground side has no such measure.
    fn set_measure(&mut self, measure: Measure, _value: f64) -> Result<(), Error> {
        Err(measure.missing())
    }
}

/// The kinds of ground side that a design can have.
// A design has only one.
#[allow(clippy::large_enum_variant)]
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind")]
pub enum GroundSideKind {
    /// Vertical bores.
    #[serde(rename = "bore field")]
    BoreField(BoreField),
    /// Pipes in trenches.
    #[serde(rename = "trench field")]
    TrenchField(TrenchField),
    /// A pond with coils on its bottom.
    #[serde(rename = "pond")]
    Pond(Pond),
    /// A well of groundwater.
    #[serde(rename = "well")]
    Well(Well),
}

/// Evaluates an expression for the description in a [`GroundSideKind`], whatever its kind: together with the enum the
/// only list of kinds.
macro_rules! of_kind {
    ($kind:expr, $description:ident => $value:expr) => {
        match $kind {
            $crate::ground_side::GroundSideKind::BoreField($description) => $value,
            $crate::ground_side::GroundSideKind::TrenchField($description) => $value,
            $crate::ground_side::GroundSideKind::Pond($description) => $value,
            $crate::ground_side::GroundSideKind::Well($description) => $value,
        }
    };
}
pub(crate) use of_kind;

impl Description for GroundSideKind {
    fn validate(&self) -> Result<(), Error> {
        of_kind!(self, description => description.validate())
    }

    fn undisturbed(&self, ground: &Ground) -> f64 {
        of_kind!(self, description => description.undisturbed(ground))
    }

    fn needs_still_ground(&self) -> Option<&'static str> {
        of_kind!(self, description => description.needs_still_ground())
    }

    fn needs_constant_ground(&self) -> Option<&'static str> {
        of_kind!(self, description => description.needs_constant_ground())
    }

    fn measure(&self, measure: Measure) -> f64 {
        of_kind!(self, description => description.measure(measure))
    }

    fn set_measure(&mut self, measure: Measure, value: f64) -> Result<(), Error> {
        of_kind!(self, description => description.set_measure(measure, value))
    }
}
