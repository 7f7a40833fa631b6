//! What a heat pump draws from, behind one interface.
//!
//! Each kind of loop has a folder here with two types: the part of the design that describes it, and its memory while a run
//! steps, which implements [`GroundSide`].

pub mod bore_field;

use serde::{Deserialize, Serialize};

use crate::error::Error;
use crate::ground::Ground;
use bore_field::BoreField;

/// The straight line that a ground side offers the heat pump for one hour.
///
/// `entering fluid = open_circuit - resistance x heat extracted`: all that has happened before is in the first term.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Offer {
    /// Entering fluid temperature if no heat were extracted in the hour [degC].
    pub open_circuit: f64,
    /// Fall of the entering fluid temperature for each watt extracted throughout the hour [K/W]; above zero.
    pub resistance: f64,
    /// Entering less leaving fluid temperature for each watt: 1 / (mass flow x heat capacity) [K/W].
    pub kelvins_per_watt: f64,
}

/// Temperatures at the end of an hour [degC].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoopState {
    /// Mean of entering and leaving fluid temperature.
    pub fluid: f64,
    /// Where fluid meets ground: the wall of the bores.
    pub wall: f64,
}

/// A loop while a run steps: asked for an offer and told the heat, once an hour.
pub trait GroundSide {
    /// The offer for the hour that begins.
    fn offer(&mut self) -> Offer;

    /// Takes the hour's heat extracted [W] and ends the hour.
    fn commit(&mut self, heat_extracted: f64) -> LoopState;
}

/// The kinds of ground side that a design can have.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind")]
pub enum GroundSideKind {
    /// Vertical bores.
    #[serde(rename = "bore field")]
    BoreField(BoreField),
}

impl GroundSideKind {
    /// Checks that the values are physical.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] names the field that is not.
    pub fn validate(&self) -> Result<(), Error> {
        match self {
            Self::BoreField(field) => field.validate(),
        }
    }

    /// Mean temperature of the ground around the loop before any heat is taken [degC].
    #[must_use]
    pub fn undisturbed(&self, ground: &Ground) -> f64 {
        match self {
            Self::BoreField(field) => field.undisturbed(ground),
        }
    }
}
