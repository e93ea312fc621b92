//! Puts artifacts on disk: written aside, synchronised, then renamed; never half of one.

use crate::HostError;
use crate::original::Originals;
use plugin_api::{Artifact, Body, OriginalFiles};
use std::fs::File;
use std::io::{self, BufWriter, Read, Write};
use std::path::{Component, Path, PathBuf};

/// A file that was written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Written {
    /// Where.
    pub path: PathBuf,
    /// Its size.
    pub bytes: u64,
    /// It was there already, with the same bytes.
    pub unchanged: bool,
}

/// Writes all artifacts of a job below a folder. Either all of them appear, or none.
///
/// An existing file with the same bytes is left alone; one that differs is refused unless `replace`.
pub(crate) fn write_all(
    folder: &Path,
    artifacts: Vec<Artifact>,
    originals: &Originals,
    replace: bool,
) -> Result<Vec<Written>, HostError> {
    let fail = |path: &Path| {
        let path = path.to_owned();
        move |source| HostError::WriteOutput { path, source }
    };
    let mut targets = Vec::new();
    for artifact in &artifacts {
        let safe = Path::new(&artifact.path).components().all(|c| matches!(c, Component::Normal(_)))
            && !artifact.path.is_empty()
            && !artifact.path.contains(['\\', ':', '\0'])
            && !targets.iter().any(|(path, _): &(String, PathBuf)| path.eq_ignore_ascii_case(&artifact.path));
        if !safe {
            return Err(HostError::BadArtifact {
                plugin: artifact.format.to_owned(),
                path: artifact.path.clone(),
            });
        }
        let target = artifact.path.split('/').fold(folder.to_owned(), |path, part| path.join(part));
        targets.push((artifact.path.clone(), target));
    }
    std::fs::create_dir_all(folder).map_err(fail(folder))?;
    let aside = tempfile::Builder::new().prefix(".fulgurite-").tempdir_in(folder).map_err(fail(folder))?;
    let mut ready = Vec::new();
    for ((index, artifact), (_, target)) in artifacts.into_iter().enumerate().zip(&targets) {
        let path = aside.path().join(index.to_string());
        let bytes = write_one(&path, artifact.body, originals).map_err(fail(target))?;
        let unchanged = match std::fs::metadata(target) {
            Ok(_) if same_bytes(&path, target).map_err(fail(target))? => true,
            Ok(_) if !replace => return Err(HostError::OutputExists { path: target.clone() }),
            _ => false,
        };
        ready.push((path, target.clone(), bytes, unchanged));
    }
    let mut written = Vec::new();
    for (path, target, bytes, unchanged) in ready {
        if !unchanged {
            if let Some(parent) = target.parent() {
                std::fs::create_dir_all(parent).map_err(fail(&target))?;
            }
            std::fs::rename(&path, &target).map_err(fail(&target))?;
        }
        written.push(Written { path: target, bytes, unchanged });
    }
    drop(aside);
    sync_folder(folder);
    Ok(written)
}

fn write_one(path: &Path, body: Body, originals: &Originals) -> io::Result<u64> {
    let mut file = BufWriter::new(File::create_new(path)?);
    match body {
        Body::Bytes(bytes) => file.write_all(&bytes)?,
        Body::Stream(write) => write(&mut file)?,
        Body::Source(id) => {
            io::copy(&mut originals.open(id)?, &mut file)?;
        }
    }
    let file = file.into_inner().map_err(io::IntoInnerError::into_error)?;
    file.sync_all()?;
    Ok(file.metadata()?.len())
}

fn same_bytes(a: &Path, b: &Path) -> io::Result<bool> {
    if std::fs::metadata(a)?.len() != std::fs::metadata(b)?.len() {
        return Ok(false);
    }
    let (mut a, mut b) = (File::open(a)?, File::open(b)?);
    let (mut left, mut right) = (vec![0; 1 << 16], vec![0; 1 << 16]);
    loop {
        let count = a.read(&mut left)?;
        if count == 0 {
            return Ok(true);
        }
        let (Some(left), Some(right)) = (left.get(..count), right.get_mut(..count)) else { return Ok(false) };
        b.read_exact(right)?;
        if left != right {
            return Ok(false);
        }
    }
}

/// The names are on disk only once the folder is; where a system can't synchronise a folder, its own
/// guarantees hold.
fn sync_folder(folder: &Path) {
    if let Ok(handle) = File::open(folder) {
        let _ = handle.sync_all();
    }
}
