//! The water in one hour: layers that exchange heat, mix by convection and freeze.

use super::basin::{Basin, FACES, LAYERS, SKIN};
use super::bed::{Bed, Columns, Known};
use super::sky::{Above, Stirring};
use super::surface::Exchange;
use crate::ground::Ground;
use crate::ground_side::fresh_water::{DENSEST, DENSITY, GRAVITY, HEAT_CAPACITY, LATENT_HEAT, density};

/// Heat capacity of water (J/(m3 K)).
const CAPACITY: f64 = DENSITY * HEAT_CAPACITY;
/// Diffusivity of still water (m2/s), and its conductivity (W/(m K)) (checked by
/// tests/reference/test_second_sources_pond.py).
const DIFFUSIVITY: f64 = 1.4e-7;
const CONDUCTIVITY: f64 = 0.57;
/// Of ice without air: density (kg/m3), conductivity (W/(m K)), depth at which light falls to 1/e (m); from memory,
/// checked by tests/reference/test_second_sources_pond.py.
const ICE_DENSITY: f64 = 917.0;
const ICE_CONDUCTIVITY: f64 = 2.2;
const ICE_EXTINCTION: f64 = 0.67;
/// Albedo of water and of bare ice; from memory, checked by tests/reference/test_second_sources_pond.py.
const ALBEDO: f64 = 0.07;
const ICE_ALBEDO: f64 = 0.35;

/// Fixed properties of a pond.
#[derive(Debug, Clone)]
pub struct Body {
    pub basin: Basin,
    bed: Bed,
    /// Time step (s).
    step: f64,
    /// Inflow x heat capacity (W/K), and its temperature (degC).
    inflow: f64,
    inflow_temperature: f64,
    /// Heat capacity of each layer divided by the time step (W/K).
    stored: [f64; LAYERS],
    /// The same plus its conductances to ground and outflow (W/K).
    given: [f64; LAYERS],
    /// Conductance of each interface for a diffusivity of 1 m2/s; zero below the last layer (J/(K m2)).
    faces: [f64; LAYERS],
}

/// The variable state at the end of an hour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WaterState {
    /// Temperatures of the layers from the surface down (degC).
    pub layers: [f64; LAYERS],
    /// Mass of the ice (kg). The layers keep their heat capacity below it.
    pub ice: f64,
    /// Temperature of the upper side of the ice, or of the water where there is none (degC).
    pub surface: f64,
    /// Temperatures of the ground below (degC).
    pub columns: Columns,
}

/// An hour solved except for the heat that the coils extract from the last layer.
#[derive(Debug, Clone, Copy)]
pub struct OpenHour {
    /// Temperatures of the layers at its end without that heat, before convective mixing (degC).
    pub without: [f64; LAYERS],
    /// Their fall per watt (K/W).
    pub falls: [f64; LAYERS],
    known: Known,
    cover: Cover,
}

/// Conditions between the first layer and the air in one hour.
#[derive(Debug, Clone, Copy)]
struct Cover {
    /// Heat into the first layer through its upper face; from the ice if there is any (W).
    exchange: Exchange,
    /// Heat into the ice from above (W).
    into_ice: f64,
    /// Temperature of its upper side (degC).
    ice_surface: f64,
    /// Transmitted light (W/m2).
    light: f64,
    /// Light absorbed by the first layer at its face (W).
    skin: f64,
}

/// Heat gains of water and ice in an hour, each an average over it (W).
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct WaterGains {
    /// Through the surface: sun, sky, air and vapour.
    pub from_above: f64,
    /// From the ground below.
    pub from_ground: f64,
    /// With the inflow, minus the outflow.
    pub from_inflow: f64,
}

impl Body {
    /// A pond with a time step (s); inflow x heat capacity (W/K), and its temperature (degC).
    pub fn new(basin: Basin, ground: &Ground, step: f64, [inflow, inflow_temperature]: [f64; 2]) -> Self {
        let bed = Bed::new(ground, basin.depth(), step);
        let stored = basin.volumes.map(|volume| CAPACITY / step * volume);
        let given = std::array::from_fn(|layer| {
            let out = if layer == 0 { inflow } else { 0.0 };
            stored[layer] + bed.conductance() * basin.beds[layer] + out
        });
        let top_below = |layer: usize| if layer < FACES { basin.tops[layer + 1] } else { 0.0 };
        let faces = std::array::from_fn(|layer| CAPACITY / basin.thickness * top_below(layer));
        Self { basin, bed, step, inflow, inflow_temperature, stored, given, faces }
    }

    /// The same pond with another time step (s).
    pub fn by_steps(&self, ground: &Ground, step: f64) -> Self {
        Self::new(self.basin.clone(), ground, step, [self.inflow, self.inflow_temperature])
    }

    /// Temperature at the lower end of the ground below (degC).
    pub fn deep(&self) -> f64 {
        self.bed.deep
    }

    /// Greatest depth of the water (m).
    pub fn depth(&self) -> f64 {
        self.basin.depth()
    }

    /// Mean thickness of the ice over the whole surface (m).
    #[inline(always)]
    pub fn ice_thickness(&self, ice: f64) -> f64 {
        ice / (ICE_DENSITY * self.basin.surface())
    }

    /// Heat in water and ice relative to water at 0 degC (J).
    pub fn stored(&self, water: &WaterState) -> f64 {
        let in_layers = |(temperature, volume): (&f64, &f64)| CAPACITY * volume * temperature;
        water.layers.iter().zip(&self.basin.volumes).map(in_layers).sum::<f64>() - LATENT_HEAT * water.ice
    }

    /// Begins a step, usually an hour: implicit, for all layers and the ground below together.
    #[inline(always)]
    pub fn begin(&self, water: &WaterState, above: &Above) -> OpenHour {
        let basin = &self.basin;
        let cover = if water.ice > 0.0 { self.under_ice(water, above) } else { self.open(water, above) };
        let between = self.conductances(water, above);
        let known = self.bed.known(&water.columns);
        let mut right: [f64; LAYERS] = std::array::from_fn(|layer| {
            let lit = basin.lit[layer].mul_add(cover.light, self.stored[layer] * water.layers[layer]);
            basin.beds[layer].mul_add(self.bed.given(&known, layer), lit)
        });
        right[0] += self.inflow.mul_add(self.inflow_temperature, cover.exchange.at_zero + cover.skin);
        let mut without = [0.0; LAYERS];
        let mut ratios = [0.0; LAYERS];
        let mut falls = [0.0; LAYERS];
        let (mut above, mut carried, mut eliminated) = (0.0, 0.0, 0.0_f64);
        let mut taken = cover.exchange.slope;
        for layer in 0..LAYERS {
            let below = between[layer];
            let diagonal = (-eliminated).mul_add(above, self.given[layer] + below + taken);
            let pivot = 1.0 / diagonal;
            eliminated = below * pivot;
            carried = f64::mul_add(above, carried, right[layer]) * pivot;
            (above, taken) = (below, below);
            ratios[layer] = eliminated;
            without[layer] = carried;
            falls[layer] = pivot;
        }
        for layer in (0..FACES).rev() {
            without[layer] = ratios[layer].mul_add(without[layer + 1], without[layer]);
            falls[layer] = ratios[layer] * falls[layer + 1];
        }
        OpenHour { without, falls, known, cover }
    }

    /// Ends the hour with heat extracted from the last layer (W).
    #[inline(always)]
    pub fn end(&self, water: &mut WaterState, hour: &OpenHour, heat: f64) -> WaterGains {
        let cover = &hour.cover;
        let mut layers: [f64; LAYERS] =
            std::array::from_fn(|layer| hour.falls[layer].mul_add(-heat, hour.without[layer]));
        let mut gains = WaterGains {
            from_above: cover.into_ice + cover.skin + cover.light * self.basin.surface(),
            from_ground: 0.0,
            from_inflow: self.inflow * (self.inflow_temperature - layers[0]),
        };
        for (layer, temperature) in layers.iter().enumerate() {
            let given = self.bed.conductance().mul_add(-temperature, self.bed.given(&hour.known, layer));
            gains.from_ground = self.basin.beds[layer].mul_add(given, gains.from_ground);
        }
        self.bed.advance(&mut water.columns, &hour.known, &layers);
        let through_face = cover.exchange.at(layers[0]);
        if water.ice > 0.0 {
            // Heat lost by the first layer to the ice goes into the ice.
            water.ice -= (cover.into_ice - through_face) * self.step / LATENT_HEAT;
            water.surface = cover.ice_surface;
            if water.ice < 0.0 {
                layers[0] -= water.ice * LATENT_HEAT / (CAPACITY * self.basin.volumes[0]);
                water.ice = 0.0;
            }
        } else {
            gains.from_above += through_face;
        }
        self.turn_over(&mut layers);
        if water.ice > 0.0 && layers[0] > DENSEST {
            // Between it and the ice is water of maximum density, which sinks: the surplus goes to the ice.
            let capacity = CAPACITY * self.basin.volumes[0];
            let melted = (capacity * (layers[0] - DENSEST) / LATENT_HEAT).min(water.ice);
            water.ice -= melted;
            layers[0] -= melted * LATENT_HEAT / capacity;
        }
        for (temperature, volume) in layers.iter_mut().zip(&self.basin.volumes) {
            if *temperature < 0.0 {
                water.ice -= CAPACITY * volume * *temperature / LATENT_HEAT;
                *temperature = 0.0;
            }
        }
        water.surface = if water.ice == 0.0 { layers[0] } else { water.surface.min(0.0) };
        water.layers = layers;
        gains
    }

    /// Open water.
    #[inline(always)]
    fn open(&self, water: &WaterState, above: &Above) -> Cover {
        let area = self.basin.surface();
        let taken = Exchange::around(water.layers[0], above);
        let sun = (1.0 - ALBEDO) * above.sun;
        Cover {
            exchange: Exchange { at_zero: area * taken.at_zero, slope: area * taken.slope },
            into_ice: 0.0,
            ice_surface: 0.0,
            light: (1.0 - SKIN) * sun,
            skin: area * SKIN * sun,
        }
    }

    /// Bare ice without heat capacity: its upper side as cold as conduction through it allows (Stefan), or melting.
    #[inline(always)]
    fn under_ice(&self, water: &WaterState, above: &Above) -> Cover {
        let area = self.basin.surface();
        let thickness = self.ice_thickness(water.ice);
        let sun = (1.0 - ICE_ALBEDO) * above.sun;
        let light = (1.0 - SKIN) * sun * (-thickness / ICE_EXTINCTION).exp();
        let taken = Exchange::around(water.surface.min(0.0), above);
        let at_zero = taken.at_zero + sun - light;
        let ice_surface = (at_zero * thickness / (taken.slope * thickness + ICE_CONDUCTIVITY)).min(0.0);
        let resting = 2.0 * CONDUCTIVITY / self.basin.thickness;
        Cover {
            exchange: Exchange { at_zero: 0.0, slope: area * resting },
            into_ice: area * (at_zero - taken.slope * ice_surface),
            ice_surface,
            light,
            skin: 0.0,
        }
    }

    /// Conductance between each layer and the next, 0 below the last (W/K).
    ///
    /// Wind mixing against stratification: Henderson-Sellers (1985), as in [`Stirring`](super::sky::Stirring). Water
    /// under ice is still.
    #[inline(always)]
    fn conductances(&self, water: &WaterState, above: &Above) -> [f64; LAYERS] {
        if water.ice > 0.0 {
            return self.faces.map(|face| DIFFUSIVITY * face);
        }
        let mut between = [0.0; LAYERS];
        let densities = water.layers.map(density);
        let per_heavier = GRAVITY / DENSITY / self.basin.thickness;
        let Stirring { eddies, turnover } = &above.stirring;
        for face in 0..FACES {
            let heavier = (densities[face + 1] - densities[face]).max(0.0);
            let stratified = per_heavier * heavier;
            let richardson = (turnover[face].mul_add(stratified, 1.0).sqrt() - 1.0) * 0.05;
            let calmed = eddies[face] / (37.0 * richardson).mul_add(richardson, 1.0);
            between[face] = (DIFFUSIVITY + calmed) * self.faces[face];
        }
        between
    }

    /// Mixes layers that are heavier than those below, or would become heavier by mixing with them, until none are
    /// left.
    #[inline(always)]
    fn turn_over(&self, layers: &mut [f64; LAYERS]) {
        let is_still = |layer: usize| {
            let (upper, lower) = (layers[layer], layers[layer + 1]);
            is_lighter(upper, lower) && !is_around_densest(upper, lower)
        };
        if !(0..FACES).all(is_still) {
            sink(layers, &self.basin.volumes);
            mix(layers, &self.basin.volumes);
        }
    }
}

/// Whether water of one temperature can lie on water of another (degC): the farther from 4 degC, the lighter.
#[inline(always)]
fn is_lighter(upper: f64, lower: f64) -> bool {
    (upper - DENSEST).abs() >= (lower - DENSEST).abs()
}

/// Whether water of maximum density lies between two temperatures (degC), so that a mixture of them sinks.
#[inline(always)]
fn is_around_densest(one: f64, other: f64) -> bool {
    (one - DENSEST) * (other - DENSEST) < 0.0
}

/// If mixing produces water of maximum density, it fills the lower layer as far as the heat of both allows.
#[inline(always)]
fn sink(layers: &mut [f64; LAYERS], volumes: &[f64; LAYERS]) {
    for upper in (0..FACES).rev() {
        let lower = upper + 1;
        if is_around_densest(layers[upper], layers[lower]) {
            let above = layers[upper] - DENSEST;
            let surplus = above * volumes[upper] + (layers[lower] - DENSEST) * volumes[lower];
            if surplus * above >= 0.0 {
                layers[upper] = DENSEST + surplus / volumes[upper];
                layers[lower] = DENSEST;
            } else {
                let both = DENSEST + surplus / (volumes[upper] + volumes[lower]);
                (layers[upper], layers[lower]) = (both, both);
            }
        }
    }
}

/// Pools neighbouring layers from the surface down: each added layer may destabilize those above it.
#[inline(always)]
fn mix(layers: &mut [f64; LAYERS], volumes: &[f64; LAYERS]) {
    let mut pools = [(0.0, 0.0, 0_usize); LAYERS];
    let mut count = 0;
    for layer in 0..LAYERS {
        let (mut temperature, mut volume, mut first) = (layers[layer], volumes[layer], layer);
        while count > 0 && !is_lighter(pools[count - 1].0, temperature) {
            count -= 1;
            let (upper, upper_volume, upper_first) = pools[count];
            temperature = (upper * upper_volume + temperature * volume) / (upper_volume + volume);
            volume += upper_volume;
            first = upper_first;
        }
        pools[count] = (temperature, volume, first);
        count += 1;
    }
    let mut end = LAYERS;
    for &(temperature, _, first) in pools[..count].iter().rev() {
        layers[first..end].fill(temperature);
        end = first;
    }
}
