//! What a heat pump draws from, behind one interface.
//!
//! Each kind of loop has a folder here with the part of the design that describes it. Its memory while a run steps implements
//! [`GroundSide`]; loops that meet the ground by conduction alone share one, in `conduction/`.

pub mod bore_field;
pub mod conduction;
mod fresh_water;
pub mod pond;
mod ready;
pub mod trench_field;
pub mod well;
mod years;

pub use ready::{Found, ReadyGroundSide};
pub use years::Column;

use serde::{Deserialize, Serialize};

use crate::error::Error;
use crate::ground::Ground;
use crate::lanes::Lanes;
use bore_field::BoreField;
use pond::Pond;
use trench_field::TrenchField;
use well::Well;

/// The straight line that a ground side offers the heat pump for one hour, for each lane.
///
/// `entering fluid = settled - carry x heat of the hour before - resistance x heat extracted`. What the hour before adds stands
/// apart, so that work which can do with an estimate of its heat need not wait for it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Offer<const L: usize> {
    /// Entering fluid temperature that all hours but the last would leave, without heat in this hour [degC].
    pub settled: Lanes<L>,
    /// Fall of the entering fluid temperature for each watt of the hour before [K/W].
    pub carry: Lanes<L>,
    /// Fall of the entering fluid temperature for each watt extracted throughout the hour [K/W]; zero or above.
    pub resistance: Lanes<L>,
    /// Entering less leaving fluid temperature for each watt: 1 / (mass flow x heat capacity) [K/W].
    pub kelvins_per_watt: Lanes<L>,
}

/// Loops of `L` designs while their runs step: asked for an offer and told the heat, once an hour.
///
/// The offer of an hour is asked for before the heat of the hour before it is told, so that the heat pump's work on one hour
/// overlaps that on the next.
pub trait GroundSide<const L: usize> {
    /// The offer for the next hour; all hours but the last one before it have been committed.
    fn offer(&mut self) -> Offer<L>;

    /// Takes the hour's heat extracted [W] and the mean fluid temperature that it led to [degC], and ends the hour.
    fn commit(&mut self, heat_extracted: Lanes<L>, mean_fluid: Lanes<L>);
}

/// The kinds of ground side that a design can have.
// A design has but one.
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

impl GroundSideKind {
    /// Checks that the values are physical.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] names the field that is not.
    pub fn validate(&self) -> Result<(), Error> {
        match self {
            Self::BoreField(field) => field.validate(),
            Self::TrenchField(field) => field.validate(),
            Self::Pond(pond) => pond.validate(),
            Self::Well(well) => well.validate(),
        }
    }

    /// Mean temperature of the ground around the loop before any heat is taken [degC].
    #[must_use]
    pub fn undisturbed(&self, ground: &Ground) -> f64 {
        match self {
            Self::BoreField(field) => field.undisturbed(ground),
            Self::TrenchField(field) => field.undisturbed(ground),
            Self::Pond(pond) => pond.undisturbed(),
            Self::Well(well) => well.aquifer.temperature,
        }
    }
}
