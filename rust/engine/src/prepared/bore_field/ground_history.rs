//! The ground around a field after a run: its temperature anywhere, and the sources of its heat.

use faer::Mat;
use rayon::prelude::*;

use super::inside_history::{InsideHistory, NearBores, PIECES};
use super::mean_bore;
use crate::cancel_token::CancelToken;
use crate::column::Column;
use crate::error::Error;
use crate::fluid::Fluid;
use crate::ground::{Ground, HeatSpread, LaplaceCurve, Snapshot, heat_spread, moving_heat_spread, within};
use crate::ground_side::Description;
use crate::ground_side::bore_field::BoreField;
use crate::history::{HOUR, Superposition, TabulatedResponse};

/// Joules in a kilowatt-hour.
const KWH: f64 = 3.6e6;

/// Largest coordinate and depth of a point (m), and most points that are evaluated together.
const FARTHEST: f64 = 1e6;
const MOST_POINTS: usize = 4_000_000;

/// The heat that a field extracted from the ground, hour by hour.
pub struct GroundHistory {
    ground: Ground,
    spread: HeatSpread,
    /// Heat extracted from the fluid (W).
    heat: Vec<f64>,
    /// Heat by each pattern of the spread, averaged over each hour (W); the first is the heat through the walls.
    drawn: Vec<Vec<f64>>,
    inside: Option<InsideHistory>,
}

/// Sources of the heat that a field has extracted since its start; negative for sinks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeatSources {
    /// Heat extracted less heat rejected (kWh).
    pub extracted_kwh: f64,
    /// From the ground, which cools: an integral over the whole ground (kWh).
    pub ground_kwh: f64,
    /// Through the surface: an integral over area and time (kWh).
    pub surface_kwh: f64,
    /// From fluid, pipes and grout (kWh).
    pub bores_kwh: f64,
}

impl HeatSources {
    /// Several of them under names that end with their unit.
    #[must_use]
    pub fn columns(sources: &[Self]) -> [Column; 4] {
        let column = |read: fn(&Self) -> f64| sources.iter().map(read).collect();
        [
            ("heat_extracted_kWh", column(|sources| sources.extracted_kwh)),
            ("from_ground_kWh", column(|sources| sources.ground_kwh)),
            ("from_surface_kWh", column(|sources| sources.surface_kwh)),
            ("from_bores_kWh", column(|sources| sources.bores_kwh)),
        ]
    }
}

impl GroundHistory {
    /// Distributes the heat extracted in each hour of a run (W) over the bores and their segments, as one wall
    /// temperature requires.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] for an invalid field, flow or heat; [`Error::Stopped`] if `token` was
    /// cancelled.
    pub fn new(
        field: &BoreField,
        ground: &Ground,
        fluid: &Fluid,
        flow: f64,
        heat: Vec<f64>,
        token: &CancelToken,
    ) -> Result<Self, Error> {
        field.validate()?;
        if field.is_leaning() {
            let allowed = "must be 0 for temperatures of the ground around the bores";
            return Err(Error::invalid("BoreField", "inclination", "above 0", "deg", allowed));
        }
        let hours = heat.len();
        if let Some(value) = heat.iter().find(|value| !value.is_finite()) {
            return Err(Error::invalid("run", "heat_extracted", value, "W", "must be finite"));
        }
        if hours == 0 {
            return Err(Error::invalid(
                "run",
                "heat_extracted",
                "no hours",
                "",
                "must have at least one hour",
            ));
        }
        ground.check_reach(hours)?;
        let times = HOUR / PIECES as f64..=hours.max(2) as f64 * HOUR;
        let (sources, positions) = (field.line_sources(), &field.positions);
        let spread = if ground.darcy_flux > 0.0 {
            let velocity = ground.thermal_velocity();
            moving_heat_spread(ground, velocity, &sources, positions, &times, token)?
        } else {
            heat_spread(ground, &sources, positions, &times, token)?
        };
        let (_, inside) = mean_bore(field, ground, fluid, flow)?;
        let inside =
            inside.map(|inside| InsideHistory::new(&inside, ground, &spread, field.total_depth(), hours));
        let drawn = drawn(&spread, inside.as_ref(), &heat);
        Ok(Self { ground: ground.clone(), spread, heat, drawn, inside })
    }

    /// The ground at the end of an hour, counted from 1.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] if the run has no such hour.
    pub fn at(&self, hour: usize) -> Result<GroundState<'_>, Error> {
        self.check_hour(hour)?;
        let recent = self.inside.as_ref().map_or(0, |inside| inside.recent(hour));
        let pieces = (0..recent * PIECES).map(|piece| HOUR * piece as f64 / PIECES as f64);
        let lags: Vec<f64> = pieces.chain((recent..=hour).map(|lag| HOUR * lag as f64)).collect();
        let series = |(pattern, drawn): (usize, &Vec<f64>)| {
            let mut heat = Vec::with_capacity(lags.len());
            for ago in 0..recent {
                let hour = hour - 1 - ago;
                heat.extend((0..PIECES).rev().map(|piece| match &self.inside {
                    Some(inside) if pattern == 0 => drawn[hour] + inside.piece(&self.heat, hour, piece),
                    _ => drawn[hour],
                }));
            }
            heat.extend(drawn[..hour - recent].iter().rev());
            heat
        };
        let heat: Vec<Vec<f64>> = self.drawn.iter().enumerate().map(series).collect();
        let warming = self.ground.warming.as_ref().map_or(0.0, |warming| warming.at_end_of(hour - 1));
        Ok(GroundState {
            history: self,
            warming,
            snapshot: Snapshot::new(&self.ground, &self.spread, &lags, &heat),
            near: self.inside.as_ref().map(|inside| inside.near(&self.heat[..hour])),
        })
    }

    /// The sources of the heat up to the end of each of some hours, counted from 1.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] if the run has no such hour; [`Error::Stopped`] if `token` was cancelled.
    pub fn heat_sources(&self, hours: &[usize], token: &CancelToken) -> Result<Vec<HeatSources>, Error> {
        let energies: Vec<Vec<f64>> = self.drawn.par_iter().map(|heat| energy_by_mid_hour(heat)).collect();
        let up_to = |&hour: &usize| {
            token.add(1)?;
            self.check_hour(hour)?;
            let lags: Vec<f64> = (0..=hour).map(|lag| HOUR * lag as f64).collect();
            let back = |series: &[Vec<f64>]| -> Vec<Vec<f64>> {
                series.iter().map(|values| values[..hour].iter().rev().copied().collect()).collect()
            };
            let felt = |series: &[Vec<f64>]| Snapshot::new(&self.ground, &self.spread, &lags, &back(series));
            let total = |heat: &[f64]| HOUR * heat[..hour].iter().sum::<f64>();
            let extracted = total(&self.heat);
            Ok(HeatSources {
                extracted_kwh: extracted / KWH,
                ground_kwh: felt(&self.drawn).from_ground() / KWH,
                surface_kwh: felt(&energies).through_surface() / KWH,
                bores_kwh: (extracted - total(&self.drawn[0])) / KWH,
            })
        };
        hours.par_iter().map(up_to).collect()
    }

    fn check_hour(&self, hour: usize) -> Result<(), Error> {
        let hours = self.heat.len();
        if (1..=hours).contains(&hour) {
            return Ok(());
        }
        Err(Error::invalid(
            "run",
            "hour",
            hour,
            "h",
            format!("must be from 1 to {hours} h, the run's length"),
        ))
    }
}

/// Heat by each pattern, averaged over each hour, from the heat extracted from the fluid (W).
fn drawn(spread: &HeatSpread, inside: Option<&InsideHistory>, heat: &[f64]) -> Vec<Vec<f64>> {
    let hours = heat.len();
    let ln_hours: Vec<f64> = (1..=hours).map(|hour| (hour as f64).ln()).collect();
    let through_wall = |curve: &LaplaceCurve| match inside {
        Some(inside) => curve.map(|p, value| [value * inside.through_wall().at(p)]),
        None => [curve.clone()],
    };
    // The redistribution between segments after a step is so slow that an hour's mean is that of its ends.
    let moved = |curve: &LaplaceCurve| -> Vec<f64> {
        let [curve] = through_wall(curve);
        let mut before = 0.0;
        let at_ends = TabulatedResponse::new(hours, |time| curve.step_response(time)).hourly(&ln_hours);
        at_ends.into_iter().map(|now| 0.5 * (now + std::mem::replace(&mut before, now))).collect()
    };
    let first = inside.map(|inside| inside.hourly_share(hours, &ln_hours));
    let at_once = first.is_none().then(|| heat.to_vec());
    let responses = first.into_iter().chain(spread.curves.iter().map(moved));
    at_once.into_iter().chain(Superposition::new(hours, responses).of(heat)).collect()
}

/// Energy up to the middle of each hour (J), from the heat of each (W).
fn energy_by_mid_hour(heat: &[f64]) -> Vec<f64> {
    let mut before = 0.0;
    let by_middle = |heat: &f64| {
        let middle = before + 0.5 * HOUR * heat;
        before += HOUR * heat;
        middle
    };
    heat.iter().map(by_middle).collect()
}

/// The ground at the end of an hour.
pub struct GroundState<'a> {
    history: &'a GroundHistory,
    /// The warming of the ground so far (K).
    warming: f64,
    snapshot: Snapshot<'a>,
    near: Option<NearBores>,
}

impl GroundState<'_> {
    /// Temperatures (degC) at points x, y and depth (m); within a bore that of its wall.
    ///
    /// # Errors
    /// [`Error::InvalidInput`] for a point above the surface or too far away; [`Error::Stopped`] if `token` was
    /// cancelled.
    pub fn points(&self, points: &[[f64; 3]], token: &CancelToken) -> Result<Vec<f64>, Error> {
        points.iter().try_for_each(|[x, y, depth]| check(&[*x], &[*y], &[*depth]))?;
        check_count(points.len())?;
        let mut by_depth: Vec<usize> = (0..points.len()).collect();
        by_depth.sort_by(|&a, &b| points[a][2].total_cmp(&points[b][2]));
        let layers: Vec<&[usize]> = by_depth.chunk_by(|&a, &b| points[a][2] == points[b][2]).collect();
        let found: Result<Vec<Mat<f64>>, Error> = layers
            .par_iter()
            .map(|layer| {
                let places: Vec<[f64; 2]> = layer.iter().map(|&at| [points[at][0], points[at][1]]).collect();
                self.temperatures(&places, &[points[layer[0]][2]], token)
            })
            .collect();
        let mut temperatures = vec![0.0; points.len()];
        for (layer, found) in layers.iter().zip(found?) {
            layer.iter().enumerate().for_each(|(place, &at)| temperatures[at] = found[(0, place)]);
        }
        Ok(temperatures)
    }

    /// Temperatures (degC) below places x, y (m), depth by depth (m), all places of the first depth first.
    ///
    /// # Errors
    /// As for [`points`](Self::points).
    pub fn section(
        &self,
        places: &[[f64; 2]],
        depths: &[f64],
        token: &CancelToken,
    ) -> Result<Vec<f64>, Error> {
        places.iter().try_for_each(|[x, y]| check(&[*x], &[*y], &[]))?;
        check(&[], &[], depths)?;
        check_count(places.len().saturating_mul(depths.len()))?;
        let found = self.temperatures(places, depths, token)?;
        Ok(found.row_iter().flat_map(|row| row.iter().copied()).collect())
    }

    /// Temperatures (degC) at one depth, for each y each x (m).
    ///
    /// # Errors
    /// As for [`points`](Self::points).
    pub fn plan(&self, x: &[f64], y: &[f64], depth: f64, token: &CancelToken) -> Result<Vec<f64>, Error> {
        check(x, y, &[depth])?;
        check_count(x.len().saturating_mul(y.len()))?;
        let mut values = self.snapshot.plan(x, y, depth, token)?;
        if let Some(near) = &self.near {
            for bore in self.history.spread.bores.iter().filter(|bore| bore.reaches(depth)) {
                for [column, row] in within(x, y, bore.position, near.reach()) {
                    let distance = (x[column] - bore.position[0]).hypot(y[row] - bore.position[1]);
                    values[row * x.len() + column] += near.drop(distance);
                }
            }
        }
        let undisturbed = self.undisturbed(depth);
        values.iter_mut().for_each(|value| *value = undisturbed - *value);
        Ok(values)
    }

    /// Temperature of the ground without the field at a depth (m), in degC.
    fn undisturbed(&self, depth: f64) -> f64 {
        self.history.ground.undisturbed(depth) + self.warming
    }

    /// Temperatures at places and depths: depths x places.
    fn temperatures(
        &self,
        places: &[[f64; 2]],
        depths: &[f64],
        token: &CancelToken,
    ) -> Result<Mat<f64>, Error> {
        let mut values = self.snapshot.drops(places, depths, token)?;
        if let Some(near) = &self.near {
            for (column, place) in places.iter().enumerate() {
                for bore in &self.history.spread.bores {
                    let distance = (place[0] - bore.position[0]).hypot(place[1] - bore.position[1]);
                    if distance < near.reach() {
                        let beside = (0..depths.len()).filter(|&row| bore.reaches(depths[row]));
                        beside.for_each(|row| values[(row, column)] += near.drop(distance));
                    }
                }
            }
        }
        let undisturbed = |row: usize| self.undisturbed(depths[row]);
        Ok(Mat::from_fn(depths.len(), places.len(), |row, column| undisturbed(row) - values[(row, column)]))
    }
}

fn check(x: &[f64], y: &[f64], depths: &[f64]) -> Result<(), Error> {
    for (field, values, least) in [("x", x, -FARTHEST), ("y", y, -FARTHEST), ("depth", depths, 0.0)] {
        if let Some(value) = values.iter().find(|value| !(least..=FARTHEST).contains(*value)) {
            let allowed = format!("must be from {least} to {FARTHEST} m");
            return Err(Error::invalid("ground temperature", field, value, "m", allowed));
        }
    }
    Ok(())
}

fn check_count(count: usize) -> Result<(), Error> {
    if count <= MOST_POINTS {
        return Ok(());
    }
    let allowed = format!("must be {MOST_POINTS} at most");
    Err(Error::invalid("ground temperature", "number of points", count, "", allowed))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::bore::{Bore, Inside, Pipe, Pipes, UTube};

    const GROUND: Ground = Ground {
        conductivity: 2.0,
        volumetric_heat_capacity: 2.2e6,
        temperature: 10.0,
        gradient: 0.02,
        darcy_flux: 0.0,
        flow_direction: 0.0,
        warming: None,
    };
    const PIPE: Pipe =
        Pipe { outer_diameter: 0.032, wall_thickness: 0.0029, conductivity: 0.4, roughness: 1.5e-6 };

    /// Five bores, equal or of five depths, with or without heat stored inside, in still or moving ground.
    fn history(unequal: bool, stores: bool, darcy_flux: f64, heat: Vec<f64>) -> GroundHistory {
        let ground = Ground { darcy_flux, flow_direction: 60.0, ..GROUND };
        let inside = if stores {
            let pipes = Pipes::UTube(UTube { pipe: PIPE, shank_spacing: 0.07 });
            let (grout_conductivity, grout_heat_capacity) = (1.5, 3e6);
            Inside::Built { pipes, grout_conductivity, grout_heat_capacity, heat_capacity_inside: true }
        } else {
            Inside::Measured { resistance: 0.1 }
        };
        let bore = Bore { depth: 80.0, buried_depth: 1.5, diameter: 0.14, inside };
        let deeper = |by: i32| Bore { depth: 80.0 + 5.0 * f64::from(by), ..bore };
        let field = BoreField {
            bores: if unequal { (0..5).map(deeper).collect() } else { vec![bore] },
            positions: vec![[0.0, 0.0], [6.0, 0.5], [1.0, 7.0], [8.0, 8.0], [13.0, 2.0]],
            leans: Vec::new(),
        };
        let fluid = Fluid {
            name: "invented".to_owned(),
            freezing_point: -10.0,
            first_temperature: 0.0,
            temperature_step: 10.0,
            density: vec![1000.0; 3],
            heat_capacity: vec![4200.0; 3],
            conductivity: vec![0.5; 3],
            viscosity: vec![1e-3; 3],
        };
        GroundHistory::new(&field, &ground, &fluid, 2.0, heat, &CancelToken::default()).unwrap()
    }

    fn swinging(hours: usize) -> Vec<f64> {
        (0..hours).map(|hour| 9e3 * (hour as f64 / 1400.0).cos() + 7e3 * (hour as f64 / 3.7).sin()).collect()
    }

    /// Cross-method: products of matrices against evaluation place by place, including points inside bores and at a
    /// wall.
    #[test]
    fn plans_and_sections_equal_individual_points() {
        let x = [-30.0, 0.0, 0.03, 0.07, 1.1, 6.0, 9.9];
        let y = [-0.02, 0.0, 0.5, 4.0, 7.0, 50.0];
        let token = CancelToken::default();
        for (unequal, stores, flux) in [(false, false, 0.0), (true, true, 0.0), (true, true, 1e-6)] {
            let history = history(unequal, stores, flux, swinging(3000));
            let moment = history.at(2900).unwrap();
            for depth in [0.0, 1.2, 40.0, 83.0, 200.0] {
                let points: Vec<[f64; 3]> = y.iter().flat_map(|&y| x.map(|x| [x, y, depth])).collect();
                let places: Vec<[f64; 2]> = points.iter().map(|point| [point[0], point[1]]).collect();
                let plain = moment.points(&points, &token).unwrap();
                let plan = moment.plan(&x, &y, depth, &token).unwrap();
                let section = moment.section(&places, &[7.0, depth], &token).unwrap();
                for (at, value) in plain.iter().enumerate() {
                    assert!((value - plan[at]).abs() < 1e-9, "{:?}: {value} {}", points[at], plan[at]);
                    let below = section[points.len() + at];
                    assert!((value - below).abs() < 1e-9, "{:?}: {value} {below}", points[at]);
                }
            }
        }
    }

    #[test]
    fn the_surface_temperature_is_constant() {
        let history = history(true, true, 1e-6, swinging(2000));
        let found = history.at(2000).unwrap().points(&[[0.5, 0.0, 0.0]], &CancelToken::default()).unwrap();
        assert!((found[0] - GROUND.temperature).abs() < 1e-12, "{found:?}");
    }

    #[test]
    fn number_of_threads_has_no_effect() {
        let on = |threads: usize| {
            let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
            pool.install(|| {
                let (history, token) = (history(true, true, 0.0, swinging(1000)), CancelToken::default());
                let axis: Vec<f64> = (0..90).map(|step| 0.3 * f64::from(step) - 5.0).collect();
                let plan = history.at(1000).unwrap().plan(&axis, &axis, 30.0, &token).unwrap();
                (plan, history.heat_sources(&[300, 1000], &token).unwrap())
            })
        };
        assert_eq!(on(1), on(3));
    }

    #[test]
    fn invalid_hours_and_points_are_rejected() {
        let history = history(false, false, 0.0, swinging(100));
        let moment = history.at(100).unwrap();
        let token = CancelToken::default();
        let cases = [
            (history.at(0).map(drop), "run.hour = 0 h: must be from 1 to 100 h"),
            (history.at(101).map(drop), "run.hour = 101 h"),
            (history.heat_sources(&[101], &token).map(drop), "run.hour = 101 h"),
            (moment.points(&[[0.0, f64::NAN, 1.0]], &token).map(drop), "ground temperature.y = NaN m"),
            (moment.plan(&[0.0], &[1e7], 1.0, &token).map(drop), "ground temperature.y = 10000000 m"),
            (moment.section(&[[0.0, 0.0]], &[-1.0], &token).map(drop), "ground temperature.depth = -1 m"),
            (moment.plan(&[0.0; 3000], &[1.0; 3000], 1.0, &token).map(drop), "number of points = 9000000"),
        ];
        for (answer, part) in cases {
            let message = answer.unwrap_err().to_string();
            assert!(message.contains(part), "{message}");
        }
        token.stop();
        assert!(matches!(moment.points(&[[0.0; 3]], &token), Err(Error::Stopped)));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(6))]

        /// The heat extracted equals that from ground, surface and bores, which are computed separately. The heat of
        /// the last seconds, which so far only affects the inside of the bores, is not counted for the ground.
        #[test]
        fn heat_extracted_equals_that_of_its_sources(
            unequal in any::<bool>(),
            stores in any::<bool>(),
            flux in prop::sample::select(vec![0.0, 1e-7, 3e-6]),
            heat in prop::collection::vec(-2e4..2e4, 500..3000),
        ) {
            let hours = heat.len();
            let gross: f64 = heat.iter().map(|heat: &f64| heat.abs()).sum();
            let history = history(unequal, stores, flux, heat);
            let sources = history.heat_sources(&[hours], &CancelToken::default()).unwrap()[0];
            let sum = sources.ground_kwh + sources.surface_kwh + sources.bores_kwh;
            prop_assert!((sum - sources.extracted_kwh).abs() <= 1e-4 * gross / 1e3, "{sources:?}");
        }
    }
}
