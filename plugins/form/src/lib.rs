//! The form for the bench: one page made from facts and plan, and the reader of what was written down in it.
//!
//! The page keeps a journal to which entries are only added. The saved file is that journal, an entry a line, with the
//! facts and the plan that the page was made from; everything else follows from it, in the page and here alike.
#![forbid(unsafe_code)]
#![warn(clippy::disallowed_methods)]

mod base64;
mod codes;
mod day;
mod entry;
mod file;
mod ground;
mod join;
mod kept;
mod lines;
mod notes;
mod page;
mod physical_rows;
mod read;
mod rows_read;
mod rows_table;
mod rows_write;
mod served;
mod stated;
mod write;

pub use file::{FORM, form_schema};
pub use read::FormReader;
pub use rows_read::SheetRowsReader;
pub use rows_write::SheetRowsWriter;
pub use served::{Served, served};
pub use write::FormWriter;
