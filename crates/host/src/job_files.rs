//! The files of a job: of a folder on disk, a loose one, or originals at hand already.

use crate::original::Original;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// The plain files of a job, by their names with `/` between folders.
pub(crate) struct Files {
    root: PathBuf,
    /// The names, in their order.
    pub(crate) names: Vec<String>,
    /// Files that are not on disk.
    given: BTreeMap<String, Original>,
    /// The path of a loose file, whose name may not be Unicode.
    loose: Option<PathBuf>,
}

impl Files {
    /// Files at hand already.
    pub(crate) fn given(given: BTreeMap<String, Original>) -> Self {
        Self { root: PathBuf::new(), names: given.keys().cloned().collect(), given, loose: None }
    }

    /// A loose file.
    pub(crate) fn one(file: &Path) -> Self {
        Self { root: PathBuf::new(), names: Vec::new(), given: BTreeMap::new(), loose: Some(file.to_owned()) }
    }

    pub(crate) fn read(&self, name: &str) -> std::io::Result<Original> {
        match (&self.loose, self.given.get(name)) {
            (Some(path), _) => Original::read(path),
            (_, Some(original)) => Ok(original.clone()),
            _ if self.given.is_empty() => Original::read(&self.path(name)),
            _ => Err(std::io::ErrorKind::NotFound.into()),
        }
    }

    pub(crate) fn find(root: &Path) -> std::io::Result<Self> {
        let mut names = Vec::new();
        for entry in walkdir::WalkDir::new(root).sort_by_file_name() {
            let entry = entry
                .map_err(|e| e.into_io_error().unwrap_or_else(|| std::io::Error::other("a loop of links")))?;
            if !entry.file_type().is_file() {
                continue;
            }
            let Ok(below) = entry.path().strip_prefix(root) else { continue };
            let parts: Vec<String> =
                below.components().map(|c| c.as_os_str().to_string_lossy().into_owned()).collect();
            // Names that begin with a dot belong to the system or to a tool.
            if parts.iter().any(|p| p.starts_with('.')) {
                continue;
            }
            names.push(parts.join("/"));
        }
        names.sort();
        Ok(Self { root: root.to_owned(), names, given: BTreeMap::new(), loose: None })
    }

    fn path(&self, name: &str) -> PathBuf {
        name.split('/').fold(self.root.clone(), |path, part| path.join(part))
    }

    pub(crate) fn matching(&self, pattern: &str) -> Result<Vec<String>, globset::Error> {
        if self.names.iter().any(|n| n == pattern) {
            return Ok(vec![pattern.to_owned()]);
        }
        let glob = globset::GlobBuilder::new(pattern).literal_separator(true).build()?.compile_matcher();
        Ok(self.names.iter().filter(|n| glob.is_match(n)).cloned().collect())
    }
}
