//! State of a pond while its run steps, and its results by hour.

use std::iter::Copied;
use std::slice::Iter;
use std::sync::Arc;

use super::PreparedPond;
use super::basin::LAYERS;
use super::body::{OpenHour, WaterGains, WaterState};
use crate::bore::{exchanged_along, exchanged_slope};
use crate::column::Column;
use crate::ground_side::{Bend, GroundSide, Offer};
use crate::heat_pump::Tangent;
use crate::judgement::{Bound, Criterion, FREEZING_WATER, Quality};
use crate::lane_layout::OneByOne;
use crate::prepared::years::{by_year, greatest, hours, least};
use crate::prepared::{GroundSideResults, RunError, TableLanes};

/// Share of a pond's depth beyond which ice reaches the coils and leaves no room for the layers of the model.
const SHARE_OF_ICE: f64 = 0.8;

/// Temperature of the water at the coils below which it is near freezing (degC).
const NEAR_FREEZING: f64 = 1.0;

/// One kilowatt-hour (J).
const KILOWATT_HOUR: f64 = 3.6e6;

/// Fixed-point steps for the film and the temperature difference that drives it, and the relaxation of each: a film
/// resistance falls with at most the square root of the difference, so each step leaves a fifth of the error at most.
const FILM_STEPS: usize = 4;
const FILM_SHARE: f64 = 0.8;

/// Error of the fluid due to the film (K) above which an hour is solved again, and the most repetitions.
const FILM_TOLERANCE: f64 = 0.005;
const MOST_REFINEMENTS: usize = 4;

/// Difference between coil and water for the initial film of an hour (K).
const FIRST_DIFFERENCE: f64 = 1.0;

/// Names of the hourly results other than the temperature of the water at the coils.
const NAMES: [&str; 7] = [
    "ice_m",
    "water_surface_degC",
    "coil_surface_degC",
    "heat_from_above_W",
    "heat_from_ground_W",
    "heat_from_inflow_W",
    "stored_kWh",
];

/// Hourly results of a pond, in the order of [`NAMES`].
#[derive(Debug, Clone)]
pub(super) struct PondSeries {
    at_coils: Vec<f64>,
    others: [Vec<f64>; NAMES.len()],
}

impl PondSeries {
    fn with_capacity(hours: usize) -> Self {
        let series = || Vec::with_capacity(hours);
        Self { at_coils: series(), others: NAMES.map(|_| series()) }
    }

    #[inline(always)]
    fn push(&mut self, at_coils: f64, others: [f64; NAMES.len()]) {
        self.at_coils.push(at_coils);
        for (series, value) in self.others.iter_mut().zip(others) {
            series.push(value);
        }
    }

    /// Forgets the hours.
    pub fn forget(&mut self) {
        self.at_coils.clear();
        self.others.iter_mut().for_each(Vec::clear);
    }

    /// Columns of the yearly table.
    fn years(&self) -> Vec<Column> {
        let [ice, _, coil, ..] = &self.others;
        let column = |series: &[f64], of: fn(Copied<Iter<'_, f64>>) -> f64| {
            by_year(series.len(), |year| of(series[year].iter().copied()))
        };
        vec![
            ("water_at_coils_min_degC", column(&self.at_coils, |water| least(water))),
            ("water_at_coils_max_degC", column(&self.at_coils, |water| greatest(water))),
            ("coil_surface_min_degC", column(coil, |coil| least(coil))),
            ("ice_max_m", column(ice, |ice| greatest(ice))),
            ("hours_with_ice", column(ice, |ice| hours(ice, |ice| ice > 0.0))),
            ("hours_coil_frozen", column(coil, |coil| hours(coil, |coil| coil < 0.0))),
        ]
    }
}

/// State of a pond while its run steps, and its results by hour.
///
/// The offer is linear: it uses the film outside the coils of the same hour in the previous year, and if that is
/// inaccurate for the hour's heat, again the film of that heat. The film inside is that of the hour's fluid.
#[derive(Debug, Clone)]
pub struct PondState {
    pond: Arc<PreparedPond>,
    /// Index of the next hour in the year.
    pub(super) place: usize,
    hour: OpenHour,
    pub(super) water: WaterState,
    /// Resistance of the water outside one metre of pipe in each hour of the year (m K/W).
    pub(super) outside: Vec<f64>,
    /// Number of refined offers in this hour.
    refinements: usize,
    /// The inside of the pipes, and its bends combined with the outside of the hour.
    inside: TableLanes<OneByOne>,
    bends: Vec<Bend<f64>>,
    /// Largest error due to a film that was not exactly that of its hour (K).
    pub(super) film_error: f64,
    pub(super) series: PondSeries,
}

impl PreparedPond {
    /// The pond at the start of a run of `hours` hours.
    #[must_use]
    pub fn initial(self: &Arc<Self>, hours: usize) -> PondState {
        PondState {
            pond: Arc::clone(self),
            place: 0,
            hour: self.body.begin(&self.water, &self.above[0]),
            water: self.water,
            outside: vec![self.coils.outside.at(self.body.deep(), FIRST_DIFFERENCE); self.above.len()],
            refinements: 0,
            inside: TableLanes::new(OneByOne, &[&self.coils.inside]),
            bends: Vec::new(),
            film_error: 0.0,
            series: PondSeries::with_capacity(hours),
        }
    }
}

impl PondState {
    /// Begins an hour of the run, or of the weather's year.
    #[inline(always)]
    pub(super) fn go_to(&mut self, hour: usize) {
        let PreparedPond { body, above, .. } = &*self.pond;
        self.place = hour % above.len();
        self.hour = body.begin(&self.water, &above[self.place]);
    }

    /// Temperature of the last layer at the end of an hour with a heat (W), before convective mixing (degC).
    #[inline(always)]
    pub(super) fn met_by_coils(&self, heat: f64) -> f64 {
        self.hour.without[LAYERS - 1] - self.hour.falls[LAYERS - 1] * heat
    }

    /// Pipe surface minus surrounding water for a heat (W), in K.
    #[inline(always)]
    pub(super) fn rise(&self, heat: f64) -> f64 {
        -heat / self.pond.coils.total_length() * self.outside[self.place]
    }

    /// Results of the run for the pond; `heat` is that of its hours (W).
    #[must_use]
    pub fn results(self, heat: &[f64]) -> GroundSideResults {
        let steps = self.pond.step_error(heat, &self.series.at_coils);
        let error = RunError { steps, film: self.film_error, ..RunError::NONE };
        let (yearly, criteria) = (self.series.years(), self.criteria());
        let PondSeries { at_coils, others } = self.series;
        let hourly = NAMES.into_iter().zip(others).collect();
        GroundSideResults { wall: at_coils, error, hourly, yearly, criteria }
    }

    /// Criteria of the run: the depth that ice leaves for the coils, and frost and near frost at the coils, which are
    /// cautions.
    #[must_use]
    pub fn criteria(&self) -> Vec<Criterion> {
        let PondSeries { at_coils, others: [ice, _, coil, ..] } = &self.series;
        let thickest = Bound::AtMost(SHARE_OF_ICE * self.pond.body.depth());
        let always = |_| true;
        let ice = Criterion::of_hours("ice_max", true, Quality::Length, thickest, ice, always);
        let above = |name, least, values: &[f64]| {
            Criterion::of_hours(name, false, Quality::Temperature, Bound::AtLeast(least), values, always)
        };
        let coil = above("coil_surface_min", FREEZING_WATER, coil);
        let water = above("water_at_coils_min", NEAR_FREEZING, at_coils);
        [ice, coil, water].into_iter().flatten().collect()
    }

    /// Pipe surface minus surrounding water (K), with the film that this difference produces; never for zero heat (W).
    fn rise_of_hour(&self, heat: f64) -> f64 {
        let (coils, met) = (&self.pond.coils, self.met_by_coils(heat));
        (0..FILM_STEPS).fold(self.rise(heat), |rise, _| {
            let with_its_film = -heat / coils.total_length() * coils.outside.at(met, rise);
            rise + FILM_SHARE * (with_its_film - rise)
        })
    }

    /// Resistance between the mean fluid and the water at the coils (K/W), of all coils.
    #[inline(always)]
    fn coil_resistance(&self, inside: Tangent<f64>, kelvins_per_watt: f64) -> Tangent<f64> {
        let coils = &self.pond.coils;
        let each = 1.0 / (kelvins_per_watt * coils.circuits);
        let local = inside.value + self.outside[self.place];
        let per_length = 1.0 / coils.total_length();
        Tangent {
            value: exchanged_along(local, coils.length, each) * per_length,
            slope: inside.slope * exchanged_slope(local, coils.length, each) * per_length,
        }
    }

    /// The hour's linear response with the current film.
    #[inline(always)]
    fn line(&mut self) -> Offer<f64, 1> {
        self.bends.clear();
        for Bend { temperature, resistance } in self.inside.bends() {
            let inside = Tangent { value: *resistance, slope: 0.0 };
            let kelvins_per_watt = self.inside.kelvins_per_watt(*temperature).value;
            let resistance = self.coil_resistance(inside, kelvins_per_watt).value;
            self.bends.push(Bend { temperature: *temperature, resistance });
        }
        let (without, falls) = (self.hour.without[LAYERS - 1], self.hour.falls[LAYERS - 1]);
        Offer { no_load_temperature: [without], pulse_response: [falls] }
    }
}

impl GroundSide<OneByOne, 1> for PondState {
    #[inline(always)]
    fn offer(&mut self) -> Offer<f64, 1> {
        self.refinements = 0;
        self.line()
    }

    #[inline(always)]
    fn resistance(&self, mean_fluid: f64) -> Tangent<f64> {
        let kelvins_per_watt = self.inside.kelvins_per_watt(mean_fluid).value;
        self.coil_resistance(self.inside.resistance(mean_fluid), kelvins_per_watt)
    }

    #[inline(always)]
    fn kelvins_per_watt(&self, mean_fluid: f64) -> Tangent<f64> {
        self.inside.kelvins_per_watt(mean_fluid)
    }

    #[inline(always)]
    fn bends(&self) -> &[Bend<f64>] {
        &self.bends
    }

    #[inline(always)]
    fn refined(&mut self, heat_extracted: &[f64; 1]) -> Option<Offer<f64, 1>> {
        let [heat] = *heat_extracted;
        if heat == 0.0 {
            return None;
        }
        let (coils, met, rise) = (&self.pond.coils, self.met_by_coils(heat), self.rise(heat));
        let with_its_film = -heat / coils.total_length() * coils.outside.at(met, rise);
        if (with_its_film - rise).abs() <= FILM_TOLERANCE || self.refinements == MOST_REFINEMENTS {
            self.film_error = self.film_error.max((with_its_film - rise).abs());
            return None;
        }
        let rise = self.rise_of_hour(heat);
        self.refinements += 1;
        self.outside[self.place] = coils.outside.at(met, rise);
        Some(self.line())
    }

    #[inline(always)]
    fn commit(&mut self, heat_extracted: &[f64; 1]) {
        let heat = heat_extracted[0];
        // The coils exchange heat with the water before convective mixing.
        let coil = self.met_by_coils(heat) + self.rise(heat);
        let body = &self.pond.body;
        let WaterGains { from_above, from_ground, from_inflow } = body.end(&mut self.water, &self.hour, heat);
        let water = &self.water;
        let ice = body.ice_thickness(water.ice);
        let stored = body.stored(water) / KILOWATT_HOUR;
        let others = [ice, water.surface, coil, from_above, from_ground, from_inflow, stored];
        self.series.push(water.layers[LAYERS - 1], others);
        self.go_to(self.place + 1);
    }
}
