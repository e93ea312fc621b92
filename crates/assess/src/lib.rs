//! Everything that is computed from the facts of a test job and the data of a test standard.
//!
//! Pure functions: no files, no clock, no floating-point functions of the standard library (they
//! differ between platforms; `libm` does not).
#![forbid(unsafe_code)]
#![warn(clippy::disallowed_methods)]

pub mod standard;
mod word;
