//! Heat capacity of fluid, pipes and grout, which affects the first hours after a step.
//!
//! The inside of the bore is a chain from the fluid to the wall, after the equivalent radial geometry of Xu &
//! Spitler (2006), solved exactly in the Laplace domain (cf. Javed & Claesson 2011):
//!
//! ```text
//! heat -+- film -[ pipe wall ]- exchange -[ grout ]-+- ground
//!       fluid                                       wall
//! ```
//!
//! The fluid has one temperature. The pipe walls are the legs' own cylinders in parallel. The grout is a cylinder from
//! r_eq = sqrt(number of legs) x outer radius of a leg, which preserves its volume, to the bore's wall; its
//! conductivity is chosen so that film, pipe and grout add up to the local resistance. The difference between effective
//! and local resistance (`exchange`) results from the fluid's temperature change along the bore and not from the grout:
//! it is a separate resistance, so that all add up to the effective resistance.
//!
//! A coaxial bore is itself such a chain: its grout has its own geometry and conductivity, and its inner pipe, wet on
//! both sides, is part of the fluid. If its outer pipe fills the hole, there is no grout, and the chain ends with the
//! pipe. Legs side by side can't come this close to the wall: four of them have r_eq <= 0.83 r_b. Nor can the
//! resistance of their grout be zero: with identical legs, the dissipation in the grout and the unevenness of the wall
//! are both positive, so the local resistance exceeds that of films and pipes.

use std::f64::consts::TAU;

use complex_bessel::{BesselResult, Scaling, besseli_seq, besselk_seq};
use faer::c64;

use super::construction::{Bore, Coaxial, DoubleUTube, Inside, Pipes, UTube};
use super::resistance::Resistances;
use crate::fluid::FluidState;
use crate::ground::{Ground, LineSource, wall_share};

/// Volumetric heat capacity of pipe walls (J/(m3 K)): polyethylene, about 950 kg/m3 x 2100 J/(kg K); common practice,
/// no source, checked by tests/reference/test_second_sources_bore.py. A steel wall, although thin, has 3.6e6.
const PIPE_HEAT_CAPACITY: f64 = 2.0e6;

/// The inside of a bore as a chain of resistances and heat capacities between fluid and ground.
#[derive(Debug, Clone, PartialEq)]
pub struct HeatCapacityInside {
    /// Heat capacity per metre of bore of the fluid and what is immersed in it (J/(m K)).
    fluid: f64,
    /// Film of all legs (m K/W).
    film: f64,
    pipe_wall: Shell,
    /// Effective minus local resistance (m K/W).
    exchange: f64,
    grout: Option<Shell>,
    /// Thermal conductivity of the ground (W/(m K)) and its diffusivity (m2/s).
    conductivity: f64,
    diffusivity: f64,
    radius: f64,
    /// Weight of the wall's response, compared with that of a line, in the field's response.
    wall_share: f64,
}

impl HeatCapacityInside {
    /// The chain of a bore at one state of its fluid; `None` if the bore stores no heat inside.
    #[must_use]
    pub fn new(bore: &Bore, ground: &Ground, fluid: &FluidState, resistances: &Resistances) -> Option<Self> {
        let Inside::Built { pipes, grout_heat_capacity, heat_capacity_inside: true, .. } = bore.inside else {
            return None;
        };
        let per_volume = fluid.density * fluid.heat_capacity;
        let (pipe, legs, fluid) = match pipes {
            Pipes::UTube(UTube { pipe, .. }) => (pipe, 2.0, 2.0 * pipe.flow_section() * per_volume),
            Pipes::DoubleUTube(DoubleUTube { pipe, .. }) => {
                (pipe, 4.0, 4.0 * pipe.flow_section() * per_volume)
            }
            Pipes::Coaxial(Coaxial { inner, outer }) => {
                let immersed = inner.wall_section();
                let fluid = (outer.flow_section() - immersed) * per_volume + immersed * PIPE_HEAT_CAPACITY;
                (outer, 1.0, fluid)
            }
        };
        let radius = bore.radius();
        let film = resistances.film?.resistance(pipe.inner_diameter()) / legs;
        let pipe_wall = Shell {
            inside: pipe.inner_diameter() / 2.0,
            outside: pipe.outer_diameter / 2.0,
            conductivity: legs * pipe.conductivity,
            heat_capacity: legs * PIPE_HEAT_CAPACITY,
        };
        let grout = Shell::between(
            legs.sqrt() * pipe.outer_diameter / 2.0,
            radius,
            resistances.local - film - pipe_wall.resistance(),
            grout_heat_capacity,
        );
        let exchange = resistances.effective
            - film
            - pipe_wall.resistance()
            - grout.as_ref().map_or(0.0, Shell::resistance);
        Some(Self {
            fluid,
            film,
            pipe_wall,
            exchange,
            grout,
            conductivity: ground.conductivity,
            diffusivity: ground.diffusivity(),
            radius,
            wall_share: wall_share(&LineSource {
                depth: bore.depth,
                buried_depth: bore.buried_depth,
                radius,
            }),
        })
    }

    /// p x Laplace{g} of the fluid and of the bore's wall at p (1/s): 2 pi k x temperature drop per W/m extracted from
    /// the fluid.
    ///
    /// `ground_response` is p x Laplace{g} of the bore's wall in the field's response.
    #[must_use]
    pub fn fluid_and_wall(&self, p: f64, ground_response: f64) -> [f64; 2] {
        let two_pi_k = TAU * self.conductivity;
        let ground = self.around_wall(p, ground_response) / two_pi_k;
        let (grout, through_grout) = match &self.grout {
            Some(shell) => shell.seen_from_inside(p, ground),
            None => (ground, 1.0),
        };
        let exchange = self.exchange + grout;
        let (pipe_wall, through_pipe_wall) = self.pipe_wall.seen_from_inside(p, exchange);
        let film = self.film + pipe_wall;
        let fluid = two_pi_k / (p * self.fluid + 1.0 / film);
        [fluid, fluid * (pipe_wall / film) * through_pipe_wall * (grout / exchange) * through_grout]
    }

    /// Share of the heat extracted from the fluid that passes the bore's wall, in terms of p x Laplace{step response}.
    ///
    /// `ground_response` is that of [`fluid_and_wall`](Self::fluid_and_wall).
    #[must_use]
    pub fn heat_through_wall(&self, p: f64, ground_response: f64) -> f64 {
        let [_, wall] = self.fluid_and_wall(p, ground_response);
        wall / self.around_wall(p, ground_response)
    }

    /// p x Laplace{g} of the wall with nothing inside it.
    ///
    /// The response of a wall is that of rings on its wall, I0(x) K0(x) where a line has K0(x): both have ground
    /// inside.
    fn around_wall(&self, p: f64, ground_response: f64) -> f64 {
        let x = self.radius * (p / self.diffusivity).sqrt();
        let ([k0, _], [i0, _]) = (k(x), i(x));
        let ring_for_line = k0 * (i0 - (-x).exp());
        ground_response - self.wall_share * ring_for_line + self.cylinder_for_line(p, self.radius)
    }

    /// Additional response outside a cylinder compared with a line source on its axis, at a distance (m) from the axis
    /// of at least the radius, in terms of p x Laplace{g}.
    ///
    /// K0(y) / (x K1(x)) - K0(y), x = r_b sqrt(p / alpha), y = r sqrt(p / alpha): heat enters at the wall, because the
    /// ground that the line source assumes inside the bore does not exist (Carslaw & Jaeger 1959, section 13.5).
    #[must_use]
    pub fn cylinder_for_line(&self, p: f64, distance: f64) -> f64 {
        let root = (p / self.diffusivity).sqrt();
        let (x, y) = (self.radius * root, distance * root);
        let ([_, k1], [k0, _]) = (k(x), k(y));
        k0 * (x - y).exp() / (x * k1) - k0 * (-y).exp()
    }
}

/// A hollow cylinder.
#[derive(Debug, Clone, PartialEq)]
struct Shell {
    /// Inner radius (m).
    inside: f64,
    /// Outer radius (m).
    outside: f64,
    /// Thermal conductivity (W/(m K)).
    conductivity: f64,
    /// Heat capacity per volume (J/(m3 K)).
    heat_capacity: f64,
}

impl Shell {
    /// The shell with a steady `resistance` (m K/W); `None` if the radii are equal.
    fn between(inside: f64, outside: f64, resistance: f64, heat_capacity: f64) -> Option<Self> {
        let conductivity = (outside / inside).ln() / (TAU * resistance);
        let there = outside - inside > LEAST_SHELL * outside && resistance > 0.0;
        there.then_some(Self { inside, outside, conductivity, heat_capacity })
    }

    /// Steady resistance (m K/W).
    fn resistance(&self) -> f64 {
        (self.outside / self.inside).ln() / (TAU * self.conductivity)
    }

    /// Impedance (m K/W) at the inside, and the outside temperature as a share of the inside temperature, at p (1/s).
    ///
    /// `load` is the impedance connected at the outside. The chain matrix is that of Carslaw & Jaeger (1959, section
    /// 13.9) with the exponentials of I and K factored out.
    fn seen_from_inside(&self, p: f64, load: f64) -> (f64, f64) {
        let root = (p * self.heat_capacity / self.conductivity).sqrt();
        let (a, b) = (root * self.inside, root * self.outside);
        let decay = (a - b).exp();
        let back = decay * decay;
        let two_pi_k = TAU * self.conductivity;
        let ([i0_a, i1_a], [k0_a, k1_a]) = (i(a), k(a));
        let ([i0_b, i1_b], [k0_b, k1_b]) = (i(b), k(b));
        let temperature =
            b * (i1_b * k0_a + k1_b * i0_a * back) * load + (i0_b * k0_a - k0_b * i0_a * back) / two_pi_k;
        let heat = two_pi_k * a * b * (i1_b * k1_a - k1_b * i1_a * back) * load
            + a * (i0_b * k1_a + k0_b * i1_a * back);
        (temperature / heat, load * decay / temperature)
    }
}

/// Thickness, as a share of the outer radius, below which a shell is only rounding error and is ignored.
const LEAST_SHELL: f64 = 1e-6;

/// Modified Bessel functions exp(-x) I(x) of orders 0 and 1, x > 0.
fn i(x: f64) -> [f64; 2] {
    both_orders(besseli_seq(0.0, c64::new(x, 0.0), 2, Scaling::Exponential))
}

/// Modified Bessel functions exp(x) K(x) of orders 0 and 1, x > 0.
fn k(x: f64) -> [f64; 2] {
    both_orders(besselk_seq(0.0, c64::new(x, 0.0), 2, Scaling::Exponential))
}

fn both_orders<E>(values: Result<BesselResult<f64>, E>) -> [f64; 2] {
    values.map_or([f64::NAN; 2], |result| [result.values[0].re, result.values[1].re])
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::super::{Pipe, resistances};
    use super::*;

    const PIPE: Pipe =
        Pipe { outer_diameter: 0.032, wall_thickness: 0.0029, conductivity: 0.4, roughness: 1.5e-6 };
    const WATER: FluidState =
        FluidState { density: 999.7, heat_capacity: 4195.0, conductivity: 0.579, viscosity: 1.306e-3 };
    const GROUND: Ground = Ground {
        conductivity: 2.1,
        volumetric_heat_capacity: 2.3e6,
        temperature: 10.5,
        gradient: 0.0,
        darcy_flux: 0.0,
        flow_direction: 0.0,
        warming: None,
    };

    fn bore(diameter: f64, pipes: Pipes) -> Bore {
        let inside = Inside::Built {
            pipes,
            grout_conductivity: 1.5,
            grout_heat_capacity: 3.4e6,
            heat_capacity_inside: true,
        };
        Bore { depth: 100.0, buried_depth: 2.0, diameter, inside }
    }

    fn constructions() -> Vec<Bore> {
        let inner = Pipe { outer_diameter: 0.063, wall_thickness: 0.0058, ..PIPE };
        let outer = Pipe { outer_diameter: 0.11, wall_thickness: 0.0063, ..PIPE };
        vec![
            bore(0.15, Pipes::UTube(UTube { pipe: PIPE, shank_spacing: 0.07 })),
            bore(0.15, Pipes::DoubleUTube(DoubleUTube { pipe: PIPE, shank_spacing: 0.08 })),
            bore(0.15, Pipes::Coaxial(Coaxial { inner, outer })),
            bore(0.1101, Pipes::Coaxial(Coaxial { inner, outer })),
            bore(0.11, Pipes::Coaxial(Coaxial { inner, outer })),
        ]
    }

    fn line_source(radius: f64, p: f64) -> f64 {
        let x = radius * (p / GROUND.diffusivity()).sqrt();
        k(x)[0] * (-x).exp()
    }

    #[test]
    fn bessel_functions_equal_those_of_scipy() {
        // scipy.special.ive and kve, orders 0 and 1, scipy 1.17.
        let published = [
            (1e-6, [0.99999900000075, 4.999_995_000_003_13e-7, 1.3931456005075e1, 1.0000009999932843e6]),
            (0.3, [0.757580625182547, 0.112377560639838, 1.852627300772014, 4.12515776224447]),
            (2.5, [0.270046441612202, 0.206584649531266, 0.759548690328099, 0.900174423907878]),
            (40.0, [0.0632782798752353, 0.062482229074442, 0.197555584957298, 0.200009967254433]),
            (900.0, [0.013299924124068, 0.013292533222590, 0.041771339152548, 0.041794539013033]),
        ];
        for (x, values) in published {
            for (found, value) in i(x).into_iter().chain(k(x)).zip(values) {
                assert!((found / value - 1.0).abs() < 1e-12, "{x}: {found} {value}");
            }
        }
    }

    #[test]
    fn late_response_is_that_of_ground_plus_effective_resistance() {
        for bore in constructions() {
            let resistances = resistances(&bore, GROUND.conductivity, &WATER, 0.3).unwrap();
            let inside = HeatCapacityInside::new(&bore, &GROUND, &WATER, &resistances).unwrap();
            let p = 1e-12;
            let ground = line_source(bore.radius(), p);
            let [fluid, wall] = inside.fluid_and_wall(p, ground);
            let steady = TAU * GROUND.conductivity * resistances.effective;
            let through_bore = fluid - ground;
            assert!((through_bore / steady - 1.0).abs() < 1e-5, "{bore:?} {through_bore} {steady}");
            assert!((wall / ground - 1.0).abs() < 1e-6);
        }
    }

    #[test]
    fn early_response_is_that_of_the_fluid_alone() {
        for bore in constructions() {
            let resistances = resistances(&bore, GROUND.conductivity, &WATER, 0.3).unwrap();
            let inside = HeatCapacityInside::new(&bore, &GROUND, &WATER, &resistances).unwrap();
            let p = 1e3;
            let alone = TAU * GROUND.conductivity / (p * inside.fluid);
            let [fluid, _] = inside.fluid_and_wall(p, line_source(bore.radius(), p));
            assert!((fluid / alone - 1.0).abs() < 1e-3);
        }
    }

    /// Analytic: around a cylinder that extracts 1 W/m, 2 pi k x drop falls by 1 per e-fold of the distance at the
    /// wall.
    #[test]
    fn cylinder_extracts_its_heat_at_the_wall() {
        let bore = constructions()[0];
        let resistances = resistances(&bore, GROUND.conductivity, &WATER, 0.3).unwrap();
        let inside = HeatCapacityInside::new(&bore, &GROUND, &WATER, &resistances).unwrap();
        for p in [1e-8, 1e-5, 1e-3] {
            let drop = |distance: f64| inside.cylinder_for_line(p, distance) + line_source(distance, p);
            let (least, step) = (bore.radius(), 1e-4_f64);
            let fall = (drop(least) - drop(least * step.exp())) / step;
            assert!((fall - 1.0).abs() < 1e-3, "{p}: {fall}");
        }
    }

    #[test]
    fn bores_that_store_no_heat_have_no_chain() {
        let measured = Bore { inside: Inside::Measured { resistance: 0.1 }, ..constructions()[0] };
        let found = resistances(&measured, 2.1, &WATER, 0.3).unwrap();
        assert_eq!(HeatCapacityInside::new(&measured, &GROUND, &WATER, &found), None);
    }

    proptest! {
        #[test]
        fn responses_are_finite_and_fall_with_p(
            which in 0..5usize,
            exponent in -11.0..2.0f64,
            flow in 0.01..3.0f64,
        ) {
            let bore = constructions()[which];
            let resistances = resistances(&bore, GROUND.conductivity, &WATER, flow).unwrap();
            let inside = HeatCapacityInside::new(&bore, &GROUND, &WATER, &resistances).unwrap();
            let at = |p: f64| inside.fluid_and_wall(p, line_source(bore.radius(), p));
            let p = 10f64.powf(exponent);
            let ([fluid, wall], [later_fluid, later_wall]) = (at(p), at(p / 2.0));
            prop_assert!(wall > 0.0 && wall < fluid && fluid.is_finite());
            prop_assert!(later_fluid > fluid && later_wall > wall);
        }
    }
}
