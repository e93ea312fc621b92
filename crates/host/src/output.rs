//! Puts artifacts on disk: written aside, synchronised, then renamed; never half of one.

use crate::HostError;
use crate::original::Originals;
use plugin_api::{Artifact, Body, OriginalFiles};
use std::fs::{File, TryLockError};
use std::io::{self, BufWriter, Read, Write};
use std::path::{Component, Path, PathBuf};

/// How the names of things that are being made begin.
const ASIDE: &str = ".fulgurite-";
/// The file in them that the run that makes them holds locked.
const IN_USE: &str = "in-use";

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

/// Writes all artifacts of a job below a folder. Either all of them appear, or none; a power cut between two
/// renames can leave some, each of them whole.
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
    if artifacts.is_empty() {
        return Ok(Vec::new());
    }
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
    let (aside, in_use) = place_aside(folder).map_err(fail(folder))?;
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
    let mut move_in = MoveIn { aside: aside.path(), done: Vec::new(), folders: Vec::new() };
    let mut written = Vec::new();
    for (path, target, bytes, unchanged) in ready {
        if !unchanged && let Err(source) = move_in.file(&path, &target) {
            move_in.undo();
            return Err(HostError::WriteOutput { path: target, source });
        }
        written.push(Written { path: target, bytes, unchanged });
    }
    // Some systems remove no file that is open.
    drop(in_use);
    drop(aside);
    sync_folder(folder);
    Ok(written)
}

/// Moves finished files to their places, so that all of it can be undone.
struct MoveIn<'a> {
    aside: &'a Path,
    /// Each file in place, and where the file that it replaced was put.
    done: Vec<(PathBuf, Option<PathBuf>)>,
    /// Folders that were made on the way, outer ones first.
    folders: Vec<PathBuf>,
}

impl MoveIn<'_> {
    fn file(&mut self, from: &Path, to: &Path) -> io::Result<()> {
        if let Some(parent) = to.parent() {
            self.folder(parent)?;
        }
        let before = match std::fs::symlink_metadata(to) {
            Ok(there) if there.is_dir() => {
                return Err(io::Error::new(io::ErrorKind::IsADirectory, "a folder of that name is there"));
            }
            Ok(_) => {
                let kept = self.aside.join(format!("before-{}", self.done.len()));
                std::fs::rename(to, &kept)?;
                Some(kept)
            }
            Err(_) => None,
        };
        match std::fs::rename(from, to) {
            Ok(()) => {
                self.done.push((to.to_owned(), before));
                Ok(())
            }
            Err(error) => {
                if let Some(kept) = before {
                    let _ = std::fs::rename(kept, to);
                }
                Err(error)
            }
        }
    }

    fn folder(&mut self, folder: &Path) -> io::Result<()> {
        if folder.is_dir() {
            return Ok(());
        }
        if let Some(parent) = folder.parent() {
            self.folder(parent)?;
        }
        match std::fs::create_dir(folder) {
            Ok(()) => self.folders.push(folder.to_owned()),
            // Another job may have made it meanwhile.
            Err(_) if folder.is_dir() => {}
            Err(error) => return Err(error),
        }
        Ok(())
    }

    /// Puts everything back as it was, the last first. What can't be put back is left: there is nothing
    /// better to do with a disk that refuses both ways.
    fn undo(&mut self) {
        for (target, before) in self.done.drain(..).rev() {
            let _ = match before {
                Some(kept) => std::fs::rename(kept, &target),
                None => std::fs::remove_file(&target),
            };
        }
        for folder in self.folders.drain(..).rev() {
            let _ = std::fs::remove_dir(folder);
        }
    }
}

/// A file that appears whole when it is finished, over one that is there, or not at all.
#[derive(Debug)]
pub struct WholeFile {
    aside: BufWriter<tempfile::NamedTempFile>,
    path: PathBuf,
}

impl WholeFile {
    /// Begins to write it, aside.
    ///
    /// # Errors
    /// When its folder can't be made or written to.
    pub fn begin(path: &Path) -> Result<Self, HostError> {
        let fail = |source| HostError::WriteOutput { path: path.to_owned(), source };
        let folder = folder_of(path);
        std::fs::create_dir_all(folder).map_err(fail)?;
        let mut aside = tempfile::Builder::new();
        // As any file that the user makes: temporary ones are made for their owner alone otherwise.
        #[cfg(unix)]
        aside.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
        let aside = aside.prefix(ASIDE).tempfile_in(folder).map_err(fail)?;
        Ok(Self { aside: BufWriter::new(aside), path: path.to_owned() })
    }

    /// Puts it in its place.
    ///
    /// # Errors
    /// When it can't be written or renamed.
    pub fn finish(self) -> Result<(), HostError> {
        let fail = |source| HostError::WriteOutput { path: self.path.clone(), source };
        let aside = self.aside.into_inner().map_err(io::IntoInnerError::into_error).map_err(fail)?;
        aside.as_file().sync_all().map_err(fail)?;
        aside.persist(&self.path).map_err(|error| fail(error.error))?;
        sync_folder(folder_of(&self.path));
        Ok(())
    }
}

impl Write for WholeFile {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.aside.write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.aside.flush()
    }
}

/// Makes a folder aside, and the file in it that is locked while this run writes: the system lets go of it when the
/// run is killed. Another run may take the folder for a leftover until the lock is there; then a new one is made.
fn place_aside(folder: &Path) -> io::Result<(tempfile::TempDir, File)> {
    let mut tries = 0;
    loop {
        let aside = tempfile::Builder::new().prefix(ASIDE).tempdir_in(folder)?;
        let path = aside.path().join(IN_USE);
        let made = File::create_new(&path).and_then(|file| match file.try_lock() {
            Err(TryLockError::WouldBlock) => Err(io::ErrorKind::NotFound.into()),
            // Some network shares know no locks; leftovers stay there.
            Ok(()) | Err(TryLockError::Error(_)) => std::fs::metadata(&path).map(|_| file),
        });
        tries += 1;
        match made {
            Ok(in_use) => return Ok((aside, in_use)),
            Err(error) if error.kind() == io::ErrorKind::NotFound && tries < 10 => {}
            Err(error) => return Err(error),
        }
    }
}

/// Removes what a run that was killed left aside in a folder to which no other run writes.
pub(crate) fn remove_leftovers(folder: &Path) {
    for aside in left_aside(folder) {
        // What can't be removed is in nobody's way.
        let _ = std::fs::remove_dir_all(aside);
    }
}

/// Removes what killed runs left aside in a folder; what another run is writing there stays.
pub(crate) fn remove_ended(folder: &Path) {
    for aside in left_aside(folder) {
        match File::open(aside.join(IN_USE)) {
            Ok(in_use) if in_use.try_lock().is_ok() => {
                let _ = std::fs::remove_dir_all(aside);
            }
            Ok(_) => {}
            // Killed before it held anything.
            Err(_) => {
                let _ = std::fs::remove_dir(aside);
            }
        }
    }
}

fn left_aside(folder: &Path) -> impl Iterator<Item = PathBuf> {
    let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
    entries.filter(|entry| entry.file_name().to_string_lossy().starts_with(ASIDE)).map(|entry| entry.path())
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

/// The folder that a name is in; a bare name is in the present one.
pub(crate) fn folder_of(path: &Path) -> &Path {
    path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

/// The names are on disk only once the folder is; where a system can't synchronise a folder, its own
/// guarantees hold.
pub(crate) fn sync_folder(folder: &Path) {
    if let Ok(handle) = File::open(folder) {
        let _ = handle.sync_all();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn text(path: &str, text: &str) -> Artifact {
        Artifact::bytes(path.to_owned(), "text/plain", "test", text.as_bytes().to_vec())
    }

    fn files(folder: &Path) -> Vec<(String, String)> {
        let mut list: Vec<(String, String)> = walkdir::WalkDir::new(folder)
            .min_depth(1)
            .into_iter()
            .map(|entry| {
                let entry = entry.unwrap();
                let name = entry.path().strip_prefix(folder).unwrap().to_str().unwrap().to_owned();
                (name, std::fs::read_to_string(entry.path()).unwrap_or_default())
            })
            .collect();
        list.sort();
        list
    }

    /// The last file can't be put in place since a folder has its name: everything is as before.
    #[test]
    fn a_file_that_cannot_be_put_in_place_leaves_nothing_of_the_others() {
        let folder = tempfile::tempdir().unwrap();
        let originals = Originals::default();
        write_all(folder.path(), vec![text("a.txt", "old")], &originals, false).unwrap();
        std::fs::create_dir(folder.path().join("z.txt")).unwrap();
        let before = files(folder.path());
        let artifacts = || vec![text("a.txt", "new"), text("deep/er/b.txt", "b"), text("z.txt", "z")];
        for replace in [false, true] {
            assert!(write_all(folder.path(), artifacts(), &originals, replace).is_err());
            assert_eq!(files(folder.path()), before);
        }
        std::fs::remove_dir(folder.path().join("z.txt")).unwrap();
        write_all(folder.path(), artifacts(), &originals, true).unwrap();
        assert_eq!(files(folder.path()).iter().filter(|(_, text)| !text.is_empty()).count(), 3);
        assert!(files(folder.path()).contains(&("a.txt".to_owned(), "new".to_owned())));
    }
}
