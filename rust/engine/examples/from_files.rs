//! A run from files: hourly loads and the performance table of a heat pump, both as CSV, on a small bore field.
//!
//! `from_files loads.csv unit.csv` reads these files; without arguments the example writes invented ones to a temporary
//! folder first. The design is invented, too: it is not meant for construction.

use std::error::Error;
use std::f64::consts::TAU;
use std::fs;
use std::path::{Path, PathBuf};

use loopdrift::bore::{Bore, Inside};
use loopdrift::cancel_token::CancelToken;
use loopdrift::design::Design;
use loopdrift::fluid::Fluid;
use loopdrift::ground::Ground;
use loopdrift::ground_side::GroundSideKind;
use loopdrift::ground_side::bore_field::BoreField;
use loopdrift::heat_pump::{DesignPoint, HeatPump, PerformanceTable};
use loopdrift::limits::Limits;
use loopdrift::loads::{HOURS_PER_YEAR, Loads};
use loopdrift::run::run;

fn main() -> Result<(), Box<dyn Error>> {
    let arguments: Vec<PathBuf> = std::env::args_os().skip(1).map(PathBuf::from).collect();
    let folder = tempfile::tempdir()?;
    let [loads, table] = match arguments.as_slice() {
        [loads, table] => [loads.clone(), table.clone()],
        [] => invented_files(folder.path())?,
        _ => return Err("give two files, or none: loads.csv unit.csv".into()),
    };
    let loads = Loads::read(&loads, None)?;
    let (heat_pump, quality) = PerformanceTable::read(&table)?.fit(&DesignPoint::default())?;
    if let Some(heating) = quality.heating {
        println!("heating curves through {} rating points", heating.points.len());
    }
    let run = run(&design(heat_pump), &loads, 20, &CancelToken::default())?;
    println!("year  lowest entering fluid (degC)  heat extracted (kWh)  seasonal COP");
    for (index, year) in run.yearly.iter().enumerate() {
        let [fluid, heat, cop] = [year.entering_fluid_min, year.heat_extracted_kwh, year.seasonal_cop()];
        println!("{:4}  {fluid:28.2}  {heat:20.0}  {cop:12.2}", index + 1);
    }
    println!("all limits hold: {}", run.judgement.holds());
    Ok(())
}

/// A year of loads and a performance table in a folder.
fn invented_files(folder: &Path) -> std::io::Result<[PathBuf; 2]> {
    let [loads, table] = ["loads.csv", "unit.csv"].map(|name| folder.join(name));
    let rows = (0..HOURS_PER_YEAR).map(|hour| {
        let season = (TAU * hour as f64 / HOURS_PER_YEAR as f64).cos();
        format!("{hour},{:.3},{:.3}\n", f64::max(0.0, 6.0 * season), f64::max(0.0, -3.0 * season))
    });
    fs::write(&loads, format!("hour,heating_kW,cooling_kW\n{}", rows.collect::<String>()))?;
    let points = "mode,entering_fluid_degC,capacity_kW,power_kW\n\
                  heating,-5,6.8,2.0\nheating,0,7.8,2.1\nheating,5,8.8,2.2\nheating,10,9.8,2.3\n\
                  cooling,10,9.0,1.4\ncooling,20,8.4,1.7\ncooling,30,7.6,2.1\n";
    fs::write(&table, points)?;
    Ok([loads, table])
}

/// Two bores of 80 m with an invented fluid.
fn design(heat_pump: HeatPump) -> Design {
    let inside = Inside::Measured { resistance: 0.1 };
    let bore = Bore { depth: 80.0, buried_depth: 1.5, diameter: 0.15, inside };
    let field = BoreField { bores: vec![bore], positions: vec![[0.0, 0.0], [7.0, 0.0]], leans: Vec::new() };
    Design {
        ground: Ground {
            conductivity: 2.2,
            volumetric_heat_capacity: 2.3e6,
            temperature: 10.0,
            gradient: 0.0,
            darcy_flux: 0.0,
            flow_direction: 0.0,
            warming: None,
        },
        ground_side: GroundSideKind::BoreField(field),
        fluid: Fluid {
            name: "an invented fluid".to_owned(),
            freezing_point: -12.0,
            first_temperature: -12.0,
            temperature_step: 1.0,
            density: vec![1020.0; 60],
            heat_capacity: vec![3900.0; 60],
            conductivity: vec![0.45; 60],
            viscosity: vec![0.004; 60],
        },
        flow: 0.6,
        pump_power: 90.0,
        pump_stops: true,
        heat_pump,
        limits: Limits { entering_fluid_min: Some(-5.0), ..Limits::default() },
        start_month: 1,
    }
}
