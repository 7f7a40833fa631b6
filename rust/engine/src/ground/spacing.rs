//! Whether the bores of a field are clear of each other.

use crate::error::{Error, shown};

use super::strips::Strips;
use crate::cancel_token::CancelToken;

/// Largest coordinate of a bore (m).
const FARTHEST: f64 = 1e5;

/// Checks that no two bores overlap: centres are no closer than the sum of the radii; touching is allowed.
///
/// `positions` and `radii` (m) have the same length. Errors identify bores by number, counted from 1.
///
/// # Errors
/// [`Error::InvalidInput`] names a bore whose position is out of range, or two that overlap, with their distance and
/// the smallest distance allowed.
pub fn check_apart(positions: &[[f64; 2]], radii: &[f64], token: &CancelToken) -> Result<(), Error> {
    for (number, position) in positions.iter().enumerate() {
        if let Some(value) = position.iter().find(|value| !(-FARTHEST..=FARTHEST).contains(*value)) {
            let allowed = format!("of bore {}: must be from -{FARTHEST} to {FARTHEST} m", number + 1);
            return Err(Error::invalid("BoreField", "positions", value, "m", allowed));
        }
    }
    let mut by_x: Vec<usize> = (0..positions.len()).collect();
    by_x.sort_by(|&a, &b| positions[a][0].total_cmp(&positions[b][0]));
    let sorted: Vec<[f64; 2]> = by_x.iter().map(|&bore| positions[bore]).collect();
    let reach = 2.0 * radii.iter().copied().fold(f64::MIN_POSITIVE, f64::max);
    let strips = Strips::new(&sorted, reach, token);
    let bore = |place: usize| by_x[strips.order[place] as usize];
    let mut overlap = None;
    strips.for_each_window(reach, |place, windows| {
        for window in windows {
            for (other, square) in window.clone().zip(strips.squares(place, window)) {
                let (a, b) = (bore(place).min(bore(other)), bore(place).max(bore(other)));
                let least = radii[a] + radii[b];
                if square < (least * (1.0 - f64::EPSILON * 8.0)).powi(2) {
                    overlap = Some((a, b, square.sqrt(), least));
                }
            }
        }
    });
    let Some((a, b, distance, least)) = overlap else { return Ok(()) };
    let allowed = format!(
        "is the distance of bores {} and {}, which would overlap: must be at least {least} m",
        a + 1,
        b + 1
    );
    Err(Error::invalid("BoreField", "positions", shown_distance(distance), "m", allowed))
}

/// A distance (m) as shown in messages: to a nanometre, which hides the rounding of coordinates.
#[must_use]
pub fn shown_distance(distance: f64) -> String {
    shown((distance * 1e9).round() * 1e-9)
}

/// Distance between the closest two of several positions (m); infinite for fewer than two.
#[must_use]
pub fn closest(positions: &[[f64; 2]]) -> f64 {
    let mut sorted = positions.to_vec();
    sorted.sort_by(|a, b| a[0].total_cmp(&b[0]));
    let mut least = f64::INFINITY;
    for (place, a) in sorted.iter().enumerate() {
        let near = sorted[place + 1..].iter().take_while(|b| b[0] - a[0] < least);
        least = near.map(|b| (a[0] - b[0]).hypot(a[1] - b[1])).fold(least, f64::min);
    }
    least
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn distances_are_shown_without_the_rounding_of_coordinates() {
        let cases =
            [(4.885e-15, "0"), (0.149_999_999_999_98, "0.15"), (0.1499, "0.1499"), (1e-6, "0.000001")];
        for (distance, text) in cases {
            assert_eq!(shown_distance(distance), text);
        }
    }

    #[test]
    fn the_closest_two_are_found() {
        let places: Vec<[f64; 2]> =
            (0..60).map(|i| [f64::from(i * i % 47), f64::from(i * 7 % 53) * 1.1]).collect();
        let each = |(i, a): (usize, &[f64; 2])| {
            places[..i].iter().map(|b| (a[0] - b[0]).hypot(a[1] - b[1])).fold(f64::INFINITY, f64::min)
        };
        let least = places.iter().enumerate().map(each).fold(f64::INFINITY, f64::min);
        assert_eq!(closest(&places), least);
        assert_eq!(closest(&places[..1]), f64::INFINITY);
    }

    #[test]
    fn bores_may_touch() {
        let places: Vec<[f64; 2]> =
            (0..100).map(|bore| [0.15 * f64::from(bore % 10), 0.15 * f64::from(bore / 10)]).collect();
        assert!(check_apart(&places, &[0.075; 100], &CancelToken::default()).is_ok());
    }

    #[test]
    fn overlapping_bores_are_named() {
        let places = [[0.0, 0.0], [5.0, 0.0], [-3.0, 9.0], [5.0, -0.125]];
        let message = check_apart(&places, &[0.0625, 0.0625, 0.0625, 0.09375], &CancelToken::default())
            .unwrap_err()
            .to_string();
        assert_eq!(
            message,
            "BoreField.positions = 0.125 m: is the distance of bores 2 and 4, which would overlap: \
             must be at least 0.15625 m"
        );
    }

    #[test]
    fn thousands_of_bores_are_checked_quickly() {
        let places: Vec<[f64; 2]> = (0..100_000).map(|bore| [0.0, 0.2 * f64::from(bore) - 1e4]).collect();
        let begin = std::time::Instant::now();
        assert!(check_apart(&places, &[0.075; 100_000], &CancelToken::default()).is_ok());
        assert!(begin.elapsed().as_secs() < 5);
    }
}
