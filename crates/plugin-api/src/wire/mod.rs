//! Formats that outlive a version of the program.

mod difference;
pub mod outline;
pub mod stdio;
pub mod v1;

pub use difference::{Difference, Differences, differences, shown};
