//! The Python module `loopdrift._core`: converts arguments, releases the interpreter, maps errors. No physics.

// User documentation is in the Python modules that call these functions, and in the type stubs.
#![allow(missing_docs)]

mod bore;
mod building;
mod convert;
mod error;
mod gate;
mod ground;
mod ground_temperature;
mod heat_pump;
mod loads;
mod plant;
mod run;
mod schema;
mod simulation;
mod study;
mod testing;
mod trench;
mod water;

use pyo3::prelude::*;

#[pymodule]
mod _core {
    use pyo3::prelude::*;

    #[pymodule_export]
    const VERSION: &str = env!("CARGO_PKG_VERSION");
    #[pymodule_export]
    const END_OF_LAMINAR: f64 = loopdrift::bore::END_OF_LAMINAR;
    #[pymodule_export]
    const START_OF_TURBULENT: f64 = loopdrift::bore::START_OF_TURBULENT;
    #[pymodule_export]
    use super::{
        bore::{annulus_shape, bore_resistances, bore_response, pipe_resistance},
        building::{building_loss, building_year},
        ground::{closest, g_function, line_source, thermal_velocity, undisturbed, warming_at},
        ground_temperature::PyGroundHistory,
        heat_pump::fit_performance_table,
        loads::{check_loads, heat_loss_loads},
        plant::meet,
        run::{check, run, run_epochs},
        schema::{quantities, validate},
        simulation::PySimulation,
        study::{run_cases, run_neighbours, size_among, size_measure},
        trench::{surface_wave, trench_response},
        water::{breakthrough, returned_share, well_drawdown},
    };

    #[pymodule_init]
    fn init(module: &Bound<'_, PyModule>) -> PyResult<()> {
        let modules = module.py().import("sys")?.getattr("modules")?;
        modules.set_item("loopdrift._core.testing", module.getattr("testing")?)
    }

    /// Functions that only tests call.
    #[pymodule]
    mod testing {
        #[pymodule_export]
        use crate::testing::{bore_first_hours, outside_film, trench_source, well_function};
    }
}
