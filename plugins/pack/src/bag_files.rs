//! The files of one bag inside a store, by their path from the bag's base folder.

use crate::algorithms::{Algorithm, Digests};
use crate::report::Problem;
use crate::store::{EntryKind, Store};
use std::collections::BTreeMap;
use std::io::{self, Read};
use unicode_normalization::UnicodeNormalization as _;

/// Where the bag is in the store.
#[derive(Debug)]
pub(crate) struct Root {
    /// Ends with `/`, or is empty for a bag at the store's top.
    pub(crate) prefix: String,
}

/// Finds the one bag of a store.
pub(crate) fn find_root(store: &dyn Store) -> Result<Root, Problem> {
    let entries = store.entries();
    let mut tops: Vec<&str> =
        entries.iter().map(|entry| entry.path.split('/').next().unwrap_or_default()).collect();
    tops.sort_unstable();
    tops.dedup();
    let mut bags: Vec<&str> = Vec::new();
    for entry in entries.iter().filter(|entry| entry.kind == EntryKind::File) {
        match entry.path.split_once('/') {
            None if entry.path == "bagit.txt" => return Ok(Root { prefix: String::new() }),
            Some((top, "bagit.txt")) => bags.push(top),
            _ => {}
        }
    }
    match (bags.as_slice(), tops.len()) {
        ([bag], 1) => Ok(Root { prefix: format!("{bag}/") }),
        ([], _) => Err(Problem::new("", "there is no bagit.txt: this is not a BagIt bag")
            .help("give the zip as it was received, or the folder that holds bagit.txt")),
        ([bag], _) => {
            let other = tops.iter().find(|top| *top != bag).copied().unwrap_or_default();
            Err(Problem::new(other, "stands beside the bag's folder; only the bag may be there")
                .help("if an archive tool has put it there, unpack the zip and verify the bag's folder"))
        }
        (several, _) => {
            Err(Problem::new("", format!("{} bags in one place", several.len())).help("verify one at a time"))
        }
    }
}

/// A bag's files.
pub(crate) struct BagFiles<'s> {
    store: &'s mut dyn Store,
    /// Path from the base folder, and the place in the store.
    by_path: BTreeMap<String, usize>,
    /// Path in canonical composition, and the path as the store spells it.
    by_composed: BTreeMap<String, String>,
    has_payload_folder: bool,
}

impl<'s> BagFiles<'s> {
    pub(crate) fn new(store: &'s mut dyn Store, root: &Root) -> Self {
        let mut by_path = BTreeMap::new();
        let mut by_composed = BTreeMap::new();
        let mut has_payload_folder = false;
        for (index, entry) in store.entries().iter().enumerate() {
            let Some(path) = entry.path.strip_prefix(&root.prefix) else { continue };
            has_payload_folder |=
                path.starts_with("data/") || (path == "data" && entry.kind == EntryKind::Folder);
            if entry.kind == EntryKind::File {
                by_composed.insert(composed(path), path.to_owned());
                by_path.insert(path.to_owned(), index);
            }
        }
        Self { store, by_path, by_composed, has_payload_folder }
    }

    pub(crate) fn has_payload_folder(&self) -> bool {
        self.has_payload_folder
    }

    pub(crate) fn paths(&self) -> impl Iterator<Item = &str> {
        self.by_path.keys().map(String::as_str)
    }

    pub(crate) fn payload(&self) -> impl Iterator<Item = &str> {
        self.paths().filter(|path| path.starts_with("data/"))
    }

    pub(crate) fn tags(&self) -> impl Iterator<Item = &str> {
        self.paths().filter(|path| !path.starts_with("data/"))
    }

    pub(crate) fn contains(&self, path: &str) -> bool {
        self.by_path.contains_key(path)
    }

    /// The file under this path, or under one that differs only by Unicode form (RFC 8493 section 6.1.2 asks to
    /// tolerate that); with the path as the store spells it.
    pub(crate) fn find(&self, path: &str) -> Option<&str> {
        match self.by_path.get_key_value(path) {
            Some((found, _)) => Some(found),
            None => self.by_composed.get(&composed(path)).map(String::as_str),
        }
    }

    pub(crate) fn size(&self, path: &str) -> u64 {
        self.by_path
            .get(path)
            .and_then(|index| self.store.entries().get(*index))
            .map_or(0, |entry| entry.size)
    }

    pub(crate) fn open(&mut self, path: &str) -> io::Result<Box<dyn Read + '_>> {
        let index = self.by_path.get(path).copied();
        self.store.open(index.ok_or_else(|| io::Error::other("no such file"))?)
    }

    /// A tag file, whole.
    pub(crate) fn read(&mut self, path: &str, limit: u64) -> Result<Vec<u8>, Problem> {
        let size = self.size(path);
        if size > limit {
            return Err(Problem::new(
                path,
                format!("has {size} bytes, the limit for such a file is {limit}"),
            ));
        }
        let mut bytes = Vec::new();
        let read =
            self.open(path).and_then(|reader| reader.take(limit.saturating_add(1)).read_to_end(&mut bytes));
        match read {
            Ok(_) if bytes.len() as u64 > limit => {
                Err(Problem::new(path, format!("has more than {limit} bytes, the limit for such a file")))
            }
            Ok(_) => Ok(bytes),
            Err(error) => Err(unreadable(path, &error)),
        }
    }

    /// Reads a file once, to its end.
    pub(crate) fn digest(
        &mut self,
        path: &str,
        algorithms: impl IntoIterator<Item = Algorithm>,
    ) -> Result<(u64, Vec<(Algorithm, String)>), Problem> {
        let mut digests = Digests::new(algorithms);
        let mut total: u64 = 0;
        let mut reader = self.open(path).map_err(|error| unreadable(path, &error))?;
        let mut chunk = vec![0; 64 * 1024];
        loop {
            match reader.read(&mut chunk) {
                Ok(0) => return Ok((total, digests.finish())),
                Ok(count) => {
                    total += count as u64;
                    digests.update(chunk.get(..count).unwrap_or_default());
                }
                Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                Err(error) => return Err(unreadable(path, &error)),
            }
        }
    }

    /// The paths in the order of the store, which for a zip is the order of its bytes.
    pub(crate) fn in_store_order(&self) -> Vec<String> {
        let mut order: Vec<(usize, &String)> =
            self.by_path.iter().map(|(path, index)| (*index, path)).collect();
        order.sort_unstable();
        order.into_iter().map(|(_, path)| path.clone()).collect()
    }
}

fn composed(path: &str) -> String {
    path.nfc().collect()
}

fn unreadable(path: &str, error: &io::Error) -> Problem {
    Problem::new(path, format!("cannot be read whole: {error}"))
}
