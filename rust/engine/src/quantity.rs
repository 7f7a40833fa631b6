//! The schema: each number of a design with its unit and accepted range.
//!
//! A type of the design lists its numbers once, as [`Quantity`] rows. The same rows validate it here, give the Python
//! package the unit to which a text such as `"300 ft"` is converted, and fill the tables of the documentation.

use crate::error::{Error, shown};

/// One number of the type `T`.
pub struct Quantity<T: 'static> {
    /// Name of the field in Rust, in Python and in the design file.
    pub name: &'static str,
    /// SI unit (temperatures in degC, differences in K); empty for dimensionless numbers.
    pub unit: &'static str,
    /// Smallest accepted value.
    pub least: f64,
    /// Largest accepted value.
    pub most: f64,
    /// Reads the value; `None` if the field is not given.
    pub read: fn(&T) -> Option<f64>,
}

impl<T> Quantity<T> {
    /// A row of the schema.
    pub const fn new(
        name: &'static str,
        unit: &'static str,
        least: f64,
        most: f64,
        read: fn(&T) -> Option<f64>,
    ) -> Self {
        Self { name, unit, least, most, read }
    }
}

/// A row of the schema without its type.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct QuantityInfo {
    /// Name of the field.
    pub name: &'static str,
    /// SI unit; empty for dimensionless numbers.
    pub unit: &'static str,
    /// Smallest accepted value.
    pub least: f64,
    /// Largest accepted value.
    pub most: f64,
}

/// A type of the design whose numbers have units and ranges.
pub trait Quantified: Sized + 'static {
    /// The type's name in Python, used in error messages.
    const OWNER: &'static str;
    /// Its numbers.
    const QUANTITIES: &'static [Quantity<Self>];

    /// Checks every number against its range.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] names the first field that is out of range or not finite.
    fn check_quantities(&self) -> Result<(), Error> {
        Self::QUANTITIES.iter().try_for_each(|row| match (row.read)(self) {
            Some(value) if !(row.least..=row.most).contains(&value) => {
                let range = format!("must be from {} to {}", row.least, row.most);
                let allowed = if row.unit.is_empty() { range } else { format!("{range} {}", row.unit) };
                Err(Error::invalid(Self::OWNER, row.name, shown(value), row.unit, allowed))
            }
            _ => Ok(()),
        })
    }

    /// The rows without their type, for tables.
    fn infos() -> Vec<QuantityInfo> {
        Self::QUANTITIES
            .iter()
            .map(|row| QuantityInfo { name: row.name, unit: row.unit, least: row.least, most: row.most })
            .collect()
    }
}
