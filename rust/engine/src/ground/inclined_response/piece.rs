//! Straight pieces of bores in space.

/// A straight piece of a bore; coordinates are x, y and depth (m).
#[derive(Debug, Clone, Copy)]
pub struct Piece {
    middle: [f64; 3],
    /// From the middle to the lower end.
    half: [f64; 3],
}

impl Piece {
    /// The piece between two ends.
    pub fn between([start, end]: [[f64; 3]; 2]) -> Self {
        let mean = |sign: f64| std::array::from_fn(|axis| 0.5 * (end[axis] + sign * start[axis]));
        Self { middle: mean(1.0), half: mean(-1.0) }
    }

    /// The mirror image above the surface.
    pub fn mirrored(&self) -> Self {
        let mirrored = |[x, y, depth]: [f64; 3]| [x, y, -depth];
        Self { middle: mirrored(self.middle), half: mirrored(self.half) }
    }

    /// The two halves.
    pub fn halves(&self) -> [Self; 2] {
        let half = self.half.map(|value| 0.5 * value);
        [-1.0, 1.0].map(|side| Self {
            middle: std::array::from_fn(|axis| self.middle[axis] + side * half[axis]),
            half,
        })
    }

    /// Its length (m).
    pub fn length(&self) -> f64 {
        2.0 * dot(self.half, self.half).sqrt()
    }

    /// The point at a coordinate from -1 to 1 along the piece.
    pub fn at(&self, place: f64) -> [f64; 3] {
        std::array::from_fn(|axis| self.middle[axis] + place * self.half[axis])
    }

    /// Distance between the closest points of two pieces (m).
    ///
    /// The square of the distance is a convex function of the coordinates along both pieces: its minimum is stationary
    /// or at an end of a piece.
    pub fn distance(&self, other: &Self) -> f64 {
        let apart = difference(self.middle, other.middle);
        let (own, its, both) =
            (dot(self.half, self.half), dot(other.half, other.half), dot(self.half, other.half));
        let (along_own, along_its) = (dot(self.half, apart), dot(other.half, apart));
        let on_own = |place: f64| ((both * place - along_own) / own).clamp(-1.0, 1.0);
        let on_its = |place: f64| ((both * place + along_its) / its).clamp(-1.0, 1.0);
        let ends = [-1.0, 1.0].into_iter();
        let at_ends = ends.flat_map(|end| [[end, on_its(end)], [on_own(end), end]]);
        let twist = own * its - both * both;
        let still = [both * along_its - its * along_own, own * along_its - both * along_own]
            .map(|place| place / twist);
        let inside = still.iter().all(|place| (-1.0..=1.0).contains(place)).then_some(still);
        let square = |[own, its]: [f64; 2]| squared(self.at(own), other.at(its));
        at_ends.chain(inside).map(square).fold(f64::INFINITY, f64::min).sqrt()
    }
}

/// Square of the distance of two points (m2).
pub fn squared(a: [f64; 3], b: [f64; 3]) -> f64 {
    let apart = difference(a, b);
    dot(apart, apart)
}

fn difference(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    std::array::from_fn(|axis| a[axis] - b[axis])
}

fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}
