//! Formats that outlive a version of the program.

pub mod v1;
