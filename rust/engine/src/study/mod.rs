//! Many runs of varied designs, and the least design whose temperatures hold.

mod cases;
mod shapes;
mod sizing;

pub use cases::{Case, run_cases};
pub use sizing::{Measure, Sized, first_that_holds, least};

#[cfg(test)]
mod tests;
