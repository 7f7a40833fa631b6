//! Pairs of neighbouring bores.

use std::ops::Range;

use crate::cancel_token::CancelToken;

/// Bores in strips along x, so that each is compared only with those beside it in two strips.
pub struct Strips {
    /// The field's index of the bore at each place in these strips.
    pub order: Vec<u32>,
    /// Positions of the bores (m), strip by strip, with ascending x in each.
    positions: Vec<[f64; 2]>,
    reach: f64,
    /// Searched for each bore.
    token: CancelToken,
    /// Index and extent of the strips that contain a bore, in ascending order.
    strips: Vec<(i64, Range<usize>)>,
}

impl Strips {
    /// Bores sorted by x (m), to be paired if they are no farther apart than `reach` (m).
    pub fn new(bores: &[[f64; 2]], reach: f64, token: &CancelToken) -> Self {
        let numbers: Vec<i64> = bores.iter().map(|bore| (bore[1] / reach).floor() as i64).collect();
        let number = |bore: u32| numbers[bore as usize];
        let mut order: Vec<u32> = (0..bores.len() as u32).collect();
        order.sort_by_key(|&bore| number(bore));
        let mut strips = Vec::new();
        let mut start = 0;
        for members in order.chunk_by(|&a, &b| number(a) == number(b)) {
            strips.push((number(members[0]), start..start + members.len()));
            start += members.len();
        }
        let positions = order.iter().map(|&bore| bores[bore as usize]).collect();
        Self { order, positions, reach, token: token.clone(), strips }
    }

    /// Square of the largest distance between two bores within reach, or an upper bound of it (m2).
    pub fn greatest_square(&self) -> f64 {
        let span = |axis: usize| {
            let values = self.positions.iter().map(|position| position[axis]);
            let ends = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)));
            ends.1 - ends.0
        };
        (self.reach * self.reach).min(span(0).powi(2) + span(1).powi(2))
    }

    /// Squares of the distances of a bore from others, by their places (m2).
    #[inline(always)]
    pub fn squares(&self, place: usize, others: Range<usize>) -> impl Iterator<Item = f64> {
        let [x, y] = self.positions[place];
        self.positions[others].iter().map(move |[u, v]| (x - u) * (x - u) + (y - v) * (y - v))
    }

    /// Calls `f` with the place of each bore and the places of those that may be within some reach of it, which is no
    /// greater than that of the strips; each pair once.
    #[inline(always)]
    pub fn for_each_window(&self, reach: f64, mut f: impl FnMut(usize, [Range<usize>; 2])) {
        for (index, (number, strip)) in self.strips.iter().enumerate() {
            let above = match self.strips.get(index + 1) {
                Some((above, places)) if *above == number + 1 => places.clone(),
                _ => 0..0,
            };
            let (mut end, mut window) = (strip.start, above.start..above.start);
            for place in strip.clone() {
                self.token.check();
                let x = self.positions[place][0];
                while end < strip.end && self.positions[end][0] <= x + reach {
                    end += 1;
                }
                while window.start < above.end && self.positions[window.start][0] < x - reach {
                    window.start += 1;
                }
                window.end = window.end.max(window.start);
                while window.end < above.end && self.positions[window.end][0] <= x + reach {
                    window.end += 1;
                }
                f(place, [place + 1..end, window.clone()]);
            }
        }
    }

    /// Number of pairs that [`for_each_window`](Self::for_each_window) compares.
    pub fn pairs(&self) -> usize {
        let mut pairs = 0;
        self.for_each_window(self.reach, |_, windows| pairs += windows.iter().map(Range::len).sum::<usize>());
        pairs
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn contain_every_pair_within_reach_once() {
        let fraction = |index: u32, step: f64| (f64::from(index) * step).fract();
        let mut bores: Vec<[f64; 2]> = (0..200)
            .map(|i| [70.0 * fraction(i, 0.754_877_67), 50.0 * fraction(i, 0.569_840_29) - 20.0])
            .collect();
        bores.sort_by(|a, b| a[0].total_cmp(&b[0]));
        for reach in [3.0, 11.0, 200.0] {
            let strips = Strips::new(&bores, reach, &CancelToken::default());
            let mut found = Vec::new();
            strips.for_each_window(reach, |place, windows| {
                for window in windows {
                    for (other, square) in window.clone().zip(strips.squares(place, window)) {
                        if square <= reach * reach {
                            let [a, b] = [place, other].map(|place| strips.order[place]);
                            found.push([a.min(b), a.max(b)]);
                        }
                    }
                }
            });
            found.sort_unstable();
            let distance = |a: u32, b: u32| {
                let [from, to] = [a, b].map(|bore| bores[bore as usize]);
                (from[0] - to[0]).hypot(from[1] - to[1])
            };
            let all = (0..200).flat_map(|a| (a + 1..200).map(move |b| [a, b]));
            let expected: Vec<[u32; 2]> = all.filter(|&[a, b]| distance(a, b) <= reach).collect();
            assert_eq!(found, expected, "{reach}");
        }
    }
}
