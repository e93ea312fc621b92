//! What the program knows of itself, and files that no job asked for.

use crate::HostError;
use crate::original::{Original, Originals};
use crate::output::{Written, write_all};
use plugin_api::Artifact;
use std::path::Path;

/// SHA-256 of the file that is running, in hexadecimal; none where the system doesn't tell.
pub fn program_sha256() -> Option<String> {
    let path = std::env::current_exe().ok()?;
    Some(Original::read(&path).ok()?.sha256)
}

/// Writes files below a folder; either all of them appear, or none.
///
/// # Errors
/// An existing file that differs, unless `replace`; a file that can't be written.
pub fn write_files(
    folder: &Path,
    artifacts: Vec<Artifact>,
    replace: bool,
) -> Result<Vec<Written>, HostError> {
    write_all(folder, artifacts, &Originals::default(), replace)
}
