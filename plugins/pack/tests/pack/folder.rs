//! A folder on disk as a store, as the host has one.

use plugin_pack::{EntryKind, Store, StoreEntry};
use std::fs;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

/// Every file and folder below a path, links not followed.
pub(crate) struct Folder {
    top: PathBuf,
    entries: Vec<StoreEntry>,
}

impl Folder {
    pub(crate) fn new(top: &Path) -> io::Result<Self> {
        let mut entries = Vec::new();
        list(top, "", &mut entries)?;
        Ok(Self { top: top.to_owned(), entries })
    }
}

fn list(folder: &Path, prefix: &str, entries: &mut Vec<StoreEntry>) -> io::Result<()> {
    let mut found: Vec<_> = fs::read_dir(folder)?.collect::<Result<_, _>>()?;
    found.sort_by_key(std::fs::DirEntry::file_name);
    for entry in found {
        let name = entry.file_name().into_string().map_err(|_| io::Error::other("a name is not Unicode"))?;
        let path = format!("{prefix}{name}");
        let kind = entry.file_type()?;
        let (kind, size) = if kind.is_dir() {
            (EntryKind::Folder, 0)
        } else if kind.is_symlink() {
            (EntryKind::Link, 0)
        } else if kind.is_file() {
            (EntryKind::File, entry.metadata()?.len())
        } else {
            (EntryKind::Special, 0)
        };
        if kind == EntryKind::Folder {
            list(&entry.path(), &format!("{path}/"), entries)?;
        }
        entries.push(StoreEntry { path, kind, size });
    }
    Ok(())
}

impl Store for Folder {
    fn entries(&self) -> &[StoreEntry] {
        &self.entries
    }

    fn open(&mut self, index: usize) -> io::Result<Box<dyn Read + '_>> {
        let entry = self.entries.get(index).ok_or_else(|| io::Error::other("no such entry"))?;
        Ok(Box::new(fs::File::open(self.top.join(&entry.path))?))
    }
}

/// Writes a file and its folders below `top`.
pub(crate) fn put(top: &Path, path: &str, bytes: &[u8]) {
    let full = top.join(path);
    fs::create_dir_all(full.parent().unwrap()).unwrap();
    fs::write(full, bytes).unwrap();
}

/// Unpacks a zip with an outside library.
pub(crate) fn unpack(zip: &[u8], top: &Path) {
    zip::ZipArchive::new(io::Cursor::new(zip)).unwrap().extract(top).unwrap();
}
