//! How the numbers of designs in several hours are arranged in lanes.

use std::fmt::Debug;
use std::marker::PhantomData;

use pulp::Simd;

use crate::lanes::{Lanes, Vector};

/// Hours that are processed together.
pub const BLOCK: usize = 8;

/// A number of the loads in an hour: one that all designs share, or one per design.
pub trait Demanded<N: Lanes>: Copy + Debug {
    /// One number per design, of the type of `like`.
    fn per_design(self, like: N) -> N;

    /// The number of a design.
    fn of_design(self, design: usize) -> f64;
}

impl<N: Lanes> Demanded<N> for f64 {
    #[inline(always)]
    fn per_design(self, like: N) -> N {
        like.like(self)
    }

    #[inline(always)]
    fn of_design(self, _design: usize) -> f64 {
        self
    }
}

impl<S: Simd> Demanded<Self> for Vector<S> {
    #[inline(always)]
    fn per_design(self, _like: Self) -> Self {
        self
    }

    #[inline(always)]
    fn of_design(self, design: usize) -> f64 {
        self.lane(design)
    }
}

/// Which numbers are processed at a time.
///
/// The numbers of a time block form an array with one entry per hour, each with one number per design; they are
/// contiguous in memory and are processed in parts.
pub trait LaneLayout: Copy {
    /// One number per design.
    type Designs: Lanes;

    /// The numbers that are processed at a time.
    type Wide: Lanes;

    /// A number of the designs' loads in an hour.
    type Demand: Demanded<Self::Designs>;

    /// SIMD token for numbers of designs.
    fn of_designs(self) -> <Self::Designs as Lanes>::Instructions;

    /// SIMD token for numbers that are processed at a time.
    fn of_wide(self) -> <Self::Wide as Lanes>::Instructions;

    /// One part of the numbers of designs in several hours.
    fn part(self, hours: &[Self::Designs], part: usize) -> Self::Wide;

    /// Sets one part of the numbers of designs in several hours.
    fn set_part(self, hours: &mut [Self::Designs], part: usize, numbers: Self::Wide);

    /// One part of numbers that all designs share, one per hour.
    fn shared(self, hours: &[f64], part: usize) -> Self::Wide;

    /// One part of numbers of the designs' loads, one per hour.
    fn demanded(self, hours: &[Self::Demand], part: usize) -> Self::Wide;

    /// Numbers of designs that are constant over all hours of a part.
    fn throughout(self, designs: Self::Designs) -> Self::Wide;

    /// Number of parts in a number of hours.
    #[inline(always)]
    fn parts(hours: usize) -> usize {
        hours * Self::Designs::COUNT / Self::Wide::COUNT
    }

    /// Design of a lane.
    #[inline(always)]
    fn design(lane: usize) -> usize {
        lane % Self::Designs::COUNT
    }

    /// Hour of a lane of a part, where 0 is the first hour.
    #[inline(always)]
    fn hour(part: usize, lane: usize) -> usize {
        (part * Self::Wide::COUNT + lane) / Self::Designs::COUNT
    }

    /// Lanes of a design.
    fn lanes_of(design: usize) -> impl Iterator<Item = usize> {
        (design..Self::Wide::COUNT).step_by(Self::Designs::COUNT)
    }

    /// The part of a block of hours that contains the time block's part which begins with an hour of the run.
    #[inline(always)]
    fn place(first: usize, part: usize) -> usize {
        Self::parts(first % BLOCK) + part
    }

    /// The number of a design in an hour of a block, from its parts.
    fn number(parts: &[Self::Wide], hour: usize, design: usize) -> f64 {
        let place = hour * Self::Designs::COUNT + design;
        parts[place / Self::Wide::COUNT].lane(place % Self::Wide::COUNT)
    }
}

/// One design, one hour at a time.
#[derive(Debug, Clone, Copy)]
pub struct OneByOne;

/// One design, several hours at a time.
#[derive(Debug, Clone, Copy)]
pub struct HourLanes<S>(pub S);

/// Several designs, one hour at a time; numbers `D` of their loads.
#[derive(Debug, Clone, Copy)]
pub struct DesignLanes<S, D>(S, PhantomData<D>);

impl<S: Simd> DesignLanes<S, f64> {
    /// Designs with the same loads.
    pub fn with_same_loads(simd: S) -> Self {
        Self(simd, PhantomData)
    }
}

impl<S: Simd> DesignLanes<S, Vector<S>> {
    /// Designs with loads of their own.
    pub fn with_own_loads(simd: S) -> Self {
        Self(simd, PhantomData)
    }
}

impl LaneLayout for OneByOne {
    type Designs = f64;
    type Wide = f64;
    type Demand = f64;

    #[inline(always)]
    fn of_designs(self) {}

    #[inline(always)]
    fn of_wide(self) {}

    #[inline(always)]
    fn part(self, hours: &[f64], part: usize) -> f64 {
        hours[part]
    }

    #[inline(always)]
    fn set_part(self, hours: &mut [f64], part: usize, numbers: f64) {
        hours[part] = numbers;
    }

    #[inline(always)]
    fn shared(self, hours: &[f64], part: usize) -> f64 {
        hours[part]
    }

    #[inline(always)]
    fn demanded(self, hours: &[f64], part: usize) -> f64 {
        hours[part]
    }

    #[inline(always)]
    fn throughout(self, designs: f64) -> f64 {
        designs
    }
}

impl<S: Simd> LaneLayout for HourLanes<S> {
    type Designs = f64;
    type Wide = Vector<S>;
    type Demand = f64;

    #[inline(always)]
    fn of_designs(self) {}

    #[inline(always)]
    fn of_wide(self) -> S {
        self.0
    }

    #[inline(always)]
    fn part(self, hours: &[f64], part: usize) -> Vector<S> {
        let hours = &hours[part * S::F64_LANES..(part + 1) * S::F64_LANES];
        Vector::each(self.0, |lane| hours[lane])
    }

    #[inline(always)]
    fn set_part(self, hours: &mut [f64], part: usize, numbers: Vector<S>) {
        let hours = &mut hours[part * S::F64_LANES..(part + 1) * S::F64_LANES];
        for lane in 0..S::F64_LANES {
            hours[lane] = numbers.lane(lane);
        }
    }

    #[inline(always)]
    fn shared(self, hours: &[f64], part: usize) -> Vector<S> {
        self.part(hours, part)
    }

    #[inline(always)]
    fn demanded(self, hours: &[f64], part: usize) -> Vector<S> {
        self.part(hours, part)
    }

    #[inline(always)]
    fn throughout(self, designs: f64) -> Vector<S> {
        Vector::all(self.0, designs)
    }
}

impl<S: Simd, D: Demanded<Vector<S>>> LaneLayout for DesignLanes<S, D> {
    type Designs = Vector<S>;
    type Wide = Vector<S>;
    type Demand = D;

    #[inline(always)]
    fn of_designs(self) -> S {
        self.0
    }

    #[inline(always)]
    fn of_wide(self) -> S {
        self.0
    }

    #[inline(always)]
    fn part(self, hours: &[Vector<S>], part: usize) -> Vector<S> {
        hours[part]
    }

    #[inline(always)]
    fn set_part(self, hours: &mut [Vector<S>], part: usize, numbers: Vector<S>) {
        hours[part] = numbers;
    }

    #[inline(always)]
    fn shared(self, hours: &[f64], part: usize) -> Vector<S> {
        Vector::all(self.0, hours[part])
    }

    #[inline(always)]
    fn demanded(self, hours: &[D], part: usize) -> Vector<S> {
        hours[part].per_design(Vector::all(self.0, 0.0))
    }

    #[inline(always)]
    fn throughout(self, designs: Vector<S>) -> Vector<S> {
        designs
    }
}
