//! Numbers that are processed together.

use std::fmt::Debug;
use std::ops::{Add, Mul, Neg, Sub};

use pulp::{Simd, bytemuck};

/// One number, or several in parallel that one instruction processes.
pub trait Lanes:
    Copy + Debug + Add<Output = Self> + Sub<Output = Self> + Mul<Output = Self> + Neg<Output = Self>
{
    /// How many numbers.
    const COUNT: usize;

    /// SIMD token: proof that the processor has the instructions.
    type Instructions: Copy;

    /// A boolean per number.
    type Mask: Mask;

    /// The value of `of` for each lane.
    fn each(instructions: Self::Instructions, of: impl FnMut(usize) -> f64) -> Self;

    /// The values of `of` for each lane, several numbers at a time.
    fn each_of<const K: usize>(
        instructions: Self::Instructions,
        of: impl FnMut(usize) -> [f64; K],
    ) -> [Self; K];

    /// The same number in every lane.
    fn all(instructions: Self::Instructions, value: f64) -> Self;

    /// The same number in all lanes, of the type of `self`.
    #[must_use]
    fn like(self, value: f64) -> Self;

    /// The number in one lane.
    fn lane(self, lane: usize) -> f64;

    /// `self x factor + addend`, rounded once.
    #[must_use]
    fn mul_add(self, factor: Self, addend: Self) -> Self;

    /// `self / divisor`.
    #[must_use]
    fn over(self, divisor: Self) -> Self;

    /// The smaller of two numbers.
    #[must_use]
    fn min(self, other: Self) -> Self;

    /// The larger of two numbers.
    #[must_use]
    fn max(self, other: Self) -> Self;

    /// Where each number is below the other.
    fn is_below(self, other: Self) -> Self::Mask;

    /// The number itself where `keep` is true, otherwise the other one.
    #[must_use]
    fn or_else(self, keep: Self::Mask, other: Self) -> Self;

    /// Absolute values.
    #[must_use]
    #[inline(always)]
    fn abs(self) -> Self {
        self.max(-self)
    }
}

/// A boolean per number.
pub trait Mask: Copy + Debug {
    /// Whether any is true.
    fn any(self) -> bool;

    /// True where both are.
    #[must_use]
    fn and(self, other: Self) -> Self;

    /// True where at least one is.
    #[must_use]
    fn or(self, other: Self) -> Self;

    /// True where this is false.
    #[must_use]
    fn not(self) -> Self;
}

impl Lanes for f64 {
    const COUNT: usize = 1;
    type Instructions = ();
    type Mask = bool;

    #[inline(always)]
    fn each((): (), mut of: impl FnMut(usize) -> f64) -> Self {
        of(0)
    }

    #[inline(always)]
    fn each_of<const K: usize>((): (), mut of: impl FnMut(usize) -> [f64; K]) -> [Self; K] {
        of(0)
    }

    #[inline(always)]
    fn all((): (), value: f64) -> Self {
        value
    }

    #[inline(always)]
    fn like(self, value: f64) -> Self {
        value
    }

    #[inline(always)]
    fn lane(self, _lane: usize) -> f64 {
        self
    }

    #[inline(always)]
    fn mul_add(self, factor: Self, addend: Self) -> Self {
        Self::mul_add(self, factor, addend)
    }

    #[inline(always)]
    fn over(self, divisor: Self) -> Self {
        self / divisor
    }

    #[inline(always)]
    fn min(self, other: Self) -> Self {
        if self < other { self } else { other }
    }

    #[inline(always)]
    fn max(self, other: Self) -> Self {
        if self > other { self } else { other }
    }

    #[inline(always)]
    fn is_below(self, other: Self) -> bool {
        self < other
    }

    #[inline(always)]
    fn or_else(self, keep: bool, other: Self) -> Self {
        if keep { self } else { other }
    }
}

impl Mask for bool {
    #[inline(always)]
    fn any(self) -> bool {
        self
    }

    #[inline(always)]
    fn and(self, other: Self) -> Self {
        self && other
    }

    #[inline(always)]
    fn or(self, other: Self) -> Self {
        self || other
    }

    #[inline(always)]
    fn not(self) -> Self {
        !self
    }
}

/// As many numbers as a vector register of the processor holds.
#[derive(Debug, Clone, Copy)]
pub struct Vector<S: Simd> {
    simd: S,
    numbers: S::f64s,
}

/// A boolean per number of a vector.
#[derive(Debug, Clone, Copy)]
pub struct VectorMask<S: Simd> {
    simd: S,
    mask: S::m64s,
}

impl<S: Simd> Vector<S> {
    #[inline(always)]
    fn with(self, numbers: S::f64s) -> Self {
        Self { simd: self.simd, numbers }
    }
}

impl<S: Simd> Lanes for Vector<S> {
    const COUNT: usize = S::F64_LANES;
    type Instructions = S;
    type Mask = VectorMask<S>;

    #[inline(always)]
    fn each(simd: S, mut of: impl FnMut(usize) -> f64) -> Self {
        let mut numbers = [simd.splat_f64s(0.0)];
        let lanes: &mut [f64] = bytemuck::cast_slice_mut(&mut numbers);
        for lane in 0..S::F64_LANES {
            lanes[lane] = of(lane);
        }
        Self { simd, numbers: numbers[0] }
    }

    #[inline(always)]
    fn each_of<const K: usize>(simd: S, mut of: impl FnMut(usize) -> [f64; K]) -> [Self; K] {
        let mut numbers = [simd.splat_f64s(0.0); K];
        for lane in 0..S::F64_LANES {
            let values = of(lane);
            for which in 0..K {
                let lanes: &mut [f64] = bytemuck::cast_slice_mut(&mut numbers[which..=which]);
                lanes[lane] = values[which];
            }
        }
        numbers.map(|numbers| Self { simd, numbers })
    }

    #[inline(always)]
    fn all(simd: S, value: f64) -> Self {
        Self { simd, numbers: simd.splat_f64s(value) }
    }

    #[inline(always)]
    fn like(self, value: f64) -> Self {
        Self::all(self.simd, value)
    }

    #[inline(always)]
    fn lane(self, lane: usize) -> f64 {
        bytemuck::cast_slice::<_, f64>(&[self.numbers])[lane]
    }

    #[inline(always)]
    fn mul_add(self, factor: Self, addend: Self) -> Self {
        self.with(self.simd.mul_add_f64s(self.numbers, factor.numbers, addend.numbers))
    }

    #[inline(always)]
    fn over(self, divisor: Self) -> Self {
        self.with(self.simd.div_f64s(self.numbers, divisor.numbers))
    }

    #[inline(always)]
    fn min(self, other: Self) -> Self {
        self.with(self.simd.min_f64s(self.numbers, other.numbers))
    }

    #[inline(always)]
    fn max(self, other: Self) -> Self {
        self.with(self.simd.max_f64s(self.numbers, other.numbers))
    }

    #[inline(always)]
    fn is_below(self, other: Self) -> VectorMask<S> {
        VectorMask { simd: self.simd, mask: self.simd.less_than_f64s(self.numbers, other.numbers) }
    }

    #[inline(always)]
    fn or_else(self, keep: VectorMask<S>, other: Self) -> Self {
        let (bits, others) = (bytemuck::cast(self.numbers), bytemuck::cast(other.numbers));
        self.with(bytemuck::cast(self.simd.select_u64s(keep.mask, bits, others)))
    }
}

impl<S: Simd> Add for Vector<S> {
    type Output = Self;
    #[inline(always)]
    fn add(self, other: Self) -> Self {
        self.with(self.simd.add_f64s(self.numbers, other.numbers))
    }
}

impl<S: Simd> Sub for Vector<S> {
    type Output = Self;
    #[inline(always)]
    fn sub(self, other: Self) -> Self {
        self.with(self.simd.sub_f64s(self.numbers, other.numbers))
    }
}

impl<S: Simd> Mul for Vector<S> {
    type Output = Self;
    #[inline(always)]
    fn mul(self, other: Self) -> Self {
        self.with(self.simd.mul_f64s(self.numbers, other.numbers))
    }
}

impl<S: Simd> Neg for Vector<S> {
    type Output = Self;
    #[inline(always)]
    fn neg(self) -> Self {
        self.like(-0.0) - self
    }
}

impl<S: Simd> VectorMask<S> {
    #[inline(always)]
    fn with(self, mask: S::m64s) -> Self {
        Self { simd: self.simd, mask }
    }
}

impl<S: Simd> Mask for VectorMask<S> {
    #[inline(always)]
    fn any(self) -> bool {
        // Without early exit this is a single test of the whole vector.
        bytemuck::bytes_of(&self.mask).iter().fold(0, |all, byte| all | byte) != 0
    }

    #[inline(always)]
    fn and(self, other: Self) -> Self {
        self.with(self.simd.and_m64s(self.mask, other.mask))
    }

    #[inline(always)]
    fn or(self, other: Self) -> Self {
        self.with(self.simd.or_m64s(self.mask, other.mask))
    }

    #[inline(always)]
    fn not(self) -> Self {
        self.with(self.simd.not_m64s(self.mask))
    }
}
