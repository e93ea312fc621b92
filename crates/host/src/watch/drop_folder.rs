//! The drop folder: which of its entries are whole, and the renames that an input goes through.

use super::WholeRule;
use crate::HostError;
use crate::journal::{self, JournalLock};
use crate::output::{WholeFile, sync_folder};
use std::collections::BTreeMap;
use std::ffi::{OsStr, OsString};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::time::{Instant, SystemTime};

/// Inputs that were taken and not answered yet, the lock, and the next number.
const TAKEN: &str = ".taken";
const DONE: &str = "done";
const REFUSED: &str = "refused";
/// What follows a name in its marker's; alone, the marker of an input that was taken.
const MARKER: &str = ".ready";
const NEXT: &str = "next-number";
/// So many numbers are set apart at a time; those that a killed run did not use are not used at all.
const APART: u64 = 64;
/// Endings of files that are on their way: their sender renames them when they are whole.
const ON_THE_WAY: &[&str] = &["part", "partial", "filepart", "crdownload", "tmp", "temp"];

/// An input that was taken.
#[derive(Clone, Debug)]
pub(super) struct Taken {
    /// Number and name.
    pub(super) id: String,
    /// The name under which it was dropped.
    pub(super) name: OsString,
}

/// Names, sizes and modification times: what shows that somebody is still writing.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Look(Vec<(PathBuf, u64, Option<SystemTime>)>);

/// Looks at a file, or at everything in a folder; none where it can't be looked at, which is as good as changing.
pub(super) fn look(path: &Path) -> Option<Look> {
    let mut all = Vec::new();
    for entry in walkdir::WalkDir::new(path).sort_by_file_name() {
        let entry = entry.ok()?;
        let meta = entry.metadata().ok()?;
        // A folder's own time changes with its names, which are looked at anyway.
        let (size, time) = if meta.is_file() { (meta.len(), meta.modified().ok()) } else { (0, None) };
        all.push((entry.path().strip_prefix(path).ok()?.to_owned(), size, time));
    }
    Some(Look(all))
}

/// What a look at the drop folder showed.
#[derive(Debug, Default)]
pub(super) struct Seen {
    /// Whole, in the order of the names.
    pub(super) whole: Vec<OsString>,
    /// Something is there that may be whole later without anybody doing more.
    pub(super) some_settling: bool,
}

/// Where inputs lie.
#[derive(Clone, Debug)]
pub(super) struct Places {
    drop: PathBuf,
}

impl Places {
    /// The input itself, once it was taken.
    pub(super) fn taken(&self, taken: &Taken) -> PathBuf {
        self.drop.join(TAKEN).join(&taken.id).join(&taken.name)
    }

    /// Moves an input that was answered to its last place.
    pub(super) fn put_away(&self, taken: &Taken, refused: bool) -> Result<(), HostError> {
        let folder = self.drop.join(if refused { REFUSED } else { DONE });
        let (from, to) = (self.taken(taken), folder.join(&taken.id));
        let fail = |path: &Path| {
            let path = path.to_owned();
            move |source| HostError::WriteOutput { path, source }
        };
        std::fs::create_dir_all(&folder).map_err(fail(&folder))?;
        match (exists(&from), exists(&to)) {
            // A rename that was tried before and did happen.
            (false, true) => {}
            (_, true) => return Err(HostError::OutputExists { path: to }),
            (_, false) => {
                std::fs::rename(&from, &to).map_err(fail(&to))?;
                sync_folder(&folder);
                sync_folder(&self.drop.join(TAKEN).join(&taken.id));
                sync_folder(&self.drop);
            }
        }
        self.clear(&taken.id);
        Ok(())
    }

    /// Removes the folder of an input that has left it.
    fn clear(&self, id: &str) {
        let folder = self.drop.join(TAKEN).join(id);
        // What stays is empty, and removed by the next run.
        let _ = std::fs::remove_file(folder.join(MARKER));
        let _ = std::fs::remove_dir(&folder);
        sync_folder(&self.drop.join(TAKEN));
    }
}

fn exists(path: &Path) -> bool {
    std::fs::symlink_metadata(path).is_ok()
}

/// The drop folder, held by one run at a time.
pub(super) struct DropFolder {
    places: Places,
    /// Entries that were seen, how they looked, and since when.
    settling: BTreeMap<OsString, (Look, Instant)>,
    next: u64,
    set_apart: u64,
    _lock: JournalLock,
}

impl DropFolder {
    /// Opens it, and makes the folders for what is done and refused.
    pub(super) fn open(drop: &Path) -> Result<Self, HostError> {
        if !drop.is_dir() {
            let source = io::Error::new(io::ErrorKind::NotFound, "there is no such folder");
            return Err(HostError::ReadInput { path: drop.to_owned(), source });
        }
        for name in [TAKEN, DONE, REFUSED] {
            let path = drop.join(name);
            std::fs::create_dir_all(&path).map_err(|source| HostError::WriteOutput { path, source })?;
        }
        sync_folder(drop);
        let lock = journal::hold_at(&drop.join(TAKEN), drop)?;
        let places = Places { drop: drop.to_owned() };
        let mut folder = Self { places, settling: BTreeMap::new(), next: 1, set_apart: 0, _lock: lock };
        let kept = std::fs::read_to_string(drop.join(TAKEN).join(NEXT)).ok();
        let kept = kept.and_then(|text| text.trim().parse::<u64>().ok()).unwrap_or(1);
        folder.next = kept;
        folder.set_apart = kept;
        for name in [TAKEN, DONE, REFUSED] {
            for entry in folder.entries(&drop.join(name))? {
                folder.next = folder.next.max(number(&entry.to_string_lossy()) + 1);
            }
        }
        Ok(folder)
    }

    pub(super) fn places(&self) -> Places {
        self.places.clone()
    }

    /// No number up to this one is given again.
    pub(super) fn numbers_from(&mut self, highest: u64) -> Result<(), HostError> {
        self.next = self.next.max(highest + 1);
        self.set_numbers_apart()
    }

    fn set_numbers_apart(&mut self) -> Result<(), HostError> {
        if self.next < self.set_apart {
            return Ok(());
        }
        let path = self.places.drop.join(TAKEN).join(NEXT);
        let mut file = WholeFile::begin(&path)?;
        self.set_apart = self.next + APART;
        writeln!(file, "{}", self.set_apart).map_err(|source| HostError::WriteOutput { path, source })?;
        file.finish()
    }

    fn entries(&self, folder: &Path) -> Result<Vec<OsString>, HostError> {
        let fail = |source| HostError::ReadInput { path: folder.to_owned(), source };
        let mut names = Vec::new();
        for entry in std::fs::read_dir(folder).map_err(fail)? {
            names.push(entry.map_err(fail)?.file_name());
        }
        names.sort();
        Ok(names)
    }

    /// Inputs that a run that was killed had taken; one that was about to be taken is taken now.
    pub(super) fn left_over(&mut self) -> Result<Vec<Taken>, HostError> {
        let taken = self.places.drop.join(TAKEN);
        let mut inputs = Vec::new();
        for id in self.entries(&taken)? {
            let folder = taken.join(&id);
            if !folder.is_dir() {
                continue;
            }
            let id = id.to_string_lossy().into_owned();
            let inside = self.entries(&folder)?;
            let input = inside.iter().find(|name| *name != MARKER);
            if let Some(name) = input {
                inputs.push(Taken { id, name: name.clone() });
                continue;
            }
            let name = OsString::from(id.split_once('-').map_or("", |(_, name)| name));
            if !inside.is_empty() && !name.is_empty() && exists(&self.places.drop.join(&name)) {
                self.rename(&self.places.drop.join(&name), &folder.join(&name))?;
                inputs.push(Taken { id, name });
            } else {
                self.places.clear(&id);
            }
        }
        Ok(inputs)
    }

    /// Looks which entries are whole.
    pub(super) fn scan(&mut self, rule: WholeRule) -> Result<Seen, HostError> {
        let mut seen = Seen::default();
        let mut before = std::mem::take(&mut self.settling);
        let names = self.entries(&self.places.drop)?;
        for name in &names {
            let path = self.places.drop.join(name);
            if !is_input(name, &path) {
                continue;
            }
            if names.binary_search(&marker(name)).is_ok() {
                seen.whole.push(name.clone());
                continue;
            }
            let WholeRule::Settled(time) = rule else { continue };
            let Some(look) = look(&path) else {
                seen.some_settling = true;
                continue;
            };
            let since = match before.remove(name) {
                Some((earlier, since)) if earlier == look => since,
                _ => Instant::now(),
            };
            if since.elapsed() >= time {
                seen.whole.push(name.clone());
            } else {
                seen.some_settling = true;
                self.settling.insert(name.clone(), (look, since));
            }
        }
        Ok(seen)
    }

    /// Takes an input that is whole.
    pub(super) fn take(&mut self, name: &OsStr) -> Result<Taken, HostError> {
        self.set_numbers_apart()?;
        let id = format!("{:06}-{}", self.next, name.to_string_lossy());
        self.next += 1;
        let folder = self.places.drop.join(TAKEN).join(&id);
        std::fs::create_dir(&folder)
            .map_err(|source| HostError::WriteOutput { path: folder.clone(), source })?;
        // On disk before anything is moved into it: what lies in a folder without a name is lost.
        sync_folder(&self.places.drop.join(TAKEN));
        let marker = self.places.drop.join(marker(name));
        // The marker first: alone, it would call the next input of that name whole.
        let marked = exists(&marker);
        if marked && let Err(error) = self.rename(&marker, &folder.join(MARKER)) {
            let _ = std::fs::remove_dir(&folder);
            return Err(error);
        }
        if let Err(error) = self.rename(&self.places.drop.join(name), &folder.join(name)) {
            // Some systems rename nothing that is open: it is not whole then.
            if marked {
                let _ = std::fs::rename(folder.join(MARKER), &marker);
            }
            let _ = std::fs::remove_dir(&folder);
            return Err(error);
        }
        Ok(Taken { id, name: name.to_owned() })
    }

    fn rename(&self, from: &Path, to: &Path) -> Result<(), HostError> {
        std::fs::rename(from, to)
            .map_err(|source| HostError::WriteOutput { path: from.to_owned(), source })?;
        if let Some(folder) = to.parent() {
            sync_folder(folder);
        }
        sync_folder(&self.places.drop);
        Ok(())
    }
}

fn marker(name: &OsStr) -> OsString {
    let mut marker = name.to_owned();
    marker.push(MARKER);
    marker
}

/// Whether an entry of the drop folder is a job, or on its way to be one.
fn is_input(name: &OsStr, path: &Path) -> bool {
    let text = name.to_string_lossy();
    let kind = std::fs::symlink_metadata(path).map(|meta| meta.file_type());
    let ending = Path::new(name).extension().map(|e| e.to_string_lossy().to_lowercase());
    // Links are not followed: what they lead to is not in the folder.
    kind.is_ok_and(|kind| kind.is_file() || kind.is_dir())
        && !text.starts_with('.')
        && !text.ends_with(MARKER)
        && name != DONE
        && name != REFUSED
        && !ending.is_some_and(|ending| ON_THE_WAY.contains(&ending.as_str()))
}

/// The number of an id; 0 for a name that has none.
pub(super) fn number(id: &str) -> u64 {
    id.split_once('-').and_then(|(number, _)| number.parse().ok()).unwrap_or(0)
}
