//! What a folder holds, in an order that is the same everywhere.

use std::path::{Path, PathBuf};

/// What a folder holds, sorted.
pub(crate) fn entries(folder: &Path) -> Result<Vec<PathBuf>, String> {
    let read = std::fs::read_dir(folder).map_err(|error| format!("{}: {error}", folder.display()))?;
    let mut entries: Vec<PathBuf> = read.flatten().map(|entry| entry.path()).collect();
    entries.sort();
    Ok(entries)
}
