//! Five resistances and one capacity: a room and its surroundings, hour by hour.
//!
//! The simple hourly method of ISO 13790:2008, annex C, which steps the mass by the scheme of Crank and Nicolson
//! (1947). ISO 52016-1:2017, which replaced it, keeps the names of the nodes: internal air, internal surface, mass.
//! Equation numbers are from memory.
//!
//! ```text
//! outdoor --- ventilation --- air --- air_to_surface --- surface --- surface_to_mass --- mass --- mass_to_outdoor --- outdoor
//!                                                          |                              |
//! outdoor ------------------ windows ----------------------+                           capacity
//! ```

/// Conductances of the network (W/K) and its capacity (J/K).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Network {
    /// Ventilation and infiltration, H_ve.
    pub ventilation: f64,
    /// Air to the surfaces that enclose it, H_tr,is.
    pub air_to_surface: f64,
    /// Windows, which have no mass, H_tr,w.
    pub windows: f64,
    /// Surface to mass, H_tr,ms.
    pub surface_to_mass: f64,
    /// Mass through the opaque envelope to outdoors, H_tr,em.
    pub mass_to_outdoor: f64,
    /// Heat capacity of the mass, C_m.
    pub capacity: f64,
}

/// Heat that enters the nodes (W).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NodeGains {
    /// Into the air.
    pub air: f64,
    /// Into the surfaces.
    pub surface: f64,
    /// Into the mass.
    pub mass: f64,
}

/// Node temperatures after a step (degC).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Temperatures {
    /// Mean temperature of the air over the step.
    pub air: f64,
    /// Mean temperature of the surfaces over the step.
    pub surface: f64,
    /// Temperature of the mass at the end of the step.
    pub mass: f64,
}

impl Temperatures {
    /// Operative temperature (degC), equation (C.12).
    #[must_use]
    pub fn operative(&self) -> f64 {
        0.3 * self.air + 0.7 * self.surface
    }
}

impl Network {
    /// One step of `step` seconds that starts with the mass at `mass` (degC); outdoor temperature and gains are
    /// constant within it.
    ///
    /// Equations (C.4) to (C.11). Heat gains of the air reach the surface reduced by the share lost to ventilation.
    #[must_use]
    pub fn step(&self, step: f64, mass: f64, outdoor: f64, gains: &NodeGains) -> Temperatures {
        let air_loss = self.ventilation + self.air_to_surface;
        let through_air = self.ventilation * self.air_to_surface / air_loss;
        let surface_loss = through_air + self.windows;
        let into_surface =
            gains.surface + surface_loss * outdoor + gains.air * self.air_to_surface / air_loss;
        let seen_by_mass = self.surface_to_mass / (surface_loss + self.surface_to_mass);
        let into_mass = gains.mass + self.mass_to_outdoor * outdoor + seen_by_mass * into_surface;

        let stored = self.capacity / step;
        let half_loss = 0.5 * self.mass_loss();
        let mass_end = (mass * (stored - half_loss) + into_mass) / (stored + half_loss);
        let mass_mean = 0.5 * (mass + mass_end);

        let surface =
            (self.surface_to_mass * mass_mean + into_surface) / (self.surface_to_mass + surface_loss);
        let air = (self.air_to_surface * surface + self.ventilation * outdoor + gains.air) / air_loss;
        Temperatures { air, surface, mass: mass_end }
    }

    /// Rise of the air temperature in a step per watt supplied to the air during it (K/W).
    #[must_use]
    pub fn air_per_watt(&self, step: f64) -> f64 {
        self.step(step, 0.0, 0.0, &NodeGains { air: 1.0, surface: 0.0, mass: 0.0 }).air
    }

    /// Total conductance from the mass to outdoors, H_tr,3 + H_tr,em (W/K).
    #[must_use]
    pub fn mass_loss(&self) -> f64 {
        let through_air = self.ventilation * self.air_to_surface / (self.ventilation + self.air_to_surface);
        let surface_loss = through_air + self.windows;
        surface_loss * self.surface_to_mass / (surface_loss + self.surface_to_mass) + self.mass_to_outdoor
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const HOUSE: Network = Network {
        ventilation: 60.0,
        air_to_surface: 2300.0,
        windows: 45.0,
        surface_to_mass: 3400.0,
        mass_to_outdoor: 110.0,
        capacity: 2.5e7,
    };
    const GAINS: NodeGains = NodeGains { air: 300.0, surface: 450.0, mass: 700.0 };

    /// Exact temperature of the mass after `time` (s) in constant surroundings.
    fn exact(network: &Network, time: f64, mass: f64, outdoor: f64, gains: &NodeGains) -> f64 {
        // Final temperature of the mass: the steady state, which a step of infinite length reflects twice over.
        let steady = {
            let far = network.step(1e15, mass, outdoor, gains).mass;
            0.5 * (far + mass)
        };
        steady + (mass - steady) * (-time * network.mass_loss() / network.capacity).exp()
    }

    #[test]
    fn heat_is_conserved() {
        let mut mass = 12.0;
        for outdoor in [-9.0, 3.0, 25.0] {
            let before = mass;
            let after = HOUSE.step(3600.0, mass, outdoor, &GAINS);
            let mean = 0.5 * (before + after.mass);
            let lost = HOUSE.ventilation * (after.air - outdoor)
                + HOUSE.windows * (after.surface - outdoor)
                + HOUSE.mass_to_outdoor * (mean - outdoor);
            let stored = HOUSE.capacity * (after.mass - before) / 3600.0;
            let gained = GAINS.air + GAINS.surface + GAINS.mass;
            assert!((gained - lost - stored).abs() < 1e-9 * gained, "{gained} {lost} {stored}");
            mass = after.mass;
        }
    }

    #[test]
    fn halving_the_step_quarters_the_error() {
        let error = |steps: u32| {
            let length = 48.0 * 3600.0 / f64::from(steps);
            let found = (0..steps).fold(18.0, |mass, _| HOUSE.step(length, mass, -12.0, &GAINS).mass);
            found - exact(&HOUSE, 48.0 * 3600.0, 18.0, -12.0, &GAINS)
        };
        for steps in [48, 96, 192] {
            let ratio = error(steps) / error(2 * steps);
            assert!((ratio - 4.0).abs() < 0.01, "{ratio}");
        }
        assert!(error(48).abs() < 1e-3 && error(48).abs() > 1e-6, "{}", error(48));
    }

    #[test]
    fn air_temperature_is_linear_in_the_heat() {
        let more = NodeGains { air: GAINS.air + 2500.0, ..GAINS };
        let [plain, heated] = [GAINS, more].map(|gains| HOUSE.step(3600.0, 17.0, -3.0, &gains).air);
        assert!((heated - plain - 2500.0 * HOUSE.air_per_watt(3600.0)).abs() < 1e-10);
    }

    #[test]
    fn a_room_without_air_change_or_windows_is_finite() {
        let tight = Network { ventilation: 0.0, windows: 0.0, ..HOUSE };
        let after = tight.step(1e15, 20.0, 5.0, &GAINS);
        let mean = 0.5 * (20.0 + after.mass);
        let gained = GAINS.air + GAINS.surface + GAINS.mass;
        assert!((mean - 5.0 - gained / tight.mass_to_outdoor).abs() < 1e-9);
    }
}
