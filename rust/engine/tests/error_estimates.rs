//! The reported errors of a run bound the true ones, for 200 random designs.
//!
//! Cross-method: segments against a dense solution that is written here from the equations of Claesson & Javed (2011)
//! and Cimmino & Bernier (2014); tabulation against the step response evaluated at every hour; exponentials and
//! resistances against superposition of the run's heat, with the resistance of each hour's own fluid from the bore's
//! equations, which shares no table with the run.

// If the setup fails, the test has failed.
#![allow(clippy::expect_used, clippy::unwrap_used)]

#[path = "../benches/cases/mod.rs"]
mod cases;

use std::f64::consts::{PI, TAU};

use faer::linalg::solvers::{Llt, Solve};
use faer::{Mat, Side};
use loopdrift::bore::{Bore, HeatCapacityInside, Inside, Pipe, Pipes, UTube, resistances};
use loopdrift::cancel_token::CancelToken;
use loopdrift::design::Design;
use loopdrift::ground::{Ground, LaplaceCurve};
use loopdrift::ground_side::bore_field::BoreField;
use loopdrift::ground_side::{Description, GroundSideKind};
use loopdrift::history::{HOUR, Superposition, TabulatedResponse};
use loopdrift::loads::{HOURS_PER_YEAR, Loads};
use loopdrift::prepared::RunError;
use loopdrift::run::{Run, run};
use rayon::prelude::*;

const DESIGNS: u64 = 200;
const SEGMENTS: usize = 24;

/// Rounding error of sums over a year (K).
const ROUNDING: f64 = 1e-9;

/// Pseudorandom numbers from 0 to 1 (Marsaglia 2003, Xorshift RNGs; from memory).
struct Random(u64);

impl Random {
    fn new(seed: u64) -> Self {
        let mut random = Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1);
        (0..20).for_each(|_| {
            random.between(0.0, 1.0);
        });
        random
    }

    fn between(&mut self, least: f64, most: f64) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        least + (most - least) * (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }
}

/// A field of 1 to 40 bores, in a grid or not, equal or not, in varied ground, with suitable loads.
fn random_design(seed: u64) -> (Design, Loads) {
    let mut random = Random::new(seed);
    // One in five is large.
    let most = if seed.is_multiple_of(5) { 41.0 } else { 13.0 };
    let count = random.between(1.0, most) as usize;
    let spacing = random.between(1.0, 12.0);
    let off = if seed.is_multiple_of(2) { 0.0 } else { 0.6 * spacing };
    let columns = random.between(1.0, (count + 1) as f64) as usize;
    let place = |bore: usize| {
        let mut along = |number: usize| spacing * number as f64 + random.between(0.0, 1.0) * off;
        [along(bore % columns), along(bore / columns)]
    };
    let positions: Vec<[f64; 2]> = (0..count).map(place).collect();
    let diameter = random.between(0.1, 0.2);
    let inside = if seed.is_multiple_of(3) {
        let pipe =
            Pipe { outer_diameter: 0.032, wall_thickness: 0.0029, conductivity: 0.42, roughness: 1.5e-6 };
        Inside::Built {
            pipes: Pipes::UTube(UTube { pipe, shank_spacing: random.between(0.04, 0.06) }),
            grout_conductivity: random.between(0.8, 2.0),
            grout_heat_capacity: 3e6,
            heat_capacity_inside: true,
        }
    } else {
        Inside::Measured { resistance: random.between(0.06, 0.16) }
    };
    let bore = Bore {
        depth: random.between(40.0, 200.0),
        buried_depth: random.between(0.01, 5.0),
        diameter,
        inside,
    };
    let bores = if seed % 4 < 2 {
        vec![bore]
    } else {
        (0..count)
            .map(|_| Bore {
                depth: bore.depth * random.between(0.6, 1.4),
                buried_depth: random.between(0.01, 5.0),
                ..bore
            })
            .collect()
    };
    let field = BoreField { bores, positions, leans: Vec::new() };
    let size = field.total_depth() / 1200.0;
    let ground = Ground {
        conductivity: random.between(0.8, 4.0),
        volumetric_heat_capacity: random.between(1.5e6, 3.5e6),
        ..cases::ground()
    };
    let mut design = cases::design();
    for mode in [&mut design.heat_pump.heating, &mut design.heat_pump.cooling].into_iter().flatten() {
        mode.capacity.iter_mut().flatten().for_each(|coefficient| *coefficient *= size);
    }
    // From laminar to turbulent for built bores; a measured resistance requires more flow, or the fluid temperature
    // would cross that of the wall.
    let least = if seed.is_multiple_of(3) { 0.0012 } else { 0.0025 };
    let flow = random.between(least, 0.005) * field.total_depth();
    let design = Design { ground, ground_side: GroundSideKind::BoreField(field), flow, ..design };
    let mut loads = cases::loads().into_series();
    for load in loads.heating.iter_mut().chain(&mut loads.cooling) {
        *load *= 0.5 * size;
    }
    (design, Loads::new(loads).expect("loads of one year"))
}

/// The reported and the actual error of a run.
struct Compared {
    name: String,
    reported: RunError,
    lost: RunError,
    /// Error of the response that the tabulation is compared with (K).
    noise: f64,
}

fn compared(seed: u64) -> Compared {
    let (design, loads) = random_design(seed);
    let GroundSideKind::BoreField(field) = &design.ground_side else {
        unreachable!("designs here have bores")
    };
    let run = run(&design, &loads, 1, &CancelToken::default()).expect("a run");
    let (shape, slower) = field.shape(&design.ground, HOURS_PER_YEAR);
    let curve = shape.response(&CancelToken::default()).expect("a good field").slowed(slower);
    let per_watt = 1.0 / (TAU * design.ground.conductivity * field.total_depth());
    let [wall, fluid] = responses(&design, field, &curve);
    let superposed = |response: &dyn Fn(f64) -> f64| {
        let hourly = (1..=HOURS_PER_YEAR).map(|hour| per_watt * response(HOUR * hour as f64)).collect();
        Superposition::new(HOURS_PER_YEAR, [hourly]).of(&run.hourly.heat_extracted).swap_remove(0)
    };
    let tabulated = |curve: &LaplaceCurve| {
        let table = TabulatedResponse::new(HOURS_PER_YEAR, |time| curve.step_response(time));
        let lost = superposed(&|time| table.at(time) - curve.step_response(time));
        largest(lost.into_iter())
    };
    // Evaluated directly, the response has noise from its inversion, which neighbouring times reveal.
    let noise = |curve: &LaplaceCurve| {
        let beside = |shift: f64| {
            largest(
                superposed(&|time| curve.step_response(time * (1.0 + shift)) - curve.step_response(time))
                    .into_iter(),
            )
        };
        [-3e-9, -1e-9, 1e-9, 3e-9].map(beside).into_iter().fold(0.0, f64::max)
    };
    let drop = largest(superposed(&|time| wall.step_response(time)).into_iter());
    let drops = superposed(&|time| fluid.step_response(time));
    let lost = RunError {
        exponentials: fluid_of_the_hour(&design, field, &run, &drops),
        tabulation: [&wall, &fluid].map(tabulated).into_iter().fold(0.0, f64::max),
        segments: drop * worst_of_the_curve(&design.ground, field, &curve),
        ..RunError::NONE
    };
    let name = format!("design {seed}, {} bores, {} kinds", field.count(), field.bores.len());
    let noise = [&wall, &fluid].map(noise).into_iter().fold(0.0, f64::max);
    Compared { name, reported: run.error, lost, noise }
}

/// Step responses of the wall, and of the fluid if bores store heat.
fn responses(design: &Design, field: &BoreField, curve: &LaplaceCurve) -> [LaplaceCurve; 2] {
    let count = field.count() as f64;
    let bore = Bore { depth: field.total_depth() / count, ..field.bores[0] };
    let state = design.fluid.at(field.undisturbed(&design.ground));
    let resistance = resistances(&bore, design.ground.conductivity, &state, design.flow / count).unwrap();
    let steady = TAU * design.ground.conductivity * resistance.effective;
    match HeatCapacityInside::new(&bore, &design.ground, &state, &resistance) {
        Some(inside) => curve.map(|p, response| {
            let [fluid, wall] = inside.fluid_and_wall(p, response);
            [wall, fluid - steady]
        }),
        None => [curve.clone(), curve.clone()],
    }
}

/// Hours of a run that are solved again: one in this many, and as many of the coldest and of those with most heat.
const ONE_IN: usize = 61;

/// Largest difference of the entering fluid temperature from superposition of the same heat with the resistance of the
/// hour's own fluid, over a sample of the hours.
fn fluid_of_the_hour(design: &Design, field: &BoreField, run: &Run, drops: &[f64]) -> f64 {
    let hourly = &run.hourly;
    let sorted_by = |of: &dyn Fn(usize) -> f64| {
        let mut hours: Vec<usize> = (0..hourly.len()).collect();
        hours.sort_by(|&a, &b| of(a).total_cmp(&of(b)));
        hours.truncate(hourly.len() / ONE_IN);
        hours
    };
    let coldest = sorted_by(&|n| hourly.entering_fluid[n]);
    let most_heat = sorted_by(&|n| -hourly.heat_extracted[n].abs());
    let hours = (0..hourly.len()).step_by(ONE_IN).chain(coldest).chain(most_heat);
    let undisturbed = field.undisturbed(&design.ground);
    largest(hours.map(|n| {
        let heat = hourly.heat_extracted[n];
        let mut mean = 0.5 * (hourly.entering_fluid[n] + hourly.leaving_fluid[n]);
        let excess = |mean: f64| mean - undisturbed + drops[n] + field_resistance(design, field, mean) * heat;
        // Secant iteration that starts at the run's value.
        let mut next = mean - excess(mean);
        for _ in 0..8 {
            let (now, then) = (excess(mean), excess(next));
            if (next - mean).abs() < 1e-10 || now == then {
                break;
            }
            (mean, next) = (next, next - then * (next - mean) / (then - now));
        }
        let half = 0.5 * heat / (design.flow * design.fluid.at(next).heat_capacity);
        (next + half - hourly.entering_fluid[n]).abs().max((next - half - hourly.leaving_fluid[n]).abs())
    }))
}

/// Resistance of a whole field at a mean fluid temperature (K/W), from the equations of its bores.
fn field_resistance(design: &Design, field: &BoreField, mean: f64) -> f64 {
    let each = design.flow / field.count() as f64;
    let state = design.fluid.at(mean);
    let alike = (field.count() / field.bores.len()) as f64;
    let found = resistances(&field.bores[0], design.ground.conductivity, &state, each).expect("a good bore");
    let conductance = |bore: &Bore| bore.depth / found.effective_over(bore.depth, each * state.heat_capacity);
    1.0 / (alike * field.bores.iter().map(conductance).sum::<f64>())
}

fn largest(values: impl Iterator<Item = f64>) -> f64 {
    values.map(f64::abs).fold(0.0, f64::max)
}

/// Largest relative difference of p x Laplace{g} from the dense solution, where the bores interact most.
fn worst_of_the_curve(ground: &Ground, field: &BoreField, curve: &LaplaceCurve) -> f64 {
    let last = HOURS_PER_YEAR as f64 * HOUR;
    let points = [1.0, 6.0, 300.0].map(|times| times * 2.0_f64.ln() / last);
    let exact = dense(ground, field, &points);
    largest(points.iter().zip(exact).map(|(&p, exact)| curve.at(p) / exact - 1.0))
}

/// p x Laplace{g} at some p's (1/s), one wall temperature for all segments.
fn dense(ground: &Ground, field: &BoreField, points: &[f64; 3]) -> [f64; 3] {
    let edges: Vec<Vec<f64>> =
        (0..field.count()).map(|bore| edges(&field.bores[bore % field.bores.len()])).collect();
    let size = SEGMENTS * edges.len();
    let mut matrices = [(); 3].map(|()| Mat::<f64>::zeros(size, size));
    for (to, from) in (0..edges.len()).flat_map(|to| (to..edges.len()).map(move |from| (to, from))) {
        let [a, b] = [to, from].map(|bore| field.positions[bore]);
        let distance = if to == from { field.bores[0].radius() } else { (a[0] - b[0]).hypot(a[1] - b[1]) };
        let kernels = kernels(ground.diffusivity(), points, distance, &edges[to], &edges[from]);
        for (matrix, kernel) in matrices.iter_mut().zip(&kernels) {
            for (u, v) in (0..SEGMENTS).flat_map(|u| (0..SEGMENTS).map(move |v| (u, v))) {
                matrix[(SEGMENTS * from + v, SEGMENTS * to + u)] = kernel[u * SEGMENTS + v];
            }
        }
    }
    let load = Mat::from_fn(size, 1, |row, _| {
        edges[row / SEGMENTS][row % SEGMENTS + 1] - edges[row / SEGMENTS][row % SEGMENTS]
    });
    matrices.map(|matrix| {
        let heat = Llt::new(matrix.as_ref(), Side::Lower).unwrap().solve(&load);
        field.total_depth() / (load.transpose() * heat)[(0, 0)]
    })
}

fn edges(bore: &Bore) -> Vec<f64> {
    let lengths = (0..SEGMENTS).map(|segment| 1.4_f64.powi(segment.min(SEGMENTS - 1 - segment) as i32));
    let whole: f64 = lengths.clone().sum();
    let mut edge = bore.buried_depth;
    let below = lengths.map(|length| {
        edge += bore.depth * length / whole;
        edge
    });
    std::iter::once(bore.buried_depth).chain(below).collect()
}

/// Claesson & Javed 2011, equations 9 to 11, for two segments, transformed; the trapezoid rule in ln s.
fn kernels(diffusivity: f64, points: &[f64; 3], distance: f64, to: &[f64], from: &[f64]) -> [Vec<f64>; 3] {
    const STEP: f64 = 0.25;
    let ierf = |x: f64| x + if x > 6.0 { 0.0 } else { (-x * x).exp() / PI.sqrt() - x * libm::erfc(x) };
    let mut sums = [(); 3].map(|()| vec![0.0; SEGMENTS * SEGMENTS]);
    let least = (points[0] / (4.0 * diffusivity * 30.0)).sqrt();
    let count = ((5.5 / distance / least).ln() / STEP).ceil().max(1.0) as i32;
    for s in (0..=count).map(|node| least * (STEP * f64::from(node)).exp()) {
        let table: Vec<f64> = to
            .iter()
            .flat_map(|u| from.iter().map(move |v| ierf(s * (u - v).abs()) + ierf(s * (u + v))))
            .collect();
        let factors = points
            .map(|p| STEP / (2.0 * s) * (-(distance * s).powi(2) - p / (4.0 * diffusivity * s * s)).exp());
        for (u, v) in (0..SEGMENTS).flat_map(|u| (0..SEGMENTS).map(move |v| (u, v))) {
            let at = |u: usize, v: usize| table[u * (SEGMENTS + 1) + v];
            let difference = at(u, v + 1) - at(u, v) - at(u + 1, v + 1) + at(u + 1, v);
            for (sums, factor) in sums.iter_mut().zip(factors) {
                sums[u * SEGMENTS + v] += factor * difference;
            }
        }
    }
    sums
}

/// A part of the errors by name, and the uncertainty of its reference.
type Part = (&'static str, fn(&RunError) -> f64, fn(&Compared) -> f64);

#[test]
fn reported_errors_bound_the_actual_ones() {
    let all: Vec<Compared> = (0..DESIGNS).into_par_iter().map(compared).collect();
    let parts: [Part; 3] = [
        (
            "exponentials and resistances",
            |error| error.exponentials + error.resistance,
            |case| case.reported.tabulation + case.noise,
        ),
        ("tabulation", |error| error.tabulation, |case| case.noise),
        ("segments", |error| error.segments, |_| ROUNDING),
    ];
    for (part, of, blur) in parts {
        let ratio = |case: &Compared| of(&case.lost) / of(&case.reported);
        let worst = all.iter().max_by(|a, b| ratio(a).total_cmp(&ratio(b))).unwrap();
        println!("{part}: at most {:.3} of what was reported, {}", ratio(worst), worst.name);
        for case in &all {
            let (name, reported, lost) = (&case.name, of(&case.reported), of(&case.lost));
            assert!(
                lost <= reported + blur(case),
                "{name}: {part} error {lost:e} K, reported {reported:e} K"
            );
            assert!(lost < 0.005 || part == "segments", "{name}: {part} error {lost:e} K");
        }
    }
}
