//! Entering fluid temperatures of 200 random designs against an independent solution of each hour, and the printed error.
//!
//! Cross-method: a year is solved hour by hour from its loads alone, by superposition of step changes in time (Carslaw &
//! Jaeger 1959, Duhamel's theorem; from memory), with the heat pump equations written out here and the loop's resistance
//! at the hour's own fluid from the equations of the bore. It uses no exponentials, blocks, plans or tangents, and no
//! results of the run. Both share only the step response and the equations of bore, film and fluid, which have their own
//! tests.
//!
//! Just above Re 2300, both a laminar and a turbulent film may solve an hour with heat extraction. As in the engine, the
//! coldest solution counts; a search upward from below all solutions finds it.

// A test that can't start has failed.
#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic)]

#[path = "../benches/cases/mod.rs"]
mod cases;

use std::f64::consts::{PI, TAU};

use loopdrift::bore::{
    Bore, Coaxial, DoubleUTube, HeatCapacityInside, Inside, Pipe, Pipes, UTube, films, resistances,
    resistances_over,
};
use loopdrift::cancel_token::CancelToken;
use loopdrift::design::Design;
use loopdrift::fluid::FluidState;
use loopdrift::ground::Ground;
use loopdrift::ground_side::bore_field::BoreField;
use loopdrift::ground_side::{Description, GroundSideKind};
use loopdrift::heat_pump::{HeatPump, Mode};
use loopdrift::history::HOUR;
use loopdrift::loads::{HOURS_PER_YEAR, Loads};
use loopdrift::run::run;
use rayon::prelude::*;

const DESIGNS: u64 = 200;

/// Uncertainty of the comparison due to rounding and the inversion of the step response [K].
const UNCERTAINTY: f64 = 1e-6;

/// Largest allowed ratio of the printed error to the actual one.
const LARGEST_RATIO: f64 = 20.0;

/// Pseudorandom numbers (Marsaglia 2003, Xorshift RNGs; from memory).
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

    fn chance(&mut self, share: f64) -> bool {
        self.between(0.0, 1.0) < share
    }
}

fn pipe(outer_diameter: f64, wall_thickness: f64) -> Pipe {
    Pipe { outer_diameter, wall_thickness, conductivity: 0.42, roughness: 1.5e-6 }
}

/// The inside of a bore, and the range of mass flow per metre of bore that spans laminar to turbulent flow [kg/(s m)].
fn random_inside(seed: u64, random: &mut Random) -> (Inside, [f64; 2]) {
    let (pipes, flows) = match seed % 5 {
        0 => {
            let measured = Inside::Measured { resistance: random.between(0.06, 0.16) };
            return (measured, [0.0025, 0.005]);
        }
        1 | 2 => {
            let shank_spacing = random.between(0.04, 0.06);
            (Pipes::UTube(UTube { pipe: pipe(0.032, 0.0029), shank_spacing }), [0.001, 0.005])
        }
        3 => {
            let shank_spacing = random.between(0.05, 0.06);
            (Pipes::DoubleUTube(DoubleUTube { pipe: pipe(0.025, 0.0023), shank_spacing }), [0.0015, 0.006])
        }
        _ => {
            let (inner, outer) = (pipe(0.04, 0.0037), pipe(0.09, 0.0054));
            (Pipes::Coaxial(Coaxial { inner, outer }), [0.0015, 0.009])
        }
    };
    let built = Inside::Built {
        pipes,
        grout_conductivity: random.between(0.8, 2.0),
        grout_heat_capacity: 3e6,
        heat_capacity_inside: random.chance(0.5),
    };
    (built, flows)
}

/// Gives a heat pump a random combination of stages, lock-outs and cycling losses.
fn vary(heat_pump: &mut HeatPump, size: f64, random: &mut Random) {
    for mode in [&mut heat_pump.heating, &mut heat_pump.cooling].into_iter().flatten() {
        mode.capacity.iter_mut().flatten().for_each(|coefficient| *coefficient *= size);
    }
    let lower = |mode: &Option<Mode>, share: f64| {
        mode.clone().map(|mut low| {
            low.capacity.iter_mut().flatten().for_each(|coefficient| *coefficient *= share);
            low.cop.iter_mut().for_each(|coefficient| *coefficient *= 1.08);
            low
        })
    };
    if random.chance(0.4) {
        heat_pump.heating_low = lower(&heat_pump.heating, random.between(0.4, 0.7));
        heat_pump.cooling_low = lower(&heat_pump.cooling, random.between(0.4, 0.7));
        heat_pump.variable_speed = random.chance(0.5);
    }
    heat_pump.heating_lock_out = random.chance(0.2).then(|| random.between(-6.0, 2.0));
    heat_pump.cooling_lock_out = random.chance(0.2).then(|| random.between(18.0, 32.0));
    heat_pump.degradation_coefficient = random.between(0.0, 0.25);
}

/// A field of 1 to 60 bores in random ground, with a heat pump and loads of matching size.
fn random_design(seed: u64) -> (Design, Loads) {
    let mut random = Random::new(seed + 1000);
    // One in seven is large.
    let most = if seed % 7 == 3 { 61.0 } else { 13.0 };
    let count = random.between(1.0, most) as usize;
    let spacing = random.between(3.0, 10.0);
    let columns = random.between(1.0, (count + 1) as f64) as usize;
    let place = |bore: usize| [spacing * (bore % columns) as f64, spacing * (bore / columns) as f64];
    let positions: Vec<[f64; 2]> = (0..count).map(place).collect();
    let (inside, flows) = random_inside(seed, &mut random);
    let diameter = random.between(0.11, 0.2);
    let bore = Bore {
        depth: random.between(40.0, 200.0),
        buried_depth: random.between(0.01, 5.0),
        diameter,
        inside,
    };
    let field = BoreField { bores: vec![bore], positions, leans: Vec::new() };
    let size = field.total_depth() / 1200.0;
    let ground = Ground {
        conductivity: random.between(0.8, 4.0),
        volumetric_heat_capacity: random.between(1.5e6, 3.5e6),
        ..cases::ground()
    };
    let mut design = cases::design();
    vary(&mut design.heat_pump, size, &mut random);
    let rows = |of: fn(f64) -> f64| (0..80).map(|row| of(f64::from(row))).collect();
    design.fluid.heat_capacity = rows(|row| 3700.0 + 3.0 * row + 0.01 * row * row);
    design.fluid.conductivity = rows(|row| 0.40 + 0.001 * row);
    design.fluid.density = rows(|row| 1045.0 - 0.4 * row);
    let flow = random.between(flows[0], flows[1]) * field.total_depth();
    let design = Design { ground, ground_side: GroundSideKind::BoreField(field), flow, ..design };
    let (share, begin, hours) =
        (random.between(0.3, 0.8), random.between(0.0, 24.0), random.between(4.0, 20.0));
    let goes_on_and_off = random.chance(0.6);
    let mut loads = cases::loads().into_series();
    for series in [&mut loads.heating, &mut loads.cooling] {
        for (hour, load) in series.iter_mut().enumerate() {
            let is_on = (hour as f64 + begin).rem_euclid(24.0) < hours;
            *load *= share * size * if goes_on_and_off && !is_on { 0.0 } else { 1.0 };
        }
    }
    (design, Loads::new(loads).expect("loads of one year"))
}

/// Heat pump equations as documented in the engine.
struct Unit<'a>(&'a HeatPump);

impl Unit<'_> {
    /// Heat extracted from the ground [W] at an entering fluid temperature [degC].
    fn heat(&self, entering: f64, heating: f64, cooling: f64) -> f64 {
        let unit = self.0;
        if heating > 0.0 {
            let (full, low) = (unit.heating.as_ref().unwrap(), unit.heating_low.as_ref());
            let unlocked = unit.heating_lock_out.map_or(1.0, |at| (entering - at).clamp(0.0, 1.0));
            let [delivered, electricity] = self.work(full, low, unlocked, entering, heating);
            delivered - electricity
        } else if cooling > 0.0 {
            let (full, low) = (unit.cooling.as_ref().unwrap(), unit.cooling_low.as_ref());
            let unlocked = unit.cooling_lock_out.map_or(1.0, |at| (at - entering).clamp(0.0, 1.0));
            let [delivered, electricity] = self.work(full, low, unlocked, entering, cooling);
            -delivered - electricity
        } else {
            0.0
        }
    }

    /// Heat delivered and electricity [W].
    fn work(&self, full: &Mode, low: Option<&Mode>, unlocked: f64, entering: f64, load: f64) -> [f64; 2] {
        // A locked-out unit keeps a billionth of its capacity.
        let unlocked = 1e-9 + (1.0 - 1e-9) * unlocked;
        let stage = |mode: &Mode| {
            let [least, most] = mode.range();
            let at = entering.clamp(least, most);
            let curve = |terms: &[f64]| terms.iter().rev().fold(0.0, |sum, term| sum * at + term);
            (curve(&mode.cop), unlocked * curve(mode.capacity.as_ref().unwrap()))
        };
        let (cop, capacity) = stage(low.unwrap_or(full));
        if load > capacity && low.is_some() {
            let (full_cop, full_capacity) = stage(full);
            let delivered = load.min(full_capacity);
            let beyond = (delivered - capacity) / (full_capacity - capacity);
            let electricity = if self.0.variable_speed {
                delivered / (cop + (full_cop - cop) * beyond)
            } else {
                (1.0 - beyond) * capacity / cop + beyond * full_capacity / full_cop
            };
            return [delivered, electricity];
        }
        let delivered = load.min(capacity);
        let part_load_factor = 1.0 - self.0.degradation_coefficient * (1.0 - delivered / capacity);
        [delivered, delivered / (cop * part_load_factor)]
    }
}

/// Nodes of each piece of [`ExactResistance`].
const NODES: usize = 8;

/// The field's resistance [K/W], accurate to rounding: barycentric interpolation through Chebyshev points (Berrut &
/// Trefethen 2004; from memory) between the rows of the fluid table and the regime limits of the films, where it is
/// analytic.
struct ExactResistance {
    ends: Vec<f64>,
    /// Where films change their regime [degC], in order.
    bends: Vec<f64>,
    values: Vec<[f64; NODES]>,
}

impl ExactResistance {
    fn new(design: &Design, field: &BoreField) -> Self {
        let (bore, each) = (&field.bores[0], design.flow / field.count() as f64);
        let [first, last] = design.fluid.temperatures();
        let mut ends: Vec<f64> = (0..=(last - first) as usize).map(|row| first + row as f64).collect();
        let mut bends = Vec::new();
        let number = films(bore, &design.fluid.at(first), each).len();
        for (film, limit) in (0..number).flat_map(|film| [2300.0, 4000.0].map(|limit| (film, limit))) {
            let excess = |at: f64| films(bore, &design.fluid.at(at), each)[film].reynolds - limit;
            if excess(first) < 0.0 && excess(last) > 0.0 {
                bends.push(zero(first, last, excess));
            }
        }
        bends.sort_by(f64::total_cmp);
        ends.extend_from_slice(&bends);
        ends.sort_by(f64::total_cmp);
        ends.dedup_by(|one, other| (*one - *other).abs() < 1e-9);
        let points = ends.windows(2).flat_map(|ends| {
            let (from, to) = (ends[0], ends[1]);
            (0..NODES).map(move |node| from + (to - from) * 0.5 * (1.0 - cosine(node)))
        });
        let states: Vec<FluidState> = points.map(|at| design.fluid.at(at)).collect();
        let found = resistances_over(bore, design.ground.conductivity, &states, each).expect("a good bore");
        let of_field: Vec<f64> = found.iter().map(|found| found.effective / field.total_depth()).collect();
        Self { ends, bends, values: of_field.as_chunks::<NODES>().0.to_vec() }
    }

    fn at(&self, temperature: f64) -> f64 {
        let last = self.ends.len() - 1;
        let at = temperature.clamp(self.ends[0], self.ends[last]);
        let piece = (self.ends.partition_point(|&end| end <= at).max(1) - 1).min(last - 1);
        let (from, to) = (self.ends[piece], self.ends[piece + 1]);
        let x = 1.0 - 2.0 * (at - from) / (to - from);
        let (mut above, mut below) = (0.0, 0.0);
        for node in 0..NODES {
            let distance = x - cosine(node);
            if distance == 0.0 {
                return self.values[piece][node];
            }
            let sign = if node % 2 == 0 { 1.0 } else { -1.0 };
            let weight = sign * (PI * (node as f64 + 0.5) / NODES as f64).sin() / distance;
            above += weight * self.values[piece][node];
            below += weight;
        }
        above / below
    }
}

/// Chebyshev points of the first kind.
fn cosine(node: usize) -> f64 {
    (PI * (node as f64 + 0.5) / NODES as f64).cos()
}

/// Zero of a function in a bracket: Illinois variant of regula falsi (Dowell & Jarratt 1971; from memory).
fn zero(mut low: f64, mut high: f64, of: impl Fn(f64) -> f64) -> f64 {
    let (mut at_low, mut at_high) = (of(low), of(high));
    let mut before = 0.0;
    for _ in 0..100 {
        let middle = if at_high == at_low { low } else { low - at_low * (high - low) / (at_high - at_low) };
        let value = of(middle);
        if value == 0.0 || (high - low).abs() < 1e-12 {
            return middle;
        }
        let side = value.signum();
        if side == at_low.signum() {
            (low, at_low) = (middle, value);
            if side == before {
                at_high *= 0.5;
            }
        } else {
            (high, at_high) = (middle, value);
            if side == before {
                at_low *= 0.5;
            }
        }
        before = side;
    }
    0.5 * (low + high)
}

/// Step of the search for the coldest solution [K].
const SEARCH_STEP: f64 = 0.1;

/// Entering fluid temperature of each hour of a year [degC].
fn reference(design: &Design, loads: &Loads, field: &BoreField) -> Vec<f64> {
    let pulse_response = pulse_response(design, field);
    let resistance = ExactResistance::new(design, field);
    let unit = Unit(&design.heat_pump);
    let demands = design.demands(loads).expect("loads that the heat pump serves");
    let mut no_load_temperature = vec![field.undisturbed(&design.ground); HOURS_PER_YEAR];
    let mut entering = Vec::with_capacity(HOURS_PER_YEAR);
    for (hour, demand) in demands.hours().enumerate() {
        let (heating, cooling) = (demand.heating, demand.cooling);
        if heating == 0.0 && cooling == 0.0 {
            entering.push(no_load_temperature[hour]);
            continue;
        }
        let half = |mean: f64, heat: f64| 0.5 * heat / (design.flow * design.fluid.at(mean).heat_capacity);
        let mean = |at: f64, heat: f64| (0..5).fold(at, |mean, _| at - half(mean, heat));
        let excess = |at: f64| {
            let heat = unit.heat(at, heating, cooling);
            let mean = mean(at, heat);
            mean - no_load_temperature[hour] + (pulse_response[0] + resistance.at(mean)) * heat
        };
        // Upward from below all solutions: the first change of sign is the coldest.
        let coldest = resistance.at(f64::NEG_INFINITY) + pulse_response[0] + 1.0 / (design.flow * 3700.0);
        let (first, step) = if heating > 0.0 {
            (no_load_temperature[hour] - coldest * heating - 1.0, SEARCH_STEP)
        } else {
            (no_load_temperature[hour] - 1.0, 60.0)
        };
        let mut low = first;
        while excess(low + step) < 0.0 {
            low += step;
        }
        // Two solutions closer to each other than a step have a bend between them.
        let entering_at =
            |bend: f64| (0..20).fold(bend, |at, _| bend + half(bend, unit.heat(at, heating, cooling)));
        let at_bends = resistance.bends.iter().map(|&bend| entering_at(bend));
        let solved_below = |at: &f64| (first..low).contains(at) && excess(*at) > 0.0;
        let found = match at_bends.filter(|_| heating > 0.0).find(solved_below) {
            Some(high) => zero(first, high, excess),
            None => zero(low, low + step, excess),
        };
        let heat = unit.heat(found, heating, cooling);
        no_load_temperature[hour..]
            .iter_mut()
            .zip(&pulse_response)
            .for_each(|(temperature, response)| *temperature -= response * heat);
        // The response to the hour's own heat is already part of the solution.
        entering.push(found);
    }
    entering
}

/// Fall of the temperature at the loop per watt extracted throughout an hour, in that hour and the following ones [K/W].
fn pulse_response(design: &Design, field: &BoreField) -> Vec<f64> {
    let (shape, slower) = field.shape(&design.ground, HOURS_PER_YEAR);
    let curve = shape.response(&CancelToken::default()).expect("a good field").slowed(slower);
    let state = design.fluid.at(field.undisturbed(&design.ground));
    let each = design.flow / field.count() as f64;
    let found = resistances(&field.bores[0], design.ground.conductivity, &state, each).unwrap();
    let steady = TAU * design.ground.conductivity * found.effective;
    let curve = match HeatCapacityInside::new(&field.bores[0], &design.ground, &state, &found) {
        Some(inside) => {
            let [fluid] = curve.map(|p, response| [inside.fluid_and_wall(p, response)[0] - steady]);
            fluid
        }
        None => curve,
    };
    let per_watt = 1.0 / (TAU * design.ground.conductivity * field.total_depth());
    let mut before = 0.0;
    let answer = |hour: usize| {
        let now = per_watt * curve.step_response(HOUR * hour as f64);
        now - std::mem::replace(&mut before, now)
    };
    (1..=HOURS_PER_YEAR).map(answer).collect()
}

/// The printed error of a run, without the parts that the reference shares, and its actual error [K].
struct Compared {
    name: String,
    printed: f64,
    actual: f64,
    hour: usize,
}

fn compared(seed: u64) -> Compared {
    let (design, loads) = random_design(seed);
    let GroundSideKind::BoreField(field) = &design.ground_side else { unreachable!("all have bores") };
    let run =
        run(&design, &loads, 1, &CancelToken::default()).unwrap_or_else(|error| panic!("{seed}: {error}"));
    let exact = reference(&design, &loads, field);
    let off = |hour: usize| (run.hourly.entering_fluid[hour] - exact[hour]).abs();
    let hour = (0..exact.len()).max_by(|&a, &b| off(a).total_cmp(&off(b))).unwrap();
    let printed = run.error.exponentials + run.error.iteration + run.error.resistance + run.error.tabulation;
    let name = format!("design {seed}, {} bores, {:?}", field.count(), run.error);
    Compared { name, printed, actual: off(hour), hour }
}

#[test]
fn every_hour_solves_the_coupled_equations_within_the_printed_error() {
    let all: Vec<Compared> = (0..DESIGNS).into_par_iter().map(compared).collect();
    let mut faults = Vec::new();
    for Compared { name, printed, actual, hour } in &all {
        if *actual >= 0.005 || *actual > *printed + UNCERTAINTY {
            faults.push(format!("{name}: actual {actual:e} K in hour {hour}, printed {printed:e} K"));
        }
        if *actual > UNCERTAINTY && *printed > LARGEST_RATIO * actual {
            faults.push(format!(
                "{name}: printed {printed:e} K, actual {actual:e} K, {:.0} times",
                printed / actual
            ));
        }
    }
    let worst = all.iter().map(|case| case.actual).fold(0.0, f64::max);
    println!("largest difference {worst:e} K, {} faults", faults.len());
    assert!(faults.is_empty(), "{} faults:\n{}", faults.len(), faults.join("\n"));
}
