//! Step responses shared by the cases of a study.

use std::collections::HashMap;

use rayon::prelude::*;

use crate::cancel_token::CancelToken;
use crate::design::Design;
use crate::error::Error;
use crate::ground::{LaplaceCurve, ResponseCache, Shape};
use crate::prepared::preparation;

/// The step response of each shape of field, computed once.
pub(super) struct Shapes {
    /// `None` if there is none: the error then arises when it is requested.
    curves: HashMap<Vec<u64>, Option<LaplaceCurve>>,
}

impl Shapes {
    /// The responses of the valid designs, read from `cache` or stored there.
    pub fn of(
        designs: &[Design],
        hours: usize,
        cache: Option<&ResponseCache>,
        token: &CancelToken,
    ) -> Result<Self, Error> {
        let mut shapes: HashMap<Vec<u64>, Shape> = HashMap::new();
        for design in designs.iter().filter(|design| design.validate().is_ok()) {
            let needed = preparation(&design.ground_side).response_shape(&design.ground, hours);
            let Some(shape) = needed else { continue };
            shapes.entry(shape.key()).or_insert(shape);
        }
        let find = |(key, shape): (Vec<u64>, Shape)| {
            token.add(0)?;
            match cache.map_or_else(|| shape.response(token), |cache| cache.response(&shape, token)) {
                Err(error @ (Error::Io { .. } | Error::Stopped)) => Err(error),
                found => Ok((key, found.ok())),
            }
        };
        let curves = shapes.into_par_iter().map(find).collect::<Result<_, Error>>()?;
        Ok(Self { curves })
    }

    /// The step response of a shape.
    pub fn response(&self, shape: &Shape, token: &CancelToken) -> Result<LaplaceCurve, Error> {
        match self.curves.get(&shape.key()) {
            Some(Some(curve)) => Ok(curve.clone()),
            _ => shape.response(token),
        }
    }
}
