//! Ground sides that are stepped from outside, one hour at a time.

use std::collections::BTreeMap;

use pulp::{Arch, Simd, WithSimd};

use crate::cancel_token::CancelToken;
use crate::design::Design;
use crate::error::Error;
use crate::ground_side::{Bend, GroundSide, Offer};
use crate::heat_pump::Tangent;
use crate::lane_layout::OneByOne;
use crate::stepper::{Course, Moments, Record, TimeBlock, step};

/// Change of the fluid (K) between two solutions of an hour below which it counts as solved, and the most repetitions.
const LAST_CHANGE: f64 = 1e-12;
const MOST_REPETITIONS: usize = 6;

/// The numbers of a state, by name.
pub type Numbers = BTreeMap<String, Vec<f64>>;

/// State of a ground side that is stepped from outside.
pub trait HourByHour: Send {
    /// Solves the next hour of a design and ends it, unless `accept` refuses it. On an error nothing changes.
    ///
    /// # Errors
    /// [`Error::NotConverged`] if no temperature solves the hour, and those of `accept`.
    fn step(
        &mut self,
        design: &Design,
        hour: &TimeBlock<f64, 1>,
        accept: &dyn Fn(&Moments<f64, 1>) -> Result<(), Error>,
    ) -> Result<Ended, Error>;

    /// A copy that is stepped on its own.
    fn branch(&self) -> Box<dyn HourByHour>;

    /// The numbers of the state.
    fn numbers(&self) -> Numbers;

    /// Sets the state at the beginning of an hour, counted from the start, to numbers of an equal ground side.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] if they are not those of such a state.
    fn restore(&mut self, hour: usize, numbers: &Numbers) -> Result<(), Error>;
}

/// Results of an hour that has ended.
#[derive(Debug, Clone, Copy)]
pub struct Ended {
    /// Those of heat pump and fluid.
    pub moments: Moments<f64, 1>,
    /// Electricity of the ground side's own pump (W).
    pub own_electricity: f64,
}

/// A ground side of one kind that can be stepped from outside.
pub(super) trait Steppable: Clone + Send + 'static {
    /// What the stepper queries.
    type State: GroundSide<OneByOne, 1>;

    /// What solving an hour leaves behind for the next, before it has ended.
    type Trace: Copy;

    /// What the stepper queries.
    fn state(&mut self) -> &mut Self::State;

    /// What solving has left behind.
    fn trace(&self) -> Self::Trace;

    /// Takes back what solving has left behind since.
    fn take_back(&mut self, trace: Self::Trace);

    /// Ends an hour with the heat extracted in it (W); returns the electricity of the ground side's own pump (W).
    fn end(&mut self, heat: f64) -> f64;

    /// The numbers of the state.
    fn numbers(&self) -> Numbers;

    /// Sets the state at the beginning of an hour.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] if the numbers are not those of such a state.
    fn restore(&mut self, hour: usize, numbers: &Numbers) -> Result<(), Error>;
}

/// A copy of numbers by name.
pub(super) fn listed<'a>(places: impl IntoIterator<Item = (&'static str, &'a mut [f64])>) -> Numbers {
    places.into_iter().map(|(name, numbers)| (name.to_owned(), numbers.to_vec())).collect()
}

/// Fills places with the numbers of their names.
///
/// # Errors
/// [`Error::InvalidInput`] if a name is missing, or its numbers are too many, too few or not finite.
pub(super) fn fill<'a>(
    places: impl IntoIterator<Item = (&'static str, &'a mut [f64])>,
    numbers: &Numbers,
) -> Result<(), Error> {
    for (name, place) in places {
        let found = numbers.get(name).map_or(&[][..], |found| found);
        if found.len() != place.len() || !found.iter().all(|number| number.is_finite()) {
            let allowed = format!("must be {} finite numbers, as in the state of an equal loop", place.len());
            return Err(Error::invalid("Simulation", name, format!("{} numbers", found.len()), "", allowed));
        }
        place.copy_from_slice(found);
    }
    Ok(())
}

impl<G: Steppable> HourByHour for G {
    fn step(
        &mut self,
        design: &Design,
        hour: &TimeBlock<f64, 1>,
        accept: &dyn Fn(&Moments<f64, 1>) -> Result<(), Error>,
    ) -> Result<Ended, Error> {
        Arch::new().dispatch(Hour { ground_side: self, design, hour, accept })
    }

    fn branch(&self) -> Box<dyn HourByHour> {
        Box::new(self.clone())
    }

    fn numbers(&self) -> Numbers {
        Steppable::numbers(self)
    }

    fn restore(&mut self, hour: usize, numbers: &Numbers) -> Result<(), Error> {
        Steppable::restore(self, hour, numbers)
    }
}

struct Hour<'a, G> {
    ground_side: &'a mut G,
    design: &'a Design,
    hour: &'a TimeBlock<f64, 1>,
    accept: &'a dyn Fn(&Moments<f64, 1>) -> Result<(), Error>,
}

impl<G: Steppable> WithSimd for Hour<'_, G> {
    type Output = Result<Ended, Error>;

    #[inline(always)]
    fn with_simd<S: Simd>(self, _simd: S) -> Self::Output {
        let Self { ground_side, design, mut hour, accept } = self;
        let trace = ground_side.trace();
        let course = Course { designs: &[design], demands: &[] };
        let (mut open, mut record) = (Open::new(ground_side.state()), Solved(None));
        let solved = step(OneByOne, &mut open, &course, &mut hour, 1, &mut record, &CancelToken::default());
        let accepted = solved.and(record.0.ok_or(Error::NotConverged { hour: 0 })).and_then(|moments| {
            accept(&moments)?;
            Ok(moments)
        });
        match accepted {
            Ok(moments) => {
                let own_electricity = ground_side.end(moments.heat_extracted[0]);
                Ok(Ended { moments, own_electricity })
            }
            Err(error) => {
                ground_side.take_back(trace);
                Err(error)
            }
        }
    }
}

/// Keeps the one hour.
struct Solved(Option<Moments<f64, 1>>);

impl Record<OneByOne, 1> for Solved {
    #[inline(always)]
    fn take(&mut self, _first: usize, _hour: &TimeBlock<f64, 1>, moments: &Moments<f64, 1>) {
        self.0 = Some(*moments);
    }
}

/// A ground side whose hour is solved without ending it, again and again until the heat no longer changes: the planned
/// hours of a run end earlier.
struct Open<'a, G> {
    ground_side: &'a mut G,
    offer: Offer<f64, 1>,
    /// Heat of the last solution.
    heat: f64,
    repetitions: usize,
}

impl<'a, G> Open<'a, G> {
    fn new(ground_side: &'a mut G) -> Self {
        let none = Offer { no_load_temperature: [0.0], pulse_response: [0.0] };
        Self { ground_side, offer: none, heat: f64::INFINITY, repetitions: 0 }
    }
}

impl<G: GroundSide<OneByOne, 1>> GroundSide<OneByOne, 1> for Open<'_, G> {
    #[inline(always)]
    fn flow_stops(&self) -> bool {
        self.ground_side.flow_stops()
    }

    #[inline(always)]
    fn set_flow_shares(&mut self, shares: &[f64; 1]) {
        self.ground_side.set_flow_shares(shares);
    }

    #[inline(always)]
    fn offer(&mut self) -> Offer<f64, 1> {
        self.offer = self.ground_side.offer();
        self.offer
    }

    #[inline(always)]
    fn resistance(&self, mean_fluid: f64) -> Tangent<f64> {
        self.ground_side.resistance(mean_fluid)
    }

    #[inline(always)]
    fn kelvins_per_watt(&self, mean_fluid: f64) -> Tangent<f64> {
        self.ground_side.kelvins_per_watt(mean_fluid)
    }

    #[inline(always)]
    fn approximate_kelvins_per_watt(&self, mean_fluid: f64) -> f64 {
        self.ground_side.approximate_kelvins_per_watt(mean_fluid)
    }

    #[inline(always)]
    fn bends(&self) -> &[Bend<f64>] {
        self.ground_side.bends()
    }

    #[inline(always)]
    fn refined(&mut self, heat_extracted: &[f64; 1]) -> Option<Offer<f64, 1>> {
        let heat = heat_extracted[0];
        if let Some(better) = self.ground_side.refined(heat_extracted) {
            self.offer = better;
            self.heat = heat;
            return Some(better);
        }
        let Offer { no_load_temperature: [at], pulse_response: [own] } = self.offer;
        let per_watt = own + self.resistance(at).value + self.approximate_kelvins_per_watt(at);
        let change = per_watt * (heat - self.heat).abs();
        self.heat = heat;
        self.repetitions += 1;
        (change > LAST_CHANGE && heat != 0.0 && self.repetitions <= MOST_REPETITIONS).then_some(self.offer)
    }

    /// Whoever steps ends the hour once it is accepted.
    #[inline(always)]
    fn commit(&mut self, _heat_extracted: &[f64; 1]) {}
}
