//! Thermal resistances of a bore: at one depth and over its whole length.

use std::f64::consts::{PI, TAU};
use std::ops::RangeInclusive;

use rayon::prelude::*;
use serde::Serialize;

use super::construction::{Bore, Coaxial, DoubleUTube, Inside, Pipe, Pipes, UTube};
use super::film::{Film, in_annulus, in_pipe};
use super::multipole::{CrossSection, Hole, Leg, ORDER};
use crate::chebyshev::ChebyshevSeries;
use crate::error::Error;
use crate::fluid::FluidState;

/// Thermal resistances between fluid and bore wall, per metre of bore, and the flow that determines them.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Resistances {
    /// At one depth with identical legs, from fluid to the wall's mean temperature (m K/W); the measured value if there
    /// is one.
    pub local: f64,
    /// Between the fluid flowing down and up, directly and through the wall, for equal heat into one and out of the
    /// other (m K/W); `None` if the resistance was measured.
    pub internal: Option<f64>,
    /// Over the whole bore, from the mean of entering and leaving fluid to the wall (m K/W).
    pub effective: f64,
    /// Flow along the pipe wall facing the ground: in each leg, or in the gap of a coaxial bore; `None` if the
    /// resistance was measured.
    pub film: Option<Film>,
    /// Flow in the inner pipe of a coaxial bore.
    pub inner_film: Option<Film>,
}

impl Resistances {
    /// Effective resistance (m K/W) of a bore that differs only in its active depth (m).
    ///
    /// `heat_capacity_flow` is flow x heat capacity (W/K).
    #[must_use]
    pub fn effective_over(&self, depth: f64, heat_capacity_flow: f64) -> f64 {
        match self.internal {
            Some(internal) => effective(self.local, internal, depth, heat_capacity_flow),
            None => self.effective,
        }
    }
}

/// Resistances of a bore that carries `flow` (kg/s) of a fluid, in ground of a given conductivity (W/(m K)).
///
/// # Errors
/// [`Error::InvalidInput`] if flow, conductivity or the fluid's Prandtl number is outside its range.
pub fn resistances(
    bore: &Bore,
    ground_conductivity: f64,
    fluid: &FluidState,
    flow: f64,
) -> Result<Resistances, Error> {
    Ok(resistances_over(bore, ground_conductivity, &[*fluid], flow)?[0])
}

/// The same for each of several states of the fluid.
///
/// # Errors
/// As for [`resistances`].
pub fn resistances_over(
    bore: &Bore,
    ground_conductivity: f64,
    fluids: &[FluidState],
    flow: f64,
) -> Result<Vec<Resistances>, Error> {
    in_range("Bore", "flow", flow, "kg/s", FLOW)?;
    in_range("Ground", "conductivity", ground_conductivity, "W/(m K)", CONDUCTIVITY)?;
    fluids.iter().try_for_each(|fluid| in_range("Fluid", "prandtl", fluid.prandtl(), "", PRANDTL))?;
    let (pipes, grout_conductivity) = match bore.inside {
        Inside::Built { pipes, grout_conductivity, .. } => (pipes, grout_conductivity),
        Inside::Measured { resistance } => {
            let (local, effective) = (resistance, resistance);
            let measured = Resistances { local, internal: None, effective, film: None, inner_film: None };
            return Ok(vec![measured; fluids.len()]);
        }
    };
    let hole = Hole { radius: bore.radius(), grout_conductivity, ground_conductivity };
    let built = |fluid: &FluidState, [local, internal]: [f64; 2], film: Film, inner_film: Option<Film>| {
        let effective = effective(local, internal, bore.depth, flow * fluid.heat_capacity);
        Resistances { local, internal: Some(internal), effective, film: Some(film), inner_film }
    };
    let legs = |pipe: &Pipe, circle: f64, directions: &[f64]| {
        let loops = directions.len() as f64 / 2.0;
        let films: Vec<Film> = fluids.iter().map(|fluid| in_pipe(pipe, fluid, flow / loops)).collect();
        let pairs = local_and_internal(&hole, pipe, &films, circle, directions);
        let each = fluids.iter().zip(pairs).zip(films);
        each.map(|((fluid, pair), film)| built(fluid, pair, film, None)).collect()
    };
    Ok(match pipes {
        Pipes::UTube(UTube { pipe, shank_spacing }) => legs(&pipe, shank_spacing / 2.0, &[DOWN, UP]),
        Pipes::DoubleUTube(DoubleUTube { pipe, shank_spacing }) => {
            legs(&pipe, shank_spacing / 2.0, &[DOWN, DOWN, UP, UP])
        }
        Pipes::Coaxial(pipes) => fluids
            .iter()
            .map(|fluid| {
                let centre = in_pipe(&pipes.inner, fluid, flow);
                let (on_inner, on_outer) = in_annulus(&pipes, fluid, flow);
                built(fluid, coaxial(&hole, &pipes, &centre, &on_inner, &on_outer), on_outer, Some(centre))
            })
            .collect(),
    })
}

/// Films of the fluid along the walls of a bore that carries `flow` (kg/s); empty if its resistance was measured.
#[must_use]
pub fn films(bore: &Bore, fluid: &FluidState, flow: f64) -> Vec<Film> {
    let Inside::Built { pipes, .. } = bore.inside else { return Vec::new() };
    match pipes {
        Pipes::UTube(UTube { pipe, .. }) => vec![in_pipe(&pipe, fluid, flow)],
        Pipes::DoubleUTube(DoubleUTube { pipe, .. }) => vec![in_pipe(&pipe, fluid, flow / 2.0)],
        Pipes::Coaxial(pipes) => vec![in_annulus(&pipes, fluid, flow).1, in_pipe(&pipes.inner, fluid, flow)],
    }
}

/// Resistance between the fluid inside one pipe and its outside, per metre, and the flow that determines it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PipeResistance {
    /// Of film and wall, at one depth (m K/W).
    pub local: f64,
    /// The flow inside.
    pub film: Film,
}

/// Resistance of a pipe that carries `flow` (kg/s) of a fluid.
///
/// # Errors
/// [`Error::InvalidInput`] if the flow or the fluid's Prandtl number is outside its range.
pub fn pipe_resistance(pipe: &Pipe, fluid: &FluidState, flow: f64) -> Result<PipeResistance, Error> {
    in_range("Pipe", "flow", flow, "kg/s", FLOW)?;
    in_range("Fluid", "prandtl", fluid.prandtl(), "", PRANDTL)?;
    let film = in_pipe(pipe, fluid, flow);
    Ok(PipeResistance { local: film.resistance(pipe.inner_diameter()) + pipe.wall_resistance(), film })
}

/// Resistance from the mean of entering and leaving fluid (m K/W) of a pipe with a `local` resistance (m K/W) in
/// surroundings of one temperature: R eta coth eta, eta = L / (2 m c R).
///
/// It follows from the exponential approach of the fluid to that temperature, equivalent to the logarithmic mean
/// temperature difference. `heat_capacity_flow` is flow x heat capacity (W/K).
#[must_use]
pub fn exchanged_along(local: f64, length: f64, heat_capacity_flow: f64) -> f64 {
    let eta = length / (2.0 * heat_capacity_flow * local);
    local * eta / eta.tanh()
}

/// Derivative of [`exchanged_along`] with respect to the local resistance: (eta / sinh eta)^2.
#[must_use]
pub fn exchanged_slope(local: f64, length: f64, heat_capacity_flow: f64) -> f64 {
    let eta = length / (2.0 * heat_capacity_flow * local);
    // Above it, the ratio is zero to rounding and sinh overflows.
    if eta > 300.0 { 0.0 } else { (eta / eta.sinh()).powi(2) }
}

/// Accepted flow through one bore or pipe (kg/s).
const FLOW: RangeInclusive<f64> = 1e-6..=1e3;
/// Accepted conductivity of the ground (W/(m K)), as in its schema.
const CONDUCTIVITY: RangeInclusive<f64> = 0.1..=20.0;
/// Accepted Prandtl number: from the range of the film correlations up to the most viscous fluid of the schema.
const PRANDTL: RangeInclusive<f64> = 0.5..=1e8;

fn in_range(
    owner: &str,
    field: &str,
    value: f64,
    unit: &str,
    range: RangeInclusive<f64>,
) -> Result<(), Error> {
    if range.contains(&value) {
        return Ok(());
    }
    let allowed = format!("must be from {} to {} {unit}", range.start(), range.end());
    Err(Error::invalid(owner, field, value, unit, allowed.trim_end()))
}

/// Sign of the heat emitted by legs whose fluid flows down and up.
const DOWN: f64 = 1.0;
const UP: f64 = -1.0;

/// Local and internal resistance (m K/W) of legs evenly spaced on a circle, loops in parallel, for each film.
///
/// Half of the legs carry the fluid down; by symmetry all of them emit the same heat at the same temperature.
fn local_and_internal(
    hole: &Hole,
    pipe: &Pipe,
    films: &[Film],
    circle: f64,
    directions: &[f64],
) -> Vec<[f64; 2]> {
    let count = directions.len();
    let legs: Vec<Leg> = (0..count)
        .map(|i| {
            let (sin, cos) = (TAU * i as f64 / count as f64).sin_cos();
            Leg { x: circle * cos, y: circle * sin, radius: pipe.outer_diameter / 2.0 }
        })
        .collect();
    let section = CrossSection::new(&legs, hole, ORDER);
    let at = |resistance: f64| {
        let matrix = section.resistance_matrix(&vec![resistance; count]);
        let mean = |sign: &dyn Fn(usize, usize) -> f64| {
            let pairs = (0..count).flat_map(|m| (0..count).map(move |n| (m, n)));
            pairs.map(|(m, n)| sign(m, n) * matrix[(m, n)]).sum::<f64>() / (count * count) as f64
        };
        [mean(&|_, _| 1.0), 4.0 * mean(&|m, n| directions[m] * directions[n])]
    };
    let pipes: Vec<f64> =
        films.iter().map(|film| film.resistance(pipe.inner_diameter()) + pipe.wall_resistance()).collect();
    at_each(&pipes, at)
}

/// Relative tolerance of a Chebyshev series over the pipes' resistance.
const SERIES_ERROR: f64 = 1e-12;

/// Smallest half-width of a range of ln resistance for which a series is built: wider than rounding.
const LEAST_HALF_SPAN: f64 = 1e-3;

/// `f` at each resistance between fluid and pipe's outside (m K/W), from its Chebyshev series if that needs fewer
/// values of `f`.
///
/// Heat flows at any positive resistance, so the singularities of f are at negative resistances: in the logarithm they
/// are pi away from the real axis, and each further term reduces the error by the sum of the half axes of the ellipse
/// through them (Trefethen 2013, Approximation theory and approximation practice, theorem 8.2).
fn at_each(resistances: &[f64], f: impl Fn(f64) -> [f64; 2] + Sync) -> Vec<[f64; 2]> {
    let logarithms: Vec<f64> = resistances.iter().map(|resistance| resistance.ln()).collect();
    let least = logarithms.iter().copied().fold(f64::INFINITY, f64::min);
    let most = logarithms.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let (middle, half) = (0.5 * (least + most), (0.5 * (most - least)).max(LEAST_HALF_SPAN));
    let terms = 1 + (-SERIES_ERROR.ln() / (PI / half).asinh()).ceil() as usize;
    if resistances.len() <= terms {
        return resistances.iter().map(|&resistance| f(resistance)).collect();
    }
    let (least, most) = (middle - half, middle + half);
    let points: Vec<f64> = ChebyshevSeries::points(least, most, terms).collect();
    let samples: Vec<[f64; 2]> = points.into_par_iter().map(|point| f(point.exp())).collect();
    let series = [0, 1].map(|which| {
        let samples: Vec<f64> = samples.iter().map(|pair| pair[which]).collect();
        ChebyshevSeries::through(least, most, &samples)
    });
    logarithms.into_iter().map(|place| [0, 1].map(|which| series[which].at([place])[0])).collect()
}

/// Local and internal resistance (m K/W) of a pipe in a pipe.
fn coaxial(hole: &Hole, pipes: &Coaxial, centre: &Film, on_inner: &Film, on_outer: &Film) -> [f64; 2] {
    let Coaxial { inner, outer } = pipes;
    let grout = (2.0 * hole.radius / outer.outer_diameter).ln() / (TAU * hole.grout_conductivity);
    let local = on_outer.resistance(outer.inner_diameter()) + outer.wall_resistance() + grout;
    let direct = centre.resistance(inner.inner_diameter())
        + inner.wall_resistance()
        + on_inner.resistance(inner.outer_diameter);
    [local, 1.0 / (1.0 / direct + 1.0 / (4.0 * local))]
}

/// Effective resistance (m K/W) with a uniform wall temperature: R_b eta coth eta, eta = H / (m c sqrt(R_b
/// R_a)).
///
/// Source: Hellstrom (1991), Ground heat storage, thesis, Lund, chapter 8, for a U-tube. In a coaxial bore the inner
/// pipe exchanges heat only with the outer one, which gives other equations with the same mean and therefore the same
/// result.
///
/// `heat_capacity_flow` is flow x heat capacity (W/K).
fn effective(local: f64, internal: f64, depth: f64, heat_capacity_flow: f64) -> f64 {
    let eta = depth / (heat_capacity_flow * (local * internal).sqrt());
    local * eta / eta.tanh()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    const PIPE: Pipe =
        Pipe { outer_diameter: 0.032, wall_thickness: 0.0029, conductivity: 0.4, roughness: 1.5e-6 };
    const WATER: FluidState =
        FluidState { density: 999.7, heat_capacity: 4195.0, conductivity: 0.579, viscosity: 1.306e-3 };

    fn bore(pipes: Pipes) -> Bore {
        let inside = Inside::Built {
            pipes,
            grout_conductivity: 1.5,
            grout_heat_capacity: 3.4e6,
            heat_capacity_inside: true,
        };
        Bore { depth: 100.0, buried_depth: 2.0, diameter: 0.15, inside }
    }

    #[test]
    fn effective_resistance_tends_to_the_local_one_at_high_flow_and_is_proportional_to_depth_at_low_flow() {
        assert!((effective(0.1, 0.4, 100.0, 1e12) - 0.1).abs() < 1e-15);
        let slow = effective(0.1, 0.4, 100.0, 1.0);
        assert!((slow - 100.0 * (0.1f64 / 0.4).sqrt()).abs() < 1e-9 * slow);
    }

    #[test]
    fn measured_resistance_is_returned_unchanged() {
        let bore = Bore {
            depth: 100.0,
            buried_depth: 2.0,
            diameter: 0.15,
            inside: Inside::Measured { resistance: 0.1 },
        };
        let found = resistances(&bore, 2.0, &WATER, 0.3).unwrap();
        let measured =
            Resistances { local: 0.1, internal: None, effective: 0.1, film: None, inner_film: None };
        assert_eq!(found, measured);
        assert_eq!(found.effective_over(20.0, 1.0), 0.1);
    }

    #[test]
    fn flow_must_be_above_zero() {
        let bore = bore(Pipes::UTube(UTube { pipe: PIPE, shank_spacing: 0.07 }));
        for flow in [0.0, -0.3, f64::NAN, f64::INFINITY] {
            let refused = resistances(&bore, 2.0, &WATER, flow);
            assert!(matches!(refused, Err(Error::InvalidInput { field, .. }) if field == "flow"));
        }
    }

    /// Pipes of several inner diameters, including the roughest and thickest accepted ones.
    fn any_pipe(inner_diameter: f64) -> impl Strategy<Value = Pipe> {
        (1e-4..=0.1f64, 0.05..=500.0f64, 0.0..=0.05f64).prop_map(
            move |(wall_thickness, conductivity, relative_roughness)| Pipe {
                outer_diameter: inner_diameter + 2.0 * wall_thickness,
                wall_thickness,
                conductivity,
                roughness: (relative_roughness * inner_diameter).min(1e-3),
            },
        )
    }

    fn any_pipes() -> impl Strategy<Value = Pipes> {
        let pipe = || (0.005..=0.3f64).prop_flat_map(any_pipe);
        prop_oneof![
            (pipe(), 1.0..=3.0f64)
                .prop_map(|(pipe, apart)| UTube { pipe, shank_spacing: apart * pipe.outer_diameter })
                .prop_map(Pipes::UTube),
            (pipe(), 1.42..=3.0f64)
                .prop_map(|(pipe, apart)| DoubleUTube { pipe, shank_spacing: apart * pipe.outer_diameter })
                .prop_map(Pipes::DoubleUTube),
            (pipe(), 0.001..=0.2f64)
                .prop_flat_map(|(inner, gap)| (Just(inner), any_pipe(inner.outer_diameter + gap)))
                .prop_map(|(inner, outer)| Pipes::Coaxial(Coaxial { inner, outer })),
        ]
    }

    proptest! {
        /// Cross-method: the series over the pipes' resistance against the multipoles at each state.
        #[test]
        fn resistances_of_many_states_equal_those_of_each(
            pipes in any_pipes(),
            room in 1.0..=4.0f64,
            grout in 0.1..=20.0f64,
            ground in 0.1..=20.0f64,
            flow in (-3.0..=1.0f64).prop_map(|exponent| 10f64.powf(exponent)),
            stiffest in (-3.3..=-1.0f64).prop_map(|exponent| 10f64.powf(exponent)),
        ) {
            let inside = Inside::Built {
                pipes,
                grout_conductivity: grout,
                grout_heat_capacity: 3.4e6,
                heat_capacity_inside: true,
            };
            let bore = Bore { diameter: room * pipes.overall_diameter(), inside, ..bore(pipes) };
            prop_assume!(bore.validate().is_ok());
            let state = |i: usize| FluidState { viscosity: 5e-4 * (stiffest / 5e-4).powf(i as f64 / 75.0), ..WATER };
            let states: Vec<FluidState> = (0..=75).map(state).collect();
            let together = resistances_over(&bore, ground, &states, flow).unwrap();
            for (state, found) in states.iter().zip(together) {
                let alone = resistances(&bore, ground, state, flow).unwrap();
                prop_assert_eq!(found.film, alone.film);
                for (found, alone) in [(Some(found.local), Some(alone.local)), (found.internal, alone.internal)] {
                    let error = found.zip(alone).map(|(found, alone)| found / alone - 1.0);
                    prop_assert!(error.is_some_and(|error| error.abs() < 1e-10), "{error:?}");
                }
            }
        }

        #[test]
        fn every_accepted_bore_has_finite_resistances(
            pipes in any_pipes(),
            room in 1.0..=4.0f64,
            depth in 1.0..=2000.0f64,
            grout in 0.1..=20.0f64,
            ground in 0.1..=20.0f64,
            flow in (-6.0..=3.0f64).prop_map(|exponent| 10f64.powf(exponent)),
            viscosity in (-3.5..=0.0f64).prop_map(|exponent| 10f64.powf(exponent)),
        ) {
            let inside = Inside::Built {
                pipes,
                grout_conductivity: grout,
                grout_heat_capacity: 3.4e6,
                heat_capacity_inside: true,
            };
            let bore = Bore { depth, buried_depth: 0.0, diameter: room * pipes.overall_diameter(), inside };
            prop_assume!(bore.validate().is_ok());
            let fluid = FluidState { viscosity, ..WATER };
            let found = resistances(&bore, ground, &fluid, flow).unwrap();
            prop_assert!(found.local > 0.0 && found.local.is_finite());
            prop_assert!(found.internal.is_some_and(|internal| internal > 0.0 && internal.is_finite()));
            prop_assert!(found.effective >= found.local * (1.0 - 1e-12) && found.effective.is_finite());
        }
    }
}
