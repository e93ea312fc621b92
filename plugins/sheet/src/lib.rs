//! The paper sheet: the plan, with boxes to be filled by hand where no electronics survive beside the generator.
//!
//! It is printed and filled, never archived: the record is made from its rows, which are entered in the form's table
//! or in a log, each under the sheet's code and the row's number.
#![forbid(unsafe_code)]
#![warn(clippy::disallowed_methods)]

mod blocks;
mod codes;
mod content;
mod finish;
mod layout;
mod pen;
mod write;

pub use write::SheetWriter;
