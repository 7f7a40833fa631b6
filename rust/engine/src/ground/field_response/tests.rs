use faer::linalg::solvers::{Llt, Solve};
use faer::{Mat, Side};
use proptest::prelude::*;

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

fn grid(columns: usize, rows: usize, spacing: f64) -> Vec<[f64; 2]> {
    (0..columns * rows).map(|i| [(i % columns) as f64 * spacing, (i / columns) as f64 * spacing]).collect()
}

/// Bores at random in the squares of a grid, with `clear` metres between the squares.
fn scattered(count: usize, square: f64, clear: f64) -> impl Strategy<Value = Vec<[f64; 2]>> {
    prop::collection::vec((0.0..square, 0.0..square), count).prop_map(move |places| {
        let corners = grid(3, places.len().div_ceil(3), square + clear);
        corners.iter().zip(places).map(|(corner, (x, y))| [corner[0] + x, corner[1] + y]).collect()
    })
}

/// Relative error that a step response may have: 0.05 %.
const AGREED: f64 = 5e-4;

fn unequal(count: usize) -> impl Strategy<Value = Vec<LineSource>> {
    let source =
        (60.0..150.0, 1.0..6.0).prop_map(|(depth, buried_depth)| LineSource { depth, buried_depth, ..BORE });
    prop::collection::vec(source, count)
}

/// p x Laplace{g} at some values of p, segment by segment.
fn segment_by_segment(nodes: &Nodes, bores: &[Placed], points: &[f64]) -> Vec<f64> {
    let edges: Vec<Vec<f64>> = bores.iter().map(|bore| bore.source.edges()).collect();
    let (count, decay) = (SEGMENTS, nodes.decay(points));
    let size = count * bores.len();
    let mut matrices = vec![Mat::<f64>::zeros(size, size); points.len()];
    for (to, from) in (0..bores.len()).flat_map(|to| (to..bores.len()).map(move |from| (to, from))) {
        let [a, b] = [to, from].map(|bore| bores[bore].position);
        let distance = if to == from { bores[to].source.radius } else { (a[0] - b[0]).hypot(a[1] - b[1]) };
        for (node, &s) in nodes.s().iter().enumerate().filter(|(_, s)| distance * **s < 5.5) {
            let kernel = nodes.kernel(s, &edges[from], &edges[to]);
            for (point, matrix) in matrices.iter_mut().enumerate() {
                let factor = (-(distance * s).powi(2)).exp() * decay[(node, point)];
                let mut block = matrix.submatrix_mut(from * count, to * count, count, count);
                block += faer::Scale(factor) * &kernel;
            }
        }
    }
    let load = Mat::from_fn(size, 1, |row, _| {
        let edges = &edges[row / count];
        edges[row % count + 1] - edges[row % count]
    });
    let drop = |matrix: Mat<f64>| {
        let heat = Llt::new(matrix.as_ref(), Side::Lower).unwrap().solve(&load);
        load.sum() / (load.transpose() * heat)[(0, 0)]
    };
    matrices.into_iter().map(drop).collect()
}

/// Largest relative difference from the solution segment by segment, at values of p over the whole range, and the error
/// reported with the curve.
fn deviation(sources: &[LineSource], positions: &[[f64; 2]]) -> (f64, f64) {
    let curve = field_response(
        &GROUND,
        sources,
        positions,
        &TIMES,
        Condition::UniformWallTemperature,
        &CancelToken::default(),
    )
    .unwrap();
    let bores = placed(sources, positions, &CancelToken::default()).unwrap();
    let nodes = Nodes::new(GROUND.diffusivity(), &TIMES, &bores, &CancelToken::default());
    let mut points = LaplaceCurve::sample_points(&TIMES);
    points.sort_by(f64::total_cmp);
    let points: Vec<f64> = points.into_iter().step_by(18).collect();
    let exact = segment_by_segment(&nodes, &bores, &points);
    let errors = points.iter().zip(exact).map(|(&p, exact)| (curve.at(p) / exact - 1.0).abs());
    (errors.fold(0.0, f64::max), curve.error())
}

/// Cross-method: fields of many shapes against the solution segment by segment.
#[test]
fn few_vectors_and_modes_represent_all_segments() {
    let clusters: Vec<_> = grid(2, 2, 3.0)
        .into_iter()
        .chain(grid(3, 1, 5.0).into_iter().map(|[x, y]| [x + 60.0, y + 40.0]))
        .collect();
    for (name, positions) in [("grid", grid(3, 2, 6.0)), ("line", grid(1, 6, 6.0)), ("clusters", clusters)] {
        let (deviation, estimate) = deviation(&[BORE], &positions);
        assert!(deviation < 5e-5, "{name}: {deviation:e}");
        assert!((deviation..AGREED).contains(&estimate), "{name}: {deviation:e}, estimate {estimate:e}");
    }
}

/// Cross-method: many bores with different depths and buried depths, which a few vectors across the field don't
/// represent; enough bores for lattices, depths from a seventh to one and a half, bores that nearly touch, and equal
/// ones that do.
#[test]
fn unequal_bores_with_their_own_profiles_agree_with_all_segments() {
    let fraction = |bore: usize, step: f64| (bore as f64 * step).fract();
    let sources = |count: usize, least: f64, tops: f64| -> Vec<LineSource> {
        let depth = |bore| least + (160.0 - least) * fraction(bore, 0.754_877_67);
        // Below the surface, where bores are lines.
        let buried_depth = |bore| 0.5 + tops * fraction(bore, 0.569_840_29);
        (0..count)
            .map(|bore| LineSource { depth: depth(bore), buried_depth: buried_depth(bore), ..BORE })
            .collect()
    };
    let apart = |spacing: f64| -> Vec<[f64; 2]> {
        let place = |(bore, [x, y]): (usize, [f64; 2])| [x + 0.4 * spacing * fraction(bore, 0.618_033_99), y];
        grid(11, 10, spacing).into_iter().enumerate().map(place).collect()
    };
    for (name, sources, positions) in [
        ("random", sources(110, 60.0, 6.0), apart(7.0)),
        ("shallow and deep", sources(24, 22.0, 30.0), grid(6, 4, 3.0)),
        ("close", sources(6, 60.0, 6.0), grid(3, 2, 0.3)),
        ("touching", vec![BORE], grid(3, 2, 2.0 * BORE.radius)),
    ] {
        let (deviation, estimate) = deviation(&sources, &positions);
        let allowed = if name == "touching" { AGREED } else { 2e-4 };
        assert!(deviation < allowed, "{name}: {deviation:e}");
        assert!((deviation..1e-3).contains(&estimate), "{name}: {deviation:e}, estimate {estimate:e}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2))]

    /// Cross-method.
    #[test]
    fn random_fields_agree_with_all_segments(
        positions in scattered(5, 5.0, 2.0),
        sources in unequal(5),
    ) {
        for sources in [&[BORE][..], &sources] {
            let (deviation, estimate) = deviation(sources, &positions);
            prop_assert!(deviation < 5e-5, "{deviation:e}");
            prop_assert!((deviation..AGREED).contains(&estimate), "{deviation:e}, estimate {estimate:e}");
        }
    }

    #[test]
    fn order_of_the_bores_has_no_effect(positions in scattered(5, 5.0, 1.0), sources in unequal(5)) {
        let curve = |sources: &[LineSource], positions: &[[f64; 2]]| {
            field_response(&GROUND, sources, positions, &TIMES, Condition::UniformWallTemperature, &CancelToken::default()).unwrap()
        };
        let turned: (Vec<_>, Vec<_>) = sources.iter().copied().zip(positions.iter().copied()).rev().unzip();
        prop_assert_eq!(curve(&sources, &positions), curve(&turned.0, &turned.1));
    }

    #[test]
    fn responses_are_positive_and_rise(positions in scattered(5, 4.0, 0.2)) {
        let wall =
            field_response(&GROUND, &[BORE], &positions, &TIMES, Condition::UniformWallTemperature, &CancelToken::default()).unwrap();
        let heat = field_response(&GROUND, &[BORE], &positions, &TIMES, Condition::UniformHeatFlux, &CancelToken::default()).unwrap();
        check_rise(&wall, &heat, &TIMES);
    }
}

/// Fields so large that lattices serve them.
#[test]
fn number_of_threads_has_no_effect() {
    let positions: Vec<[f64; 2]> =
        grid(15, 10, 7.0).into_iter().enumerate().map(|(i, [x, y])| [x + (i as f64).sin(), y]).collect();
    let unequal: Vec<LineSource> =
        (0..150).map(|bore| LineSource { depth: 80.0 + f64::from(bore * 13 % 40), ..BORE }).collect();
    for sources in [&[BORE][..], &unequal] {
        let on = |threads: usize| {
            let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
            let condition = Condition::UniformWallTemperature;
            pool.install(|| {
                field_response(&GROUND, sources, &positions, &TIMES, condition, &CancelToken::default())
                    .unwrap()
            })
        };
        assert_eq!(on(1), on(4));
    }
}

#[test]
fn impossible_fields_are_rejected() {
    let ask = |sources: &[LineSource], positions: &[[f64; 2]], times: RangeInclusive<f64>| {
        field_response(
            &GROUND,
            sources,
            positions,
            &times,
            Condition::UniformWallTemperature,
            &CancelToken::default(),
        )
        .map(|_| ())
        .map_err(|error| error.to_string())
    };
    let two = grid(2, 1, 6.0);
    let cases = [
        (ask(&[], &two, TIMES), "one for each of the 2 positions"),
        (ask(&[BORE; 3], &two, TIMES), "one for each of the 2 positions"),
        (ask(&[BORE], &[], TIMES), "positions"),
        (ask(&[BORE], &grid(2, 1, 0.1), TIMES), "bores 1 and 2"),
        (ask(&[BORE], &[[f64::NAN, 0.0]], TIMES), "bore 1"),
        (ask(&[LineSource { depth: f64::INFINITY, ..BORE }], &two, TIMES), "BoreField.depth"),
        (ask(&[LineSource { radius: 0.0, ..BORE }], &two, TIMES), "BoreField.radius"),
        (ask(&[LineSource { buried_depth: -1.0, ..BORE }], &two, TIMES), "BoreField.buried_depth"),
        (ask(&[BORE], &two, 0.0..=1.0), "times"),
        (ask(&[BORE], &two, 2.0..=1.0), "times"),
        (ask(&[BORE], &two, 1.0..=f64::INFINITY), "times"),
    ];
    for (result, part) in cases {
        let message = result.unwrap_err();
        assert!(message.contains(part), "{message}");
    }
}
