//! From a building and its weather to hourly heating and cooling loads.
//!
//! Numbers of clauses, equations and tables of ISO 13790:2008 are from memory; the values are checked through their
//! consequences in `tests/reference/test_second_sources_building.py`.

mod envelope;
mod network;
mod week;
mod year;

pub use envelope::{Mass, Opaque, Window};
pub use network::{Network, NodeGains, Temperatures};
use serde::{Deserialize, Serialize};
pub use week::Week;
pub use year::BuildingYear;

use crate::error::{Error, shown};
use crate::quantity::{Quantified, Quantity};

/// Volumetric heat capacity of air (J/(m3 K)), ISO 13790:2008, clause 9.3.
const AIR: f64 = 1200.0;
/// Area of all surfaces that face the rooms, per floor area: ISO 13790:2008, clause 7.2.2.2, also the source of the
/// next two.
const ENCLOSURE: f64 = 4.5;
/// Heat transfer between air and surfaces (W/(m2 K)).
const AIR_TO_SURFACE: f64 = 3.45;
/// Heat transfer between surfaces and mass (W/(m2 K)).
const SURFACE_TO_MASS: f64 = 9.1;
/// Share of internal gains released directly to the air: ISO 13790:2008, equation (C.1).
const CONVECTIVE: f64 = 0.5;
/// Sensible heat of one person at light work (W); common practice, no source.
const PERSON: f64 = 70.0;
/// Smallest heat loss per floor area for which the year reaches a periodic state (W/(m2 K)).
const LEAST_LOSS: f64 = 0.05;

/// Rooms kept at one temperature, treated as one zone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Building {
    /// Heated floor area (m2).
    pub floor_area: f64,
    /// Mean height of the rooms (m).
    pub height: f64,
    /// Walls, roof, floor and doors.
    pub opaque: Vec<Opaque>,
    /// Windows.
    pub windows: Vec<Window>,
    /// Thermal mass class.
    pub mass: Mass,
    /// Heat capacity per floor area (J/(m2 K)); replaces that of `mass`.
    pub heat_capacity: Option<f64>,
    /// Mechanical ventilation (1/h).
    pub ventilation: f64,
    /// Heat recovery of mechanical ventilation, as a share of the temperature difference.
    pub heat_recovery: f64,
    /// Infiltration (1/h).
    pub infiltration: f64,
    /// Number of occupants when all are present.
    pub occupants: f64,
    /// Share of the occupants who are present.
    pub occupancy: Week,
    /// Heat of lights and appliances when all are on (W).
    pub equipment: f64,
    /// Share of that heat which is on.
    pub equipment_use: Week,
    /// Air temperature below which the rooms are heated (degC); none for no heating.
    pub heating_set_point: Option<Week>,
    /// Air temperature above which the rooms are cooled (degC); none for no cooling.
    pub cooling_set_point: Option<Week>,
    /// Largest heating power (W).
    pub heating_power: Option<f64>,
    /// Largest cooling power (W).
    pub cooling_power: Option<f64>,
}

impl Quantified for Building {
    const OWNER: &'static str = "Building";
    const QUANTITIES: &'static [Quantity<Self>] = &[
        Quantity::new("floor_area", "m2", 1.0, 1e6, |b| Some(b.floor_area)),
        Quantity::new("height", "m", 1.5, 30.0, |b| Some(b.height)),
        Quantity::new("heat_capacity", "J/(m2 K)", 2e4, 2e6, |b| b.heat_capacity),
        Quantity::new("ventilation", "1/h", 0.0, 30.0, |b| Some(b.ventilation)),
        Quantity::new("heat_recovery", "", 0.0, 0.98, |b| Some(b.heat_recovery)),
        Quantity::new("infiltration", "1/h", 0.0, 30.0, |b| Some(b.infiltration)),
        Quantity::new("occupants", "", 0.0, 1e5, |b| Some(b.occupants)),
        Quantity::new("equipment", "W", 0.0, 1e8, |b| Some(b.equipment)),
        Quantity::new("heating_power", "W", 1.0, 1e9, |b| b.heating_power),
        Quantity::new("cooling_power", "W", 1.0, 1e9, |b| b.cooling_power),
    ];
}

impl Building {
    /// Checks that the building is physical and has a periodic year.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] names the field that is out of range, a heating set point above the cooling set point,
    /// or an envelope whose heat loss is zero or too large for the method.
    pub fn validate(&self) -> Result<(), Error> {
        self.check_quantities()?;
        self.opaque.iter().try_for_each(Quantified::check_quantities)?;
        self.windows.iter().try_for_each(Quantified::check_quantities)?;
        self.occupancy.validate(Self::OWNER, "occupancy", "", 0.0, 1.0)?;
        self.equipment_use.validate(Self::OWNER, "equipment_use", "", 0.0, 1.0)?;
        let set_points =
            [("heating_set_point", &self.heating_set_point), ("cooling_set_point", &self.cooling_set_point)];
        for (field, set_point) in set_points {
            if let Some(week) = set_point {
                week.validate(Self::OWNER, field, "degC", 0.0, 50.0)?;
            }
        }
        if let (Some(heating), Some(cooling)) = (&self.heating_set_point, &self.cooling_set_point)
            && let Some((above, below, hour)) = heating.first_above(cooling)
        {
            let allowed = format!("{hour}: must be at most cooling_set_point, {below} degC");
            return Err(Error::invalid(Self::OWNER, "heating_set_point", above, "degC", allowed));
        }
        self.check_losses()
    }

    fn check_losses(&self) -> Result<(), Error> {
        let least = LEAST_LOSS * self.floor_area;
        if self.loss() < least {
            let allowed = format!("must be at least {} W/K with all air changes", shown(least));
            return Err(Error::invalid(Self::OWNER, "envelope", shown(self.loss()), "W/K", allowed));
        }
        // Above it, walls would be thinner than their own surface films, and windows would leave no surface to warm.
        let mass = self.mass.area();
        let most_opaque = 0.5 * SURFACE_TO_MASS * mass * self.floor_area;
        let most_windows = SURFACE_TO_MASS * (ENCLOSURE - mass) * self.floor_area;
        for (field, loss, most) in
            [("opaque", self.opaque_loss(), most_opaque), ("windows", self.window_loss(), most_windows)]
        {
            if loss > most {
                let allowed = format!("must be at most {} W/K in all for this floor area", shown(most));
                return Err(Error::invalid(Self::OWNER, field, shown(loss), "W/K", allowed));
            }
        }
        // Above it, an hourly step would oscillate around the correct temperature.
        let network = self.network();
        let least = 0.5 * year::HOUR * network.mass_loss();
        if network.capacity < least {
            let allowed =
                format!("must be at least {} J/(m2 K) for hourly steps", shown(least / self.floor_area));
            let capacity = network.capacity / self.floor_area;
            return Err(Error::invalid(Self::OWNER, "heat_capacity", shown(capacity), "J/(m2 K)", allowed));
        }
        Ok(())
    }

    /// Heat lost per kelvin between rooms and outdoors through envelope and air (W/K).
    #[must_use]
    pub fn loss(&self) -> f64 {
        self.opaque_loss() + self.window_loss() + self.air_loss()
    }

    fn opaque_loss(&self) -> f64 {
        self.opaque.iter().map(Opaque::loss).sum()
    }

    fn window_loss(&self) -> f64 {
        self.windows.iter().map(Window::loss).sum()
    }

    /// Heat lost per kelvin with the air, after heat recovery (W/K): ISO 13790:2008, equation (21).
    fn air_loss(&self) -> f64 {
        let changes = self.ventilation * (1.0 - self.heat_recovery) + self.infiltration;
        AIR * changes * self.height * self.floor_area / year::HOUR
    }

    /// The building's five resistances and capacity: ISO 13790:2008, clause 12.2.2.
    #[must_use]
    pub fn network(&self) -> Network {
        let surface_to_mass = SURFACE_TO_MASS * self.mass.area() * self.floor_area;
        let opaque = self.opaque_loss();
        Network {
            ventilation: self.air_loss(),
            air_to_surface: AIR_TO_SURFACE * ENCLOSURE * self.floor_area,
            windows: self.window_loss(),
            surface_to_mass,
            // In series with `surface_to_mass` it is the opaque envelope, (64).
            mass_to_outdoor: opaque * surface_to_mass / (surface_to_mass - opaque),
            capacity: self.heat_capacity.unwrap_or(self.mass.heat_capacity()) * self.floor_area,
        }
    }

    /// Distribution of internal and solar gains (W) to the nodes: ISO 13790:2008, equations (C.1) to (C.3).
    #[must_use]
    pub fn gains(&self, internal: f64, solar: f64) -> NodeGains {
        let radiant = (1.0 - CONVECTIVE) * internal + solar;
        let mass = self.mass.area() / ENCLOSURE;
        let behind_windows = self.window_loss() / (SURFACE_TO_MASS * ENCLOSURE * self.floor_area);
        NodeGains {
            air: CONVECTIVE * internal,
            surface: (1.0 - mass - behind_windows) * radiant,
            mass: mass * radiant,
        }
    }

    /// Heat of people and equipment in an hour of the year (W).
    #[must_use]
    pub fn internal_gains(&self, hour: usize) -> f64 {
        PERSON * self.occupants * self.occupancy.at(hour) + self.equipment * self.equipment_use.at(hour)
    }
}
