//! Evidence packs: everything that a test job left behind, as a BagIt bag in a zip that anyone can check.
//!
//! [`PackWriter`] writes the pack of a job, [`write_pack`] one of any files; [`verify_zip`] and [`verify_folder`] check one, whoever made it. Nothing here touches
//! files: the host hands in readers and takes what is written.

#![forbid(unsafe_code)]
#![warn(clippy::disallowed_methods)]

mod algorithms;
mod bag_check;
mod bag_files;
mod bag_write;
mod checksums;
mod codes;
mod completeness;
mod content;
mod manifest;
mod names;
mod pack_check;
mod prepare;
mod read_me;
mod report;
mod store;
mod tag_text;
mod verify;
mod write;
mod zip_bounds;
mod zip_directory;
mod zip_end;
mod zip_fields;
mod zip_format;
mod zip_layout;
mod zip_member;
mod zip_read;
mod zip_write;

pub use bag_write::{
    AbsentFile, PACK_VERSION, PackError, PackFile, PackPlan, Role, Written, folder_name, write_pack,
};
pub use content::Content;
pub use report::{Check, Outcome, Problem, Report, State};
pub use store::{EntryKind, Limits, Store, StoreEntry};
pub use verify::{verify_folder, verify_zip};
pub use write::PackWriter;
