//! The temporary folder in which a case runs: a copy of its input, changed as the case says, and what lies in it.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use super::description::Edit;
use super::entries::entries;

/// Every file below a folder by its path with `/`; an empty folder stands as its path with `/` at the end.
pub(crate) type Tree = BTreeMap<String, Vec<u8>>;

/// A temporary folder, removed at the end.
pub(crate) struct Workplace {
    _folder: tempfile::TempDir,
    /// Its path, with no link in it.
    pub(crate) path: PathBuf,
}

impl Workplace {
    /// An empty one.
    pub(crate) fn new() -> Result<Self, String> {
        let folder = tempfile::tempdir().map_err(|error| format!("no temporary folder: {error}"))?;
        let path = folder.path().canonicalize().map_err(|error| format!("temporary folder: {error}"))?;
        Ok(Self { _folder: folder, path })
    }

    /// Copies what a folder holds into this one, or into its folder `into`.
    pub(crate) fn copy(&self, from: &Path, into: &str) -> Result<(), String> {
        super::folder::copy(from, &self.path.join(into))
            .map_err(|error| format!("{}: {error}", from.display()))
    }

    /// Makes one change, which must find exactly what it names.
    pub(crate) fn edit(&self, edit: &Edit) -> Result<(), String> {
        let path = self.path.join(&edit.file);
        let fail = |error: std::io::Error| format!("edit of {}: {error}", edit.file);
        let before = std::fs::read(&path).map_err(fail)?;
        let after = match (&edit.replace, &edit.remove_line_containing, &edit.append, edit.delete) {
            (Some(text), None, None, false) => {
                replace(&before, text.as_bytes(), edit.with.as_bytes(), edit.count)
            }
            (None, Some(text), None, false) => remove_lines(&before, text.as_bytes(), edit.count),
            (None, None, Some(text), false) => Ok([before.as_slice(), text.as_bytes()].concat()),
            (None, None, None, true) => return std::fs::remove_file(&path).map_err(fail),
            _ => Err("needs one of `replace`, `remove_line_containing`, `append`, `delete`".to_owned()),
        };
        let after = after.map_err(|reason| format!("edit of {}: {reason}", edit.file))?;
        std::fs::write(&path, after).map_err(fail)
    }

    /// What lies in it now.
    pub(crate) fn tree(&self) -> Result<Tree, String> {
        tree(&self.path)
    }
}

/// What lies below a folder; nothing when there is no such folder.
pub(crate) fn tree(top: &Path) -> Result<Tree, String> {
    let mut tree = Tree::new();
    if top.is_dir() {
        walk(top, "", &mut tree)?;
    }
    Ok(tree)
}

fn walk(folder: &Path, before: &str, tree: &mut Tree) -> Result<(), String> {
    for entry in entries(folder)? {
        let name = entry.file_name().unwrap_or_default().to_string_lossy().into_owned();
        let path = format!("{before}{name}");
        // The journal of a batch names the build that wrote it; cases look at what it leads to.
        if name == ".fulgurite" {
            continue;
        }
        let kind = entry.symlink_metadata().map_err(|error| format!("{path}: {error}"))?;
        if kind.is_symlink() {
            let target = std::fs::read_link(&entry).map_err(|error| format!("{path}: {error}"))?;
            tree.insert(path, format!("link to {}", target.display()).into_bytes());
        } else if kind.is_dir() {
            let held = tree.len();
            walk(&entry, &format!("{path}/"), tree)?;
            if tree.len() == held {
                tree.insert(format!("{path}/"), Vec::new());
            }
        } else {
            tree.insert(path.clone(), std::fs::read(&entry).map_err(|error| format!("{path}: {error}"))?);
        }
    }
    Ok(())
}

fn replace(bytes: &[u8], text: &[u8], with: &[u8], count: usize) -> Result<Vec<u8>, String> {
    if text.is_empty() {
        return Err("nothing to replace".to_owned());
    }
    let mut after = Vec::new();
    let mut rest = bytes;
    let mut found = 0;
    while let Some(place) = rest.windows(text.len()).position(|window| window == text) {
        let (before, tail) = rest.split_at(place);
        after.extend_from_slice(before);
        after.extend_from_slice(with);
        rest = tail.get(text.len()..).unwrap_or_default();
        found += 1;
    }
    after.extend_from_slice(rest);
    counted(after, text, found, count)
}

fn remove_lines(bytes: &[u8], text: &[u8], count: usize) -> Result<Vec<u8>, String> {
    if text.is_empty() {
        return Err("no text to look for".to_owned());
    }
    let holds = |line: &&[u8]| line.windows(text.len()).any(|window| window == text);
    let (gone, kept): (Vec<&[u8]>, Vec<&[u8]>) =
        bytes.split_inclusive(|&byte| byte == b'\n').partition(holds);
    counted(kept.concat(), text, gone.len(), count)
}

fn counted(after: Vec<u8>, text: &[u8], found: usize, count: usize) -> Result<Vec<u8>, String> {
    if found == count {
        return Ok(after);
    }
    Err(format!("`{}` occurs {found} times, not {count}", String::from_utf8_lossy(text)))
}
