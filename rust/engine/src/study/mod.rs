//! Many runs of varied designs, and the smallest design for which all limits hold.

mod cases;
mod shapes;
mod sizing;
mod table;

pub use cases::{Case, run_cases, run_neighbours};
pub use sizing::{Sized, first_that_holds, least};
pub use table::CaseTable;

#[cfg(test)]
mod tests;
