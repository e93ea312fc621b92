//! Opens a zip that anybody may have made: everything about it is checked before a byte is unpacked.
//!
//! Every byte of the file must belong to exactly one thing (a member, the directory, the end records, the comment),
//! and the local headers must say what the directory says, so that no two readers can see two different contents.

use crate::names::{NameBounds, collision_key};
use crate::report::Problem;
use crate::store::{EntryKind, Limits, Store, StoreEntry};
use crate::zip_directory::{DESCRIPTOR_FOLLOWS, Extra, Fixed, Listed, judge};
use crate::zip_end::{Directory, Trouble, find, read_at, refused};
use crate::zip_fields::Fields;
use crate::zip_format::{self, CENTRAL_LENGTH, DESCRIPTOR, LOCAL, LOCAL_LENGTH, Method};
use crate::zip_member::MemberReader;
use std::collections::{BTreeMap, BTreeSet};
use std::io::{self, BufReader, Read, Seek, SeekFrom};

/// Problems after which looking for more is of no use.
const ENOUGH_PROBLEMS: usize = 50;
const RATIO_FROM: u64 = 1 << 20;
const TOTAL_RATIO_FROM: u64 = 64 << 20;

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

/// Where a member's body is.
#[derive(Clone, Copy)]
struct Body {
    at: u64,
    packed: u64,
    size: u64,
    crc: u32,
    method: Method,
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

/// No two names may meet on any common system, and no file may stand where another entry needs a folder.
fn check_names(listed: &[Listed]) -> Result<(), Vec<Trouble>> {
    let mut troubles = Vec::new();
    let mut entries: BTreeMap<String, &str> = BTreeMap::new();
    let mut files: BTreeSet<String> = BTreeSet::new();
    let mut folders: BTreeMap<String, &str> = BTreeMap::new();
    for entry in listed {
        let name = entry.member.name.as_str();
        let path = name.strip_suffix('/').unwrap_or(name);
        let key = collision_key(path);
        if let Some(other) = entries.get(&key) {
            let what = if *other == path {
                "the name occurs twice".to_owned()
            } else {
                format!("the name differs from `{}` only by case or Unicode form", crate::names::shown(other))
            };
            troubles.push(Trouble::Refused(Problem::new(name, what)));
        } else {
            entries.insert(key.clone(), path);
        }
        if !entry.folder {
            files.insert(key);
        }
        for (at, _) in name.match_indices('/') {
            let folder = name.get(..at).unwrap_or_default();
            match folders.get(&collision_key(folder)) {
                Some(other) if *other != folder => troubles.push(Trouble::Refused(Problem::new(
                    name,
                    format!(
                        "its folder differs from `{}` only by case or Unicode form",
                        crate::names::shown(other)
                    ),
                ))),
                Some(_) => {}
                None => {
                    folders.insert(collision_key(folder), folder);
                }
            }
        }
        if troubles.len() >= ENOUGH_PROBLEMS {
            return Err(troubles);
        }
    }
    for (key, folder) in &folders {
        if files.contains(key) {
            troubles.push(Trouble::Refused(Problem::new(folder, "the name is both a file and a folder")));
        }
    }
    troubles.truncate(ENOUGH_PROBLEMS);
    if troubles.is_empty() { Ok(()) } else { Err(troubles) }
}

/// Sizes that only a bomb has.
fn check_sizes(listed: &[Listed], length: u64, limits: &Limits) -> Result<(), Vec<Trouble>> {
    let mut troubles = Vec::new();
    let mut total: u64 = 0;
    for entry in listed {
        let member = &entry.member;
        total = total.saturating_add(member.size);
        if member.size > RATIO_FROM && member.size / member.packed.max(1) > limits.ratio {
            troubles.push(Trouble::Refused(
                Problem::new(
                    &member.name,
                    format!("{} bytes packed into {}: a zip bomb", member.size, member.packed),
                )
                .help(format!("the limit is a ratio of {}", limits.ratio)),
            ));
        }
        if troubles.len() >= ENOUGH_PROBLEMS {
            return Err(troubles);
        }
    }
    if total > limits.total_bytes {
        troubles.push(refused(format!("{total} bytes when unpacked, the limit is {}", limits.total_bytes)));
    } else if total > TOTAL_RATIO_FROM && total / length.max(1) > limits.ratio {
        troubles.push(refused(format!("{total} bytes packed into {length}: a zip bomb")));
    }
    if troubles.is_empty() { Ok(()) } else { Err(troubles) }
}

/// Compares each local header with the directory and accounts for every byte in front of the directory.
fn locate<R: Read + Seek>(
    reader: &mut R,
    directory: &Directory,
    listed: &[Listed],
    deviations: &mut Vec<String>,
) -> Result<Vec<Body>, Vec<Trouble>> {
    let mut order: Vec<(usize, &Listed)> = listed.iter().enumerate().collect();
    order.sort_by_key(|(index, entry)| (entry.member.offset, *index));
    let mut bodies: Vec<Option<Body>> = vec![None; listed.len()];
    let mut next_free: u64 = 0;
    for (number, (index, entry)) in order.iter().enumerate() {
        let member = &entry.member;
        let fail = |what: String| vec![Trouble::Refused(Problem::new(&member.name, what))];
        if member.offset < next_free {
            return Err(fail("shares bytes with another entry".to_owned()));
        }
        if member.offset > next_free {
            let gap = member.offset - next_free;
            return Err(fail(format!("{gap} bytes in front of the entry belong to nothing")));
        }
        let local = read_local(reader, entry, directory.offset)?;
        let body_end = local
            .body_at
            .checked_add(member.packed)
            .filter(|end| *end <= directory.offset)
            .ok_or_else(|| fail("its packed size runs past the end of the entries".to_owned()))?;
        let next_start = order.get(number + 1).map_or(directory.offset, |(_, next)| next.member.offset);
        next_free = body_end;
        if entry.flags & DESCRIPTOR_FOLLOWS != 0 {
            let length = next_start.saturating_sub(body_end);
            check_descriptor(reader, entry, body_end, length)?;
            next_free = next_start;
        }
        if !local.canonical && deviations.is_empty() {
            deviations.push(format!(
                "the header of `{}` is written in another way",
                crate::names::shown(&member.name)
            ));
        }
        if let Some(slot) = bodies.get_mut(*index) {
            *slot = Some(Body {
                at: local.body_at,
                packed: member.packed,
                size: member.size,
                crc: member.crc,
                method: member.method,
            });
        }
    }
    if next_free != directory.offset {
        return Err(vec![refused(format!(
            "{} bytes in front of the directory belong to nothing",
            directory.offset.saturating_sub(next_free)
        ))]);
    }
    Ok(bodies.into_iter().flatten().collect())
}

struct Local {
    body_at: u64,
    canonical: bool,
}

fn read_local<R: Read + Seek>(reader: &mut R, entry: &Listed, limit: u64) -> Result<Local, Vec<Trouble>> {
    let member = &entry.member;
    let fail = |what: &str| vec![Trouble::Refused(Problem::new(&member.name, what))];
    let nowhere = "the directory leads to a place where no entry begins";
    if member.offset.checked_add(LOCAL_LENGTH).is_none_or(|end| end > limit) {
        return Err(fail(nowhere));
    }
    let mut bytes = read_at(reader, member.offset, 30).map_err(|error| vec![error.into()])?;
    let header = LocalHeader::read(&bytes).ok_or_else(|| fail(nowhere))?;
    let variable = usize::from(header.name_length) + usize::from(header.extra_length);
    let body_at = member.offset + LOCAL_LENGTH + variable as u64;
    if body_at > limit {
        return Err(fail("its header runs past the end of the entries"));
    }
    bytes.resize(30 + variable, 0);
    reader.read_exact(bytes.get_mut(30..).unwrap_or_default()).map_err(|error| vec![error.into()])?;
    let mut rest = Fields(bytes.get(30..).unwrap_or_default());
    let name = rest.take(usize::from(header.name_length)).unwrap_or_default();
    if name != entry.raw_name {
        return Err(fail("its name differs between the directory and its own header"));
    }
    if header.method != member.method.number() {
        return Err(fail("its compression method differs between the directory and its own header"));
    }
    // The bits for deflate's effort say nothing; everything else must agree.
    if (header.flags ^ entry.flags) & !0b110 != 0 {
        return Err(fail("its flags differ between the directory and its own header"));
    }
    let extra = Extra::read(rest.0).ok_or_else(|| fail("the extra fields of its own header are damaged"))?;
    let unknown_yet =
        entry.flags & DESCRIPTOR_FOLLOWS != 0 && header.crc == 0 && header.packed == 0 && header.size == 0;
    if !unknown_yet {
        let sizes = extra.resolve_local(header.packed, header.size);
        let stated_later =
            entry.flags & DESCRIPTOR_FOLLOWS != 0 && extra.has_zip64() && sizes == Some((0, 0));
        if !stated_later && (sizes != Some((member.packed, member.size)) || header.crc != member.crc) {
            return Err(fail("its sizes or CRC differ between the directory and its own header"));
        }
    }
    Ok(Local { body_at, canonical: entry.canonical && bytes == member.local_header() })
}

struct LocalHeader {
    flags: u16,
    method: u16,
    crc: u32,
    packed: u32,
    size: u32,
    name_length: u16,
    extra_length: u16,
}

impl LocalHeader {
    fn read(bytes: &[u8]) -> Option<Self> {
        let mut fields = Fields(bytes);
        if fields.u32()? != LOCAL {
            return None;
        }
        fields.u16()?; // version needed
        let flags = fields.u16()?;
        let method = fields.u16()?;
        fields.u32()?; // time and date
        Some(Self {
            flags,
            method,
            crc: fields.u32()?,
            packed: fields.u32()?,
            size: fields.u32()?,
            name_length: fields.u16()?,
            extra_length: fields.u16()?,
        })
    }
}

/// The record after a body that was written before its size was known: with or without signature, narrow or wide.
fn check_descriptor<R: Read + Seek>(
    reader: &mut R,
    entry: &Listed,
    at: u64,
    length: u64,
) -> Result<(), Vec<Trouble>> {
    let member = &entry.member;
    let fail =
        || vec![Trouble::Refused(Problem::new(&member.name, "the record after its body does not fit it"))];
    if !matches!(length, 12 | 16 | 20 | 24) {
        return Err(fail());
    }
    let bytes =
        read_at(reader, at, usize::try_from(length).unwrap_or(0)).map_err(|error| vec![error.into()])?;
    let mut fields = Fields(&bytes);
    if matches!(length, 16 | 24) && fields.u32() != Some(DESCRIPTOR) {
        return Err(fail());
    }
    let crc = fields.u32();
    let (packed, size) = if length >= 20 {
        (fields.u64(), fields.u64())
    } else {
        (fields.u32().map(u64::from), fields.u32().map(u64::from))
    };
    if (crc, packed, size) != (Some(member.crc), Some(member.packed), Some(member.size)) {
        return Err(fail());
    }
    Ok(())
}

/// What the canonical form asks of the zip as a whole.
fn check_form(directory: &Directory, listed: &[Listed], deviations: &mut Vec<String>) {
    if listed.iter().any(|entry| entry.folder) {
        deviations.push("folders have entries of their own".to_owned());
    }
    let ascending = listed.windows(2).all(|pair| match pair {
        [a, b] => a.member.name < b.member.name && a.member.offset < b.member.offset,
        _ => true,
    });
    if !ascending {
        deviations.push("the entries are in another order".to_owned());
    }
    let records = zip_format::end_records(
        listed.len() as u64,
        directory.offset,
        directory.length,
        directory.comment.len(),
    );
    if records != directory.records {
        deviations.push("the end records are written in another way".to_owned());
    }
}
