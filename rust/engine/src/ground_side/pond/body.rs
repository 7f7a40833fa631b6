//! The water through an hour: layers that exchange heat, turn over and freeze.

use super::basin::{Basin, FACES, LAYERS, SKIN};
use super::bed::{Bed, Columns, Known};
use super::sky::{Above, Stirring};
use super::surface::Exchange;
use crate::ground_side::fresh_water::{DENSEST, DENSITY, GRAVITY, HEAT_CAPACITY, LATENT_HEAT, density};

/// Heat capacity of water [J/(m3 K)].
const CAPACITY: f64 = DENSITY * HEAT_CAPACITY;
/// Diffusivity of water at rest [m2/s], and its conductivity [W/(m K)].
const DIFFUSIVITY: f64 = 1.4e-7;
const CONDUCTIVITY: f64 = 0.57;
/// Of ice without air: density [kg/m3], conductivity [W/(m K)], depth in which light falls to 1/e [m] (from memory).
const ICE_DENSITY: f64 = 917.0;
const ICE_CONDUCTIVITY: f64 = 2.2;
const ICE_EXTINCTION: f64 = 0.67;
/// Light that is thrown back by water and by bare ice (from memory).
const ALBEDO: f64 = 0.07;
const ICE_ALBEDO: f64 = 0.35;

/// What is fixed about a pond.
#[derive(Debug, Clone)]
pub struct Body {
    pub basin: Basin,
    pub bed: Bed,
    /// Step in time [s].
    pub step: f64,
    /// Inflow x heat capacity [W/K], and its temperature [degC].
    pub inflow: f64,
    pub inflow_temperature: f64,
}

/// What changes: the state at the end of an hour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Water {
    /// Temperatures of the layers from the surface down [degC].
    pub layers: [f64; LAYERS],
    /// Mass of the ice [kg]. The layers keep their heat capacity below it.
    pub ice: f64,
    /// Temperature of the upper side of the ice, or of the water where there is none [degC].
    pub surface: f64,
    /// Temperatures of the ground below [degC].
    pub columns: Columns,
}

/// An hour that lacks nothing but the heat that the coils draw from the last layer.
#[derive(Debug, Clone, Copy)]
pub struct Hour {
    /// Temperatures of the layers at its end without that heat, before they turn over [degC].
    pub without: [f64; LAYERS],
    /// Their fall with each watt [K/W].
    pub falls: [f64; LAYERS],
    known: Known,
    cover: Cover,
}

/// What lies between the first layer and the air in one hour.
#[derive(Debug, Clone, Copy)]
struct Cover {
    /// Heat that the first layer takes through its upper face; where ice lies on it, from the ice [W].
    exchange: Exchange,
    /// Heat that the ice takes from above [W].
    into_ice: f64,
    /// Temperature of its upper side [degC].
    ice_surface: f64,
    /// Light that passes [W/m2].
    light: f64,
    /// Light that the first layer takes at its face [W].
    skin: f64,
}

/// What came into water and ice in an hour, each a mean over it [W].
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Gains {
    /// Through the surface: sun, sky, air and vapour.
    pub from_above: f64,
    /// From the ground below.
    pub from_ground: f64,
    /// With what flows in, less what flows out.
    pub from_inflow: f64,
}

impl Body {
    /// Thickness of ice spread over the whole surface [m].
    #[inline(always)]
    pub fn ice_thickness(&self, ice: f64) -> f64 {
        ice / (ICE_DENSITY * self.basin.surface())
    }

    /// Heat in water and ice, over that of water at 0 degC [J].
    pub fn stored(&self, water: &Water) -> f64 {
        let in_layers = |(temperature, volume): (&f64, &f64)| CAPACITY * volume * temperature;
        water.layers.iter().zip(&self.basin.volumes).map(in_layers).sum::<f64>() - LATENT_HEAT * water.ice
    }

    /// Begins a step, an hour but where its cost is looked for: implicit, of all layers and the ground below at once.
    #[inline(always)]
    pub fn begin(&self, water: &Water, above: &Above) -> Hour {
        let basin = &self.basin;
        let cover = if water.ice > 0.0 { self.under_ice(water, above) } else { self.open(water, above) };
        let between = self.conductances(water, above);
        let known = self.bed.known(&water.columns);
        let to_bed = self.bed.conductance();
        let mut without = [0.0; LAYERS];
        let mut ratios = [0.0; LAYERS];
        let mut falls = [0.0; LAYERS];
        let mut carried = 0.0;
        let mut eliminated = 0.0;
        for layer in 0..LAYERS {
            let below = between[layer];
            let stored = CAPACITY / self.step * basin.volumes[layer];
            let mut diagonal = stored + below + to_bed * basin.beds[layer];
            let mut right = stored * water.layers[layer]
                + basin.lit[layer] * cover.light
                + basin.beds[layer] * self.bed.given(&known, layer);
            if layer == 0 {
                diagonal += cover.exchange.slope + self.inflow;
                right += cover.exchange.at_zero + cover.skin + self.inflow * self.inflow_temperature;
            } else {
                diagonal += between[layer - 1] - between[layer - 1] * eliminated;
                right += between[layer - 1] * carried;
            }
            let pivot = 1.0 / diagonal;
            eliminated = below * pivot;
            carried = right * pivot;
            ratios[layer] = eliminated;
            without[layer] = carried;
            falls[layer] = pivot;
        }
        for layer in (0..FACES).rev() {
            without[layer] += ratios[layer] * without[layer + 1];
            falls[layer] = ratios[layer] * falls[layer + 1];
        }
        Hour { without, falls, known, cover }
    }

    /// Ends the hour with a heat drawn from the last layer [W].
    #[inline(always)]
    pub fn end(&self, water: &mut Water, hour: &Hour, heat: f64) -> Gains {
        let cover = &hour.cover;
        let mut layers: [f64; LAYERS] =
            std::array::from_fn(|layer| hour.without[layer] - hour.falls[layer] * heat);
        let mut gains = Gains {
            from_above: cover.into_ice + cover.skin + cover.light * self.basin.surface(),
            from_ground: 0.0,
            from_inflow: self.inflow * (self.inflow_temperature - layers[0]),
        };
        for (layer, temperature) in layers.iter().enumerate() {
            let taken = self.bed.conductance() * temperature - self.bed.given(&hour.known, layer);
            gains.from_ground -= self.basin.beds[layer] * taken;
        }
        self.bed.advance(&mut water.columns, &hour.known, &layers);
        let through_face = cover.exchange.at(layers[0]);
        if water.ice > 0.0 {
            // What the first layer loses to the ice, the ice takes.
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
            // Between it and the ice is water of greatest density, which sinks: the surplus goes to the ice.
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
    fn open(&self, water: &Water, above: &Above) -> Cover {
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

    /// Bare ice without heat of its own: its upper side as cold as conduction through it allows (Stefan), or melting.
    #[inline(always)]
    fn under_ice(&self, water: &Water, above: &Above) -> Cover {
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

    /// Conductance between each layer and the next, 0 below the last [W/K].
    ///
    /// Stirring by wind against stratification: Henderson-Sellers (1985), as in [`Stirring`](super::sky::Stirring). Water under
    /// ice is at rest.
    #[inline(always)]
    fn conductances(&self, water: &Water, above: &Above) -> [f64; LAYERS] {
        let basin = &self.basin;
        let mut between = [0.0; LAYERS];
        let densities = water.layers.map(density);
        let open = if water.ice > 0.0 { 0.0 } else { 1.0 };
        let per_thickness = 1.0 / basin.thickness;
        let Stirring { eddies, turnover } = &above.stirring;
        for face in 0..FACES {
            let heavier = (densities[face + 1] - densities[face]).max(0.0);
            let stratified = GRAVITY / DENSITY * per_thickness * heavier;
            let richardson = ((1.0 + turnover[face] * stratified).sqrt() - 1.0) * 0.05;
            let diffusivity = DIFFUSIVITY + open * eddies[face] / (1.0 + 37.0 * richardson * richardson);
            between[face] = CAPACITY * per_thickness * diffusivity * basin.tops[face + 1];
        }
        between
    }

    /// Lets layers sink that lie on lighter ones, or on such that would become heavier by mixing, until none does.
    #[inline(always)]
    fn turn_over(&self, layers: &mut [f64; LAYERS]) {
        let is_at_rest = |layer: usize| {
            let (upper, lower) = (layers[layer], layers[layer + 1]);
            is_lighter(upper, lower) && !is_around_densest(upper, lower)
        };
        if !(0..FACES).all(is_at_rest) {
            sink(layers, &self.basin.volumes);
            mix(layers, &self.basin.volumes);
        }
    }
}

/// Whether water of a temperature can lie on water of another [degC]: the farther from 4 degC, the lighter.
#[inline(always)]
fn is_lighter(upper: f64, lower: f64) -> bool {
    (upper - DENSEST).abs() >= (lower - DENSEST).abs()
}

/// Whether water of greatest density lies between two temperatures [degC], so that what mixes of them sinks.
#[inline(always)]
fn is_around_densest(one: f64, other: f64) -> bool {
    (one - DENSEST) * (other - DENSEST) < 0.0
}

/// Where mixing makes water of greatest density it fills the lower layer, as far as the heat of both allows.
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

/// Pools neighbours from the surface down: each layer that joins may upset what lies above it.
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
