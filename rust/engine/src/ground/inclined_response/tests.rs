use proptest::prelude::*;

use super::links::{Links, Rules};
use super::*;
use crate::ground::rise::check_rise;

const YEAR: f64 = 8760.0 * 3600.0;
const GROUND: Ground = Ground {
    conductivity: 2.0,
    volumetric_heat_capacity: 2e6,
    temperature: 10.0,
    gradient: 0.0,
    darcy_flux: 0.0,
    flow_direction: 0.0,
    warming: None,
};
const BORE: LineSource = LineSource { depth: 100.0, buried_depth: 4.0, radius: 0.075 };
const TIMES: RangeInclusive<f64> = 3600.0..=100.0 * YEAR;
const WALL: Condition = Condition::UniformWallTemperature;

fn lean(inclination: f64, direction: f64) -> Lean {
    Lean { inclination, direction }
}

/// Bores on a circle, each inclined outward.
fn fan(count: usize, circle: f64, inclination: f64) -> (Vec<[f64; 2]>, Vec<Lean>) {
    let direction = |bore: usize| 360.0 * bore as f64 / count as f64;
    let place = |bore| {
        let (east, north) = f64::to_radians(direction(bore)).sin_cos();
        [circle * east, circle * north]
    };
    ((0..count).map(place).collect(), (0..count).map(|bore| lean(inclination, direction(bore))).collect())
}

fn response(sources: &[LineSource], positions: &[[f64; 2]], leans: &[Lean]) -> LaplaceCurve {
    inclined_response(&GROUND, sources, positions, leans, &TIMES, WALL, &CancelToken::default()).unwrap()
}

fn largest_difference(a: &LaplaceCurve, b: &LaplaceCurve) -> f64 {
    let time = |step: i32| TIMES.start() * (TIMES.end() / TIMES.start()).powf(f64::from(step) / 60.0);
    let difference = |time: f64| (a.step_response(time) / b.step_response(time) - 1.0).abs();
    (0..=60).map(time).map(difference).fold(0.0, f64::max)
}

/// Limit: nearly vertical bores respond as vertical ones, which are solved by a different method.
#[test]
fn nearly_vertical_bores_respond_as_vertical_ones() {
    let unequal =
        [BORE, LineSource { depth: 60.0, buried_depth: 0.0, ..BORE }, LineSource { depth: 150.0, ..BORE }];
    let near = [[0.0, 0.0], [0.2, 0.1], [5.0, 2.0]];
    let apart = [[0.0, 0.0], [6.0, 0.0], [0.0, 6.0]];
    for (sources, positions) in [(&[BORE][..], apart), (&[BORE], near), (&unequal, apart), (&unequal, near)] {
        for condition in [WALL, Condition::UniformHeatFlux] {
            let vertical =
                field_response(&GROUND, sources, &positions, &TIMES, condition, &CancelToken::default())
                    .unwrap();
            let leaning = [lean(1e-6, 30.0)];
            let found = inclined_response(
                &GROUND,
                sources,
                &positions,
                &leaning,
                &TIMES,
                condition,
                &CancelToken::default(),
            )
            .unwrap();
            let difference = largest_difference(&found, &vertical);
            assert!(difference < 1e-4, "{positions:?}, {condition:?}: {difference:e}");
        }
    }
}

/// Invariance: far below the surface, parallel bores are rotated vertical ones.
#[test]
fn parallel_bores_far_below_the_surface_respond_as_vertical_ones() {
    let deep = LineSource { buried_depth: 200.0, ..BORE };
    let places = [[0.0, 0.0], [0.0, 6.0]];
    let times = 3600.0..=10.0 * YEAR;
    let vertical = field_response(&GROUND, &[deep], &places, &times, WALL, &CancelToken::default()).unwrap();
    let leaning = inclined_response(
        &GROUND,
        &[deep],
        &places,
        &[lean(40.0, 90.0)],
        &times,
        WALL,
        &CancelToken::default(),
    )
    .unwrap();
    for time in [3600.0, 30.0 * 86400.0, YEAR, 10.0 * YEAR] {
        let difference = leaning.step_response(time) / vertical.step_response(time) - 1.0;
        assert!(difference.abs() < 5e-5, "{time} s: {difference:e}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    /// Self-convergence: pieces in any position, divided finely.
    #[test]
    fn finer_pieces_have_no_effect(
        ends in prop::array::uniform12(-5.0..5.0),
        q in 1e-3..3.0,
        aside in 0.0..0.2,
    ) {
        let point = |first: usize| [ends[first], ends[first + 1], ends[first + 2]];
        let pieces = [0, 6].map(|first| Piece::between([point(first), point(first + 3)]));
        prop_assume!(pieces[0].distance(&pieces[1]).hypot(aside) > 0.05);
        let rules = Rules::new();
        let between = |from: &[Piece], to: &[Piece]| {
            let mut links = Links::default();
            from.iter().for_each(|&from| to.iter().for_each(|&to| rules.link(from, to, aside, 1.0, &mut links)));
            [0.0, q].map(|q| links.sums(&[links.count()], q)[0])
        };
        let cut = |piece: Piece| (0..6).fold(vec![piece], |pieces, _| pieces.iter().flat_map(Piece::halves).collect());
        let whole = between(&pieces[..1], &pieces[1..]);
        let parts = between(&cut(pieces[0]), &cut(pieces[1]));
        for (whole, part) in whole.iter().zip(parts) {
            let error = (whole - part) / parts[0];
            prop_assert!(error.abs() < 1e-5, "{whole} {part}: {error:e}");
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(4))]

    #[test]
    fn rotating_the_field_has_no_effect(turn in 1.0..359.0, inclination in 5.0..60.0) {
        let (positions, leans) = fan(3, 2.0, inclination);
        let (sine, cosine) = f64::to_radians(turn).sin_cos();
        let turned: Vec<[f64; 2]> = positions
            .iter()
            .map(|[x, y]| [17.0 + cosine * x + sine * y, cosine * y - sine * x - 3.0])
            .collect();
        let leaning: Vec<Lean> =
            leans.iter().map(|each| lean(each.inclination, (each.direction + turn) % 360.0)).collect();
        let difference =
            largest_difference(&response(&[BORE], &positions, &leans), &response(&[BORE], &turned, &leaning));
        prop_assert!(difference < 1e-5, "{difference:e}");
    }

    #[test]
    fn order_of_the_bores_has_no_effect(
        inclinations in prop::collection::vec(0.0..60.0, 4),
        depths in prop::collection::vec(40.0..150.0, 4),
    ) {
        let (positions, leans) = fan(4, 2.0, 0.0);
        let leans: Vec<Lean> =
            leans.iter().zip(inclinations).map(|(each, by)| lean(by, each.direction)).collect();
        let sources: Vec<LineSource> = depths.into_iter().map(|depth| LineSource { depth, ..BORE }).collect();
        let turned = |bore: usize| (bore + 2) % 4;
        let shuffled = response(
            &[0, 1, 2, 3].map(|bore| sources[turned(bore)]),
            &[0, 1, 2, 3].map(|bore| positions[turned(bore)]),
            &[0, 1, 2, 3].map(|bore| leans[turned(bore)]),
        );
        prop_assert_eq!(response(&sources, &positions, &leans), shuffled);
    }

    #[test]
    fn responses_are_positive_and_rise(inclinations in prop::collection::vec(0.0..60.0, 4), circle in 0.5..5.0) {
        let (positions, leans) = fan(4, circle, 0.0);
        let leans: Vec<Lean> =
            leans.iter().zip(inclinations).map(|(each, by)| lean(by, each.direction)).collect();
        let wall = response(&[BORE], &positions, &leans);
        let flux = Condition::UniformHeatFlux;
        let heat = inclined_response(&GROUND, &[BORE], &positions, &leans, &TIMES, flux, &CancelToken::default()).unwrap();
        check_rise(&wall, &heat, &TIMES);
    }

    #[test]
    fn the_closest_points_of_two_pieces_are_found(ends in prop::array::uniform12(-1.0..1.0)) {
        let point = |first: usize| [ends[first], ends[first + 1], ends[first + 2]];
        let [a, b] = [0, 6].map(|first| Piece::between([point(first), point(first + 3)]));
        let places = || (0..=200).map(|step| f64::from(step) / 100.0 - 1.0);
        let least = places()
            .flat_map(|own| places().map(move |its| piece::squared(a.at(own), b.at(its)).sqrt()))
            .fold(f64::INFINITY, f64::min);
        let found = a.distance(&b);
        prop_assert!(found <= least && found > least - 0.02, "{found} {least}");
    }
}

#[test]
fn number_of_threads_has_no_effect() {
    let (positions, leans) = fan(20, 4.0, 40.0);
    let on = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| response(&[BORE], &positions, &leans))
    };
    assert_eq!(on(1), on(4));
}

#[test]
fn impossible_fields_are_rejected() {
    let ask = |count: usize, positions: &[[f64; 2]], leans: &[Lean]| {
        inclined_response(
            &GROUND,
            &vec![BORE; count],
            positions,
            leans,
            &TIMES,
            WALL,
            &CancelToken::default(),
        )
        .map(|_| ())
        .map_err(|error| error.to_string())
    };
    let two = [[0.0, 0.0], [0.0, 40.0]];
    let (many, outward) = fan(61, 20.0, 10.0);
    let cases = [
        (
            ask(1, &two, &[lean(30.0, 0.0); 3]),
            "BoreField.inclination = 3: must be one, or one for each of the 2",
        ),
        (ask(3, &two, &[lean(30.0, 0.0)]), "one for each of the 2 positions"),
        (
            ask(1, &two, &[lean(60.1, 0.0)]),
            "BoreField.inclination = 60.1 deg: of bore 1: must be from 0 to 60 deg",
        ),
        (ask(1, &two, &[lean(1.0, 0.0), lean(f64::NAN, 0.0)]), "of bore 2"),
        (
            ask(1, &two, &[lean(1.0, -1.0)]),
            "BoreField.direction = -1 deg: of bore 1: must be from 0 to 360 deg",
        ),
        (
            ask(1, &many, &outward),
            "BoreField.positions = 61 bores: must be 60 bores at most in a field with inclined bores",
        ),
        (
            ask(1, &two, &[lean(30.0, 0.0), lean(30.0, 180.0)]),
            "m: is the distance of bores 1 and 2 below the surface",
        ),
    ];
    for (result, part) in cases {
        let message = result.unwrap_err();
        assert!(message.contains(part), "{message}");
    }
    assert!(ask(1, &[[0.0, 0.0], [0.15, 40.0]], &[lean(30.0, 0.0), lean(30.0, 180.0)]).is_ok());
}
