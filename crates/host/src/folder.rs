//! A folder as a list of files: for checking an unpacked evidence pack.

use crate::HostError;
use std::fs::File;
use std::io;
use std::path::{Path, PathBuf};

/// What is found at a path below a folder.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Found {
    /// A plain file.
    File,
    /// A folder.
    Folder,
    /// A link; not followed.
    Link,
    /// A device, pipe or socket.
    Special,
}

/// Everything below a folder, in the order of the names; links are listed and not followed.
#[derive(Debug)]
pub struct FolderTree {
    entries: Vec<(String, Found, u64)>,
    paths: Vec<PathBuf>,
}

impl FolderTree {
    /// Lists a folder.
    ///
    /// # Errors
    /// When it can't be read, or a name in it is not Unicode.
    pub fn list(root: &Path) -> Result<Self, HostError> {
        let fail = |path: &Path, source| HostError::ReadInput { path: path.to_owned(), source };
        let mut tree = Self { entries: Vec::new(), paths: Vec::new() };
        for entry in walkdir::WalkDir::new(root).min_depth(1).sort_by_file_name() {
            let entry = entry.map_err(|error| {
                let path = error.path().unwrap_or(root).to_owned();
                fail(&path, error.into_io_error().unwrap_or_else(|| io::Error::other("a loop of links")))
            })?;
            let below = entry.path().strip_prefix(root).unwrap_or(entry.path());
            let mut name = String::new();
            for part in below.components() {
                let part = part.as_os_str().to_str().ok_or_else(|| {
                    fail(
                        entry.path(),
                        io::Error::new(io::ErrorKind::InvalidData, "a name that is not Unicode"),
                    )
                })?;
                if !name.is_empty() {
                    name.push('/');
                }
                name += part;
            }
            let kind = entry.file_type();
            let found = if kind.is_symlink() {
                Found::Link
            } else if kind.is_dir() {
                Found::Folder
            } else if kind.is_file() {
                Found::File
            } else {
                Found::Special
            };
            let size = if found == Found::File {
                entry.metadata().map_err(|e| fail(entry.path(), e.into()))?.len()
            } else {
                0
            };
            tree.entries.push((name, found, size));
            tree.paths.push(entry.into_path());
        }
        Ok(tree)
    }

    /// Name below the folder with `/` between parts, what it is, and its size in bytes.
    pub fn entries(&self) -> &[(String, Found, u64)] {
        &self.entries
    }

    /// Every file with its bytes, for small trees such as a template's.
    ///
    /// # Errors
    /// When one of them can't be read.
    pub fn contents(&self) -> Result<Vec<(String, Vec<u8>)>, HostError> {
        let mut all = Vec::new();
        for ((name, found, _), path) in self.entries.iter().zip(&self.paths) {
            if *found == Found::File {
                let bytes = std::fs::read(path)
                    .map_err(|source| HostError::ReadInput { path: path.clone(), source })?;
                all.push((name.clone(), bytes));
            }
        }
        Ok(all)
    }

    /// Opens a file by its position.
    ///
    /// # Errors
    /// When it can't be opened, or is no plain file.
    pub fn open(&self, index: usize) -> io::Result<File> {
        match (self.paths.get(index), self.entries.get(index)) {
            (Some(path), Some((_, Found::File, _))) => File::open(path),
            _ => Err(io::Error::new(io::ErrorKind::InvalidInput, "not a plain file")),
        }
    }
}
