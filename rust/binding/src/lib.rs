//! The Python module `loopdrift._core`: converts arguments, releases the interpreter, maps errors. No physics.

// The functions' documentation for users stands in the Python modules that call them and in `_core.pyi`.
#![allow(missing_docs)]

mod bore;
mod building;
mod convert;
mod error;
mod gate;
mod ground;
mod ground_temperature;
mod heat_pump;
mod judgement;
mod loads;
mod plant;
mod pool;
mod run;
mod schema;
mod study;
mod trench;
mod water;

use pyo3::prelude::*;

#[pymodule]
mod _core {
    #[pymodule_export]
    const VERSION: &str = env!("CARGO_PKG_VERSION");
    #[pymodule_export]
    use super::bore::{bore_first_hours, bore_resistances};
    #[pymodule_export]
    use super::building::{building_loss, building_year};
    #[pymodule_export]
    use super::ground::{closest, g_function, line_source, undisturbed};
    #[pymodule_export]
    use super::ground_temperature::PyGroundHistory;
    #[pymodule_export]
    use super::heat_pump::fit_performance_table;
    #[pymodule_export]
    use super::loads::{check_loads, heat_loss_loads, read_loads};
    #[pymodule_export]
    use super::plant::meet;
    #[pymodule_export]
    use super::run::{check, run};
    #[pymodule_export]
    use super::schema::{quantities, validate};
    #[pymodule_export]
    use super::study::{run_cases, size_among, size_measure};
    #[pymodule_export]
    use super::trench::{pipe_resistance, surface_wave, trench_response, trench_source};
    #[pymodule_export]
    use super::water::{breakthrough, outside_film, returned_share, well_drawdown, well_function};
}
