//! Temperatures of a loop's fluid without heat.

use std::array::from_fn;

use super::responses::Responses;
use crate::error::Error;
use crate::ground::{Ground, Warming};
use crate::lane_layout::{BLOCK, LaneLayout};
use crate::lanes::Lanes;
use crate::loads::HOURS_PER_YEAR;

/// Temperature of the fluid without heat in each hour of a run: a series that repeats, plus the ground's warming.
#[derive(Debug, Clone)]
pub struct Undisturbed {
    /// Repeated until the run ends (degC).
    repeating: Vec<f64>,
    warming: Option<Warming>,
}

impl Undisturbed {
    /// That of `repeating` hours (degC) without the warming of the ground, for a run of `hours` hours.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] if the warming's series ends before the run.
    pub fn new(repeating: Vec<f64>, ground: &Ground, hours: usize) -> Result<Self, Error> {
        ground.check_reach(hours)?;
        Ok(Self { repeating, warming: ground.warming.clone() })
    }

    /// The temperature in an hour of the run (degC).
    pub fn at(&self, hour: usize) -> f64 {
        let repeating = self.repeating[hour % self.repeating.len()];
        self.warming.as_ref().map_or(repeating, |warming| repeating + warming.at_end_of(hour))
    }

    /// The temperature without warming in the first hour (degC).
    pub fn first_without_warming(&self) -> f64 {
        self.repeating[0]
    }

    /// Hours after which it repeats, or those that are evaluated at a time if it never does.
    fn period(&self) -> usize {
        if self.warming.is_some() { HOURS_PER_YEAR } else { self.repeating.len() }
    }
}

/// The same for loops side by side, block by block.
#[derive(Debug, Clone)]
pub(super) struct UndisturbedBlocks<'a, A: LaneLayout> {
    layout: A,
    loops: Vec<&'a Undisturbed>,
    /// Temperatures of one period (degC).
    blocks: Vec<[A::Designs; BLOCK]>,
    /// Index of the next block.
    place: usize,
    /// First hour of the period after this one if the periods differ; otherwise `None`.
    next: Option<usize>,
}

impl<'a, A: LaneLayout> UndisturbedBlocks<'a, A> {
    /// From an hour of the run on, the first of a block. Unused lanes repeat the last loop.
    #[inline(always)]
    pub fn from(layout: A, loops: &[&'a Responses], hour: usize) -> Self {
        let loops: Vec<_> = loops.iter().map(|prepared| &prepared.undisturbed).collect();
        let period = loops.iter().map(|each| each.period()).max().unwrap_or(1);
        let changes = loops.iter().any(|each| each.warming.is_some());
        let count = period.div_ceil(BLOCK);
        let first = hour / period * period;
        let none = [A::Designs::all(layout.of_designs(), 0.0); BLOCK];
        let mut found = Self { layout, loops, blocks: vec![none; count], place: 0, next: None };
        found.evaluate(first);
        found.place = hour / BLOCK % count;
        found.next = changes.then_some(first + period);
        found
    }

    /// The temperatures of the next block (degC).
    #[inline(always)]
    pub fn next(&mut self) -> &[A::Designs; BLOCK] {
        if self.place == self.blocks.len() {
            self.begin_period();
        }
        &self.blocks[self.place]
    }

    /// Ends the block.
    #[inline(always)]
    pub fn pass(&mut self) {
        self.place += 1;
    }

    #[inline(always)]
    fn begin_period(&mut self) {
        self.place = 0;
        if let Some(first) = self.next {
            self.evaluate(first);
            self.next = Some(first + self.blocks.len() * BLOCK);
        }
    }

    /// Evaluates the period that begins with an hour of the run.
    #[inline(never)]
    fn evaluate(&mut self, first: usize) {
        let Self { layout, loops, blocks, .. } = self;
        let of = |lane: usize| loops[lane.min(loops.len() - 1)];
        for (number, block) in blocks.iter_mut().enumerate() {
            let hour = |k: usize| first + number * BLOCK + k;
            *block = from_fn(|k| A::Designs::each(layout.of_designs(), |lane| of(lane).at(hour(k))));
        }
    }
}
