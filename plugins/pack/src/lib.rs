//! Evidence packs: everything that a test job left behind, as a BagIt bag in a zip that anyone can check.
//!
//! [`PackWriter`] writes the pack of a job, [`write_pack`] one of any files; [`verify_zip`] and [`verify_folder`] check one, whoever made it. Nothing here touches
//! files: the host hands in readers and takes what is written.

#![forbid(unsafe_code)]
#![warn(clippy::disallowed_methods)]

mod again;
mod algorithms;
mod bag_check;
mod bag_files;
mod bag_write;
mod checksums;
mod codes;
mod completeness;
mod content;
mod derive;
mod embedded;
mod manifest;
mod names;
mod open;
mod other_version;
mod pack_check;
mod pdf_objects;
mod prepare;
mod read;
mod read_me;
mod report;
mod request;
mod signature;
mod store;
mod tag_text;
mod time_stamp;
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

pub use again::{Rewritten, Standing};
pub use bag_write::{
    AbsentFile, PACK_VERSION, PackError, PackFile, PackPlan, Role, Written, folder_name, write_pack,
};
pub use codes::ABOUT_PACKS;
pub use content::Content;
pub use open::{Document, OpenPack, zip_stores};
pub use read::PackReader;
pub use report::{Check, Outcome, Problem, Report, State};
pub use request::{Depth, Request};
pub use signature::{
    AsNamed, Good, NamedKey, Refusal, SignError, SignedAs, Signers, add_signature, add_time_stamp, as_named,
    check_signature, checked_signature, make_signature,
};
pub use store::{EntryKind, Limits, OwnedStore, Store, StoreEntry, Stores};
pub use time_stamp::{Authorities, StampRefusal, Stamped, check_time_stamp, look_at_time_stamp};
pub use verify::{verify_folder, verify_zip};
pub use write::PackWriter;
