//! What a verification reads from: a list of files with their bytes, from a zip or from a folder.

use std::io::{self, Read};
use std::sync::Arc;

/// What a store's entry is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EntryKind {
    /// A plain file.
    File,
    /// A folder.
    Folder,
    /// A link; never followed.
    Link,
    /// A device, pipe, socket or the like; never opened.
    Special,
}

/// One file or folder in a store.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StoreEntry {
    /// Path below the store's top with `/` as separator, no leading or trailing `/`.
    pub path: String,
    /// What it is.
    pub kind: EntryKind,
    /// Length in bytes; 0 for what is no file.
    pub size: u64,
}

/// A tree of files to be verified.
///
/// For a folder on disk the host lists every file and folder below it without following links, and refuses a name
/// that is not Unicode itself.
pub trait Store {
    /// All entries, in any order.
    fn entries(&self) -> &[StoreEntry];

    /// Opens the file at this place in [`Self::entries`].
    ///
    /// # Errors
    /// When it cannot be read. For a zip also later, while reading: when the entry does not unpack to its stated size
    /// and CRC.
    fn open(&mut self, index: usize) -> io::Result<Box<dyn Read + '_>>;
}

/// A store that can be given up for one of its files.
pub trait OwnedStore: Store {
    /// Opens the file at this place and keeps nothing else.
    ///
    /// # Errors
    /// As [`Store::open`].
    fn into_file(self: Box<Self>, index: usize) -> io::Result<Box<dyn Read + Send>>;
}

/// Gives a store as often as asked: for reading one file of a pack while others of it are in use.
pub type Stores = Arc<dyn Fn() -> io::Result<Box<dyn OwnedStore>> + Send + Sync>;

/// Bounds on what is read from a zip or folder that anybody may have made.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub struct Limits {
    /// Most entries.
    pub entries: u64,
    /// Most bytes of all files together once unpacked.
    pub total_bytes: u64,
    /// Highest ratio of a file's size to its packed size; judged for files above 1 MiB, and for the whole zip above
    /// 64 MiB.
    pub ratio: u64,
    /// Longest path in bytes.
    pub path_bytes: usize,
    /// Longest part of a path in bytes.
    pub segment_bytes: usize,
    /// Deepest nesting of folders.
    pub depth: usize,
    /// Longest manifest, `bag-info.txt` or the like in bytes; these are held in memory.
    pub tag_file_bytes: u64,
}

impl Default for Limits {
    /// 100,000 entries, 64 GiB, ratio 200, paths of 1,024 bytes with parts of 255, 32 folders deep, tag files of
    /// 32 MiB.
    fn default() -> Self {
        Self {
            entries: 100_000,
            total_bytes: 64 << 30,
            ratio: 200,
            path_bytes: 1024,
            segment_bytes: 255,
            depth: 32,
            tag_file_bytes: 32 << 20,
        }
    }
}
