use super::*;
use crate::bore::Pipe;
use crate::ground_side::{GroundSide, Offer};
use crate::lane_layout::{BLOCK, OneByOne};
use crate::prepared::conduction::ConductionState;

const GROUND: Ground = Ground {
    conductivity: 1.5,
    volumetric_heat_capacity: 2.4e6,
    temperature: 10.0,
    gradient: 0.0,
    darcy_flux: 0.0,
    flow_direction: 0.0,
    warming: None,
};
const YEAR: usize = 8760;

fn field(pipes: &[[f64; 2]]) -> TrenchField {
    TrenchField {
        length: 60.0,
        trenches: 3,
        spacing: Some(2.5),
        pipe: Pipe { outer_diameter: 0.032, wall_thickness: 0.0029, conductivity: 0.4, roughness: 1.5e-6 },
        laid: Laid::Straight { pipes: pipes.to_vec() },
        surface: SurfaceWave { amplitude: 12.0, coldest_day: 31.0 },
    }
}

fn brine() -> Fluid {
    Fluid {
        name: "an invented fluid".to_owned(),
        freezing_point: -15.0,
        first_temperature: -20.0,
        temperature_step: 60.0,
        density: vec![1000.0; 2],
        heat_capacity: vec![4000.0; 2],
        conductivity: vec![0.5; 2],
        viscosity: vec![2e-3; 2],
    }
}

fn prepared(field: &TrenchField, start: usize) -> Responses {
    Responses::of_trenches(field, &GROUND, &brine(), 0.9, start, 2 * YEAR).unwrap()
}

fn no_load_temperature(prepared: &Responses, hours: usize) -> Vec<f64> {
    let mut state = ConductionState::initial(OneByOne, &[prepared]);
    let mut block = |_| {
        let Offer { no_load_temperature, .. } = state.offer();
        state.commit(&[0.0; BLOCK]);
        no_load_temperature
    };
    (0..hours / BLOCK).flat_map(&mut block).collect()
}

#[test]
fn without_heat_the_fluid_follows_the_wave_at_the_pipes() {
    let field = field(&[[-0.2, 1.5], [0.2, 1.5]]);
    let shown = no_load_temperature(&prepared(&field, 0), 2 * YEAR);
    let phasor = field.surface.phasor(1.5, &GROUND);
    for (hour, shown) in shown.into_iter().enumerate() {
        let exact = 10.0 + SurfaceWave::departure(phasor, (hour + 1) as f64 * 3600.0);
        assert!((shown - exact).abs() < 1e-9, "hour {hour}: {shown}, {exact}");
    }
}

#[test]
fn a_later_start_shifts_the_wave() {
    let field = field(&[[0.0, 1.2], [0.0, 1.8]]);
    let (january, may) =
        (no_load_temperature(&prepared(&field, 0), YEAR), no_load_temperature(&prepared(&field, 2880), YEAR));
    for hour in [0, 17, 5000, 5879, 5880, 8759] {
        assert!((may[hour] - january[(hour + 2880) % YEAR]).abs() < 1e-12, "hour {hour}");
    }
}

#[test]
fn pipes_at_two_depths_give_a_temperature_in_between() {
    let most = |pipes: &[[f64; 2]]| {
        no_load_temperature(&prepared(&field(pipes), 0), YEAR).into_iter().fold(0.0, f64::max)
    };
    let (upper, both, lower) = (most(&[[0.0, 1.0]]), most(&[[0.0, 1.0], [0.0, 2.0]]), most(&[[0.0, 2.0]]));
    assert!(lower < both && both < upper, "{lower}, {both}, {upper}");
}

#[test]
fn errors_name_the_invalid_value() {
    let message = |field: TrenchField| field.validate().unwrap_err().to_string();
    assert_eq!(
        message(field(&[[0.0, 1.5], [0.016, 1.5]])),
        "TrenchField.pipes = 0.016 m: is the distance of pipes 1 and 2, which would overlap: must be at least 0.032 m"
    );
    assert!(message(field(&[[0.0, -1.5]])).contains("above the surface"));
    assert!(message(field(&[])).contains("from 1 to 6"));
    let wide = TrenchField { spacing: Some(1.0), ..field(&[[-0.6, 1.5], [0.39, 1.5]]) };
    assert!(message(wide).contains("must be at least 1.022 m"));
    let lone = TrenchField { trenches: 1, spacing: None, ..field(&[[0.0, 1.5]]) };
    assert!(lone.validate().is_ok());
}
