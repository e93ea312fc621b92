//! Opens a zip that anybody may have made: everything about it is checked before a byte is unpacked.
//!
//! Every byte of the file must belong to exactly one thing (a member, the directory, the end records, the comment),
//! and the local headers must say what the directory says, so that no two readers can see two different contents.

use crate::names::NameBounds;
use crate::report::Problem;
use crate::store::{EntryKind, Limits, OwnedStore, Store, StoreEntry};
use crate::zip_bounds::{check_names, check_sizes};
use crate::zip_directory::{Fixed, Listed, judge};
use crate::zip_end::{Directory, Trouble, find, refused};
use crate::zip_format::{self, CENTRAL_LENGTH, Member};
use crate::zip_layout::{Body, check_form, locate};
use crate::zip_member::MemberReader;
use crate::zip_write::ZipWriter;
use std::io::{self, BufReader, Read, Seek, SeekFrom, Write};

/// Problems after which looking for more is of no use.
pub(crate) const ENOUGH_PROBLEMS: usize = 50;

/// A zip that may be read.
pub(crate) struct ZipStore<R> {
    reader: R,
    bodies: Vec<Body>,
    entries: Vec<StoreEntry>,
    /// Why the zip is not in canonical form, before the seal is looked at; empty when it is.
    pub(crate) deviations: Vec<String>,
    pub(crate) notes: Vec<Problem>,
    comment: Vec<u8>,
    length: u64,
}

impl<R: Read + Seek> ZipStore<R> {
    /// Checks the zip's structure. The members' bytes are checked as they are read.
    pub(crate) fn open(mut reader: R, limits: &Limits) -> Result<Self, Vec<Trouble>> {
        let length = reader.seek(SeekFrom::End(0)).map_err(|error| vec![error.into()])?;
        let directory = find(&mut reader, length).map_err(|trouble| vec![trouble])?;
        let listed = list(&mut reader, &directory, limits)?;
        check_names(&listed)?;
        check_sizes(&listed, length, limits)?;
        let mut deviations = Vec::new();
        let bodies = locate(&mut reader, &directory, &listed, &mut deviations)?;
        check_form(&directory, &listed, &mut deviations);
        let notes = listed
            .iter()
            .filter_map(|entry| entry.note.map(|note| Problem::new(&entry.member.name, note)))
            .collect();
        let entries = listed
            .into_iter()
            .map(|entry| StoreEntry {
                kind: if entry.folder { EntryKind::Folder } else { EntryKind::File },
                size: entry.member.size,
                path: entry.member.name.strip_suffix('/').map(str::to_owned).unwrap_or(entry.member.name),
            })
            .collect();
        Ok(Self { reader, bodies, entries, deviations, notes, comment: directory.comment, length })
    }

    /// Copies a member into another zip as it is packed here.
    pub(crate) fn copy_member<W: Write>(&mut self, index: usize, to: &mut ZipWriter<W>) -> io::Result<()> {
        let (Some(body), Some(entry)) = (self.bodies.get(index).copied(), self.entries.get(index)) else {
            return Err(io::Error::other("no such entry"));
        };
        let member = Member {
            name: entry.path.clone(),
            method: body.method,
            crc: body.crc,
            packed: body.packed,
            size: body.size,
            offset: 0,
        };
        self.reader.seek(SeekFrom::Start(body.at))?;
        to.add_packed(member, &mut (&mut self.reader).take(body.packed))
    }

    /// Compares the seal with the bytes of the zip; says what is wrong with it.
    pub(crate) fn check_seal(&mut self) -> io::Result<Option<String>> {
        let comment = String::from_utf8_lossy(&self.comment).into_owned();
        let Some(stated) = comment.strip_prefix(zip_format::SEAL_START) else {
            return Ok(Some("the zip does not end with the seal that we put there".to_owned()));
        };
        self.reader.seek(SeekFrom::Start(0))?;
        let mut digest = crate::algorithms::Digests::new([crate::algorithms::Algorithm::Sha256]);
        let mut rest = (&mut self.reader).take(self.length - self.comment.len() as u64);
        let mut chunk = vec![0; 64 * 1024];
        loop {
            let count = match rest.read(&mut chunk) {
                Ok(0) => break,
                Ok(count) => count,
                Err(error) if error.kind() == io::ErrorKind::Interrupted => continue,
                Err(error) => return Err(error),
            };
            digest.update(chunk.get(..count).unwrap_or_default());
        }
        let found = digest.finish().pop().map(|(_, text)| text).unwrap_or_default();
        Ok((found != stated).then(|| "the seal does not fit the bytes of the zip".to_owned()))
    }
}

impl<R: Read + Seek> Store for ZipStore<R> {
    fn entries(&self) -> &[StoreEntry] {
        &self.entries
    }

    fn open(&mut self, index: usize) -> io::Result<Box<dyn Read + '_>> {
        let body = self.bodies.get(index).copied().ok_or_else(|| io::Error::other("no such entry"))?;
        self.reader.seek(SeekFrom::Start(body.at))?;
        let packed = BufReader::with_capacity(32 * 1024, (&mut self.reader).take(body.packed));
        Ok(Box::new(MemberReader::new(packed, body.method, body.packed, body.size, body.crc)))
    }
}

impl<R: Read + Seek + Send + 'static> OwnedStore for ZipStore<R> {
    fn into_file(mut self: Box<Self>, index: usize) -> io::Result<Box<dyn Read + Send>> {
        let body = self.bodies.get(index).copied().ok_or_else(|| io::Error::other("no such entry"))?;
        self.reader.seek(SeekFrom::Start(body.at))?;
        let packed = BufReader::with_capacity(32 * 1024, self.reader.take(body.packed));
        Ok(Box::new(MemberReader::new(packed, body.method, body.packed, body.size, body.crc)))
    }
}

/// Reads and judges the directory.
fn list<R: Read + Seek>(
    reader: &mut R,
    directory: &Directory,
    limits: &Limits,
) -> Result<Vec<Listed>, Vec<Trouble>> {
    let one = |trouble: Trouble| vec![trouble];
    if directory.count > limits.entries {
        return Err(one(refused(format!("{} entries, the limit is {}", directory.count, limits.entries))));
    }
    // The least space an entry can take: a count that cannot be true must not size anything.
    if directory.count.saturating_mul(CENTRAL_LENGTH) > directory.length {
        return Err(one(refused(format!(
            "the end record claims {} entries, more than its directory of {} bytes can hold",
            directory.count, directory.length
        ))));
    }
    let bounds = NameBounds { path: limits.path_bytes, segment: limits.segment_bytes, depth: limits.depth };
    reader.seek(SeekFrom::Start(directory.offset)).map_err(|error| one(error.into()))?;
    let mut bytes = BufReader::with_capacity(64 * 1024, reader.take(directory.length));
    let mut listed = Vec::new();
    let mut troubles = Vec::new();
    let mut used: u64 = 0;
    for number in 1..=directory.count {
        let damaged = || {
            vec![refused(format!(
                "entry {number} of {} in the directory is damaged or missing",
                directory.count
            ))]
        };
        let mut entry = vec![0; 46];
        bytes.read_exact(&mut entry).map_err(|_| damaged())?;
        let fixed = Fixed::read(&entry).ok_or_else(damaged)?;
        entry.resize(46 + fixed.variable_length(), 0);
        bytes.read_exact(entry.get_mut(46..).unwrap_or_default()).map_err(|_| damaged())?;
        used += entry.len() as u64;
        match judge(&fixed, &entry, bounds) {
            Ok(entry) => listed.push(entry),
            Err(problem) => troubles.push(Trouble::Refused(problem)),
        }
        if troubles.len() >= ENOUGH_PROBLEMS {
            return Err(troubles);
        }
    }
    if used != directory.length {
        troubles.push(refused(format!(
            "the directory has {} bytes more than its {} entries take: entries are hidden in it",
            directory.length - used,
            directory.count
        )));
    }
    if troubles.is_empty() { Ok(listed) } else { Err(troubles) }
}
