//! Which plug-in it is, to the byte: checksums of its program and of its `plugin.toml`.

use super::PLUGIN_FILE;
use super::manifest::Manifest;
use crate::original::hex;
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::io::Read;
use std::path::{Component, Path, PathBuf};

/// A plug-in is a few files; a folder beyond this is something else.
const MOST_FILES: usize = 1000;
const MOST_BYTES: u64 = 512 << 20;

/// Folders that hold what is built or tried, not what runs; files in them count where `argv` or `files` names them.
const BESIDE: [&str; 5] = ["fixtures", "target", "__pycache__", "node_modules", "tests"];

/// Checksums of what would run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Identity {
    /// SHA-256 of the program. Of several files: of the list that `sha256sum` prints of them, sorted by path.
    pub program: String,
    /// SHA-256 of `plugin.toml`.
    pub manifest: String,
}

impl Identity {
    /// Of the plug-in in a folder: its files, without those that begin with a point and those of `fixtures`, `tests`,
    /// `target`, `node_modules` and `__pycache__`; and whatever `argv` and `files` name. An interpreter that `argv`
    /// names by its bare name belongs to the system, and is not among them.
    ///
    /// # Errors
    /// A file that can't be read, a link, or too many of them.
    pub(crate) fn of(folder: &Path, manifest: &Manifest) -> Result<Self, String> {
        let mut files: BTreeMap<String, PathBuf> = BTreeMap::new();
        let walk = walkdir::WalkDir::new(folder).min_depth(1).into_iter().filter_entry(|entry| {
            let name = entry.file_name().to_string_lossy();
            let beside = entry.file_type().is_dir() && BESIDE.contains(&&*name);
            !(name.starts_with('.') || beside)
        });
        for entry in walk {
            let entry = entry.map_err(|error| format!("its files can't be listed: {error}"))?;
            let path = entry.path().strip_prefix(folder).unwrap_or(entry.path());
            let name = path
                .components()
                .map(|part| part.as_os_str().to_str())
                .collect::<Option<Vec<_>>>()
                .ok_or_else(|| format!("{} is not a name in Unicode", path.display()))?
                .join("/");
            if entry.file_type().is_symlink() {
                return Err(format!("`{name}` is a link: what it leads to could change unseen"));
            }
            if entry.file_type().is_file() && name != PLUGIN_FILE {
                files.insert(name, entry.path().to_owned());
            }
            if files.len() > MOST_FILES {
                return Err(format!("its folder holds more than {MOST_FILES} files"));
            }
        }
        for named in &manifest.files {
            let path = named_file(folder, named)
                .ok_or_else(|| format!("`files` names `{named}`, which is no file"))?;
            files.insert(named.clone(), path);
        }
        for (place, named) in manifest.argv().iter().enumerate() {
            match named_file(folder, named) {
                Some(path) => {
                    let name = path
                        .strip_prefix(folder)
                        .map_or_else(|_| named.clone(), |below| below.to_string_lossy().replace('\\', "/"));
                    files.insert(name, path);
                }
                None if place == 0 && has_folder(named) => {
                    return Err(format!(
                        "its program `{named}` is not there: if it has to be built, build it first"
                    ));
                }
                None => {}
            }
        }
        if files.is_empty() {
            return Err("its folder holds nothing that could run".to_owned());
        }
        let mut left = MOST_BYTES;
        let mut sums = Vec::new();
        for (name, path) in &files {
            sums.push((name, sum(path, &mut left).map_err(|why| format!("`{name}`: {why}"))?));
        }
        let program = match sums.as_slice() {
            [(_, only)] => only.clone(),
            several => {
                let list: String = several.iter().map(|(name, sum)| format!("{sum}  {name}\n")).collect();
                hex(&Sha256::digest(list.as_bytes()))
            }
        };
        let manifest = sum(&folder.join(PLUGIN_FILE), &mut left)?;
        Ok(Self { program, manifest })
    }
}

/// Whether a program is named by a path, rather than by a name that the system looks up.
pub(crate) fn has_folder(named: &str) -> bool {
    named.contains(['/', '\\'])
}

/// The file that a part of `argv` stands for: one of the folder, or one that is named by its whole path.
pub(crate) fn named_file(folder: &Path, named: &str) -> Option<PathBuf> {
    let path = Path::new(named);
    let plain = path.components().all(|part| matches!(part, Component::Normal(_) | Component::CurDir));
    if named.is_empty() || !(plain || path.is_absolute()) {
        return None;
    }
    let path: PathBuf = if path.is_absolute() {
        path.to_owned()
    } else {
        path.components()
            .filter(|part| *part != Component::CurDir)
            .fold(folder.to_owned(), |path, part| path.join(part))
    };
    path.is_file().then_some(path)
}

fn sum(path: &Path, left: &mut u64) -> Result<String, String> {
    let fail = |error: std::io::Error| format!("it can't be read: {error}");
    let mut file = std::fs::File::open(path).map_err(fail)?;
    let mut hasher = Sha256::new();
    let mut buffer = vec![0; 64 << 10];
    loop {
        let count = file.read(&mut buffer).map_err(fail)?;
        let Some(part) = buffer.get(..count).filter(|part| !part.is_empty()) else { break };
        *left = left
            .checked_sub(part.len() as u64)
            .ok_or_else(|| format!("more than {} MiB in its folder", MOST_BYTES >> 20))?;
        hasher.update(part);
    }
    Ok(hex(&hasher.finalize()))
}
