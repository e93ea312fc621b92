//! The results as one flat CSV table: a row per required series and per series that counts for nothing.
#![forbid(unsafe_code)]
#![warn(clippy::disallowed_methods)]

mod cell;
pub mod codes;
mod columns;
mod rows;
mod write;

pub use cell::{neutral, original};
pub use columns::COLUMNS;

/// The format `csv`: writes `<stem>.results.csv`.
#[derive(Clone, Copy, Debug, Default)]
pub struct Results;
