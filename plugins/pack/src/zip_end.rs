//! Finds the end of a zip and from it the central directory, refusing whatever two readers could see differently.

use crate::report::Problem;
use crate::zip_fields::Fields;
use crate::zip_format::{END, END_LENGTH, END64, END64_LENGTH, FULL32, LOCAL, LOCATOR64, LOCATOR64_LENGTH};
use std::io::{self, Read, Seek, SeekFrom};

/// Why a zip was not opened.
#[derive(Debug)]
pub(crate) enum Trouble {
    /// It is no zip, or cannot be read.
    CannotOpen(String),
    /// It is a zip that must not be trusted.
    Refused(Problem),
}

impl From<io::Error> for Trouble {
    fn from(error: io::Error) -> Self {
        Self::CannotOpen(error.to_string())
    }
}

pub(crate) fn refused(what: impl Into<String>) -> Trouble {
    Trouble::Refused(Problem::new("", what))
}

/// Where the central directory is, as the end records say.
#[derive(Debug)]
pub(crate) struct Directory {
    pub(crate) count: u64,
    pub(crate) offset: u64,
    pub(crate) length: u64,
    /// The end records as they stand, up to the comment.
    pub(crate) records: Vec<u8>,
    pub(crate) comment: Vec<u8>,
}

/// Reads exactly `count` bytes at `offset`.
pub(crate) fn read_at<R: Read + Seek>(reader: &mut R, offset: u64, count: usize) -> io::Result<Vec<u8>> {
    reader.seek(SeekFrom::Start(offset))?;
    let mut bytes = vec![0; count];
    reader.read_exact(&mut bytes)?;
    Ok(bytes)
}

/// Finds the directory of a zip of `length` bytes.
pub(crate) fn find<R: Read + Seek>(reader: &mut R, length: u64) -> Result<Directory, Trouble> {
    if length == 0 {
        return Err(Trouble::CannotOpen("the file is empty".to_owned()));
    }
    let tail_length = length.min(END_LENGTH + u64::from(u16::MAX));
    let tail_at = length - tail_length;
    let tail = read_at(reader, tail_at, usize::try_from(tail_length).unwrap_or(0))?;
    let Some(end_in_tail) = last_end(&tail) else {
        return Err(no_end(reader, &tail, length)?);
    };
    let end_at = tail_at + end_in_tail as u64;
    let end = tail.get(end_in_tail..).unwrap_or_default();
    let (fields, comment) = end.split_at_checked(22).unwrap_or((end, &[]));
    let stated = End::read(fields).ok_or_else(|| refused("the end record is cut short"))?;
    if stated.disk != 0 || stated.directory_disk != 0 || stated.count_here != stated.count {
        return Err(refused("the zip is one part of several"));
    }
    let mut directory = Directory {
        count: u64::from(stated.count),
        offset: u64::from(stated.offset),
        length: u64::from(stated.length),
        records: fields.to_vec(),
        comment: comment.to_vec(),
    };
    let mut records_at = end_at;
    if let Some(wide) = find_wide(reader, end_at)? {
        agree("number of entries", directory.count, u64::from(u16::MAX), wide.count)?;
        agree("length of the directory", directory.length, u64::from(FULL32), wide.length)?;
        agree("place of the directory", directory.offset, u64::from(FULL32), wide.offset)?;
        records_at = wide.at;
        directory.count = wide.count;
        directory.offset = wide.offset;
        directory.length = wide.length;
        let mut records = read_at(reader, wide.at, 56 + 20)?;
        records.append(&mut directory.records);
        directory.records = records;
    }
    if directory.offset.checked_add(directory.length) != Some(records_at) {
        return Err(Trouble::Refused(
            Problem::new(
                "",
                format!(
                    "the directory should be at byte {} with {} bytes, but the end record is at byte {records_at}",
                    directory.offset, directory.length
                ),
            )
            .help("bytes were put in front of the zip, cut out of it, or its end record was changed"),
        ));
    }
    Ok(directory)
}

/// The last place in the tail where an end record fits with its comment up to the last byte.
fn last_end(tail: &[u8]) -> Option<usize> {
    let signature = END.to_le_bytes();
    let last = tail.len().checked_sub(22)?;
    (0..=last).rev().find(|&at| {
        let Some(rest) = tail.get(at..) else { return false };
        rest.starts_with(&signature)
            && rest
                .get(20..22)
                .and_then(|bytes| bytes.try_into().ok())
                .is_some_and(|bytes| usize::from(u16::from_le_bytes(bytes)) == rest.len() - 22)
    })
}

fn no_end<R: Read + Seek>(reader: &mut R, tail: &[u8], length: u64) -> Result<Trouble, Trouble> {
    if tail.windows(4).any(|window| window == END.to_le_bytes()) {
        return Ok(Trouble::Refused(
            Problem::new("", "the end record does not reach to the last byte of the file")
                .help("bytes were added after the end of the zip, or its last bytes are missing"),
        ));
    }
    let head = read_at(reader, 0, usize::try_from(length.min(4)).unwrap_or(0))?;
    if head == LOCAL.to_le_bytes() {
        return Ok(Trouble::Refused(
            Problem::new("", "the end of the zip is missing").help("the file was cut short; get it again"),
        ));
    }
    Ok(Trouble::CannotOpen("the file is not a zip".to_owned()))
}

struct End {
    disk: u16,
    directory_disk: u16,
    count_here: u16,
    count: u16,
    length: u32,
    offset: u32,
}

impl End {
    fn read(bytes: &[u8]) -> Option<Self> {
        let mut fields = Fields(bytes);
        fields.u32()?;
        Some(Self {
            disk: fields.u16()?,
            directory_disk: fields.u16()?,
            count_here: fields.u16()?,
            count: fields.u16()?,
            length: fields.u32()?,
            offset: fields.u32()?,
        })
    }
}

struct Wide {
    at: u64,
    count: u64,
    length: u64,
    offset: u64,
}

/// The zip64 end record, when its locator stands directly before the end record.
fn find_wide<R: Read + Seek>(reader: &mut R, end_at: u64) -> Result<Option<Wide>, Trouble> {
    let Some(locator_at) = end_at.checked_sub(LOCATOR64_LENGTH) else { return Ok(None) };
    let locator = read_at(reader, locator_at, 20)?;
    let mut fields = Fields(&locator);
    if fields.u32() != Some(LOCATOR64) {
        return Ok(None);
    }
    let short = || refused("the zip64 locator is cut short");
    let disk = fields.u32().ok_or_else(short)?;
    let at = fields.u64().ok_or_else(short)?;
    let disks = fields.u32().ok_or_else(short)?;
    if disk != 0 || disks > 1 || at.checked_add(END64_LENGTH) != Some(locator_at) {
        return Err(refused("the zip64 locator does not lead to the zip64 end record directly before it"));
    }
    let record = read_at(reader, at, 56)?;
    read_wide(&record, at)
        .map(Some)
        .ok_or_else(|| refused("the zip64 end record is damaged or of an unknown kind"))
}

fn read_wide(record: &[u8], at: u64) -> Option<Wide> {
    let mut fields = Fields(record);
    let signature = fields.u32()?;
    let length = fields.u64()?;
    fields.u32()?; // made by, needed
    let disks = (fields.u32()?, fields.u32()?);
    let counts = (fields.u64()?, fields.u64()?);
    let wide = Wide { at, count: counts.1, length: fields.u64()?, offset: fields.u64()? };
    (signature == END64 && length == END64_LENGTH - 12 && disks == (0, 0) && counts.0 == counts.1)
        .then_some(wide)
}

/// A full narrow field leaves the say to the wide one; any other value must agree with it.
fn agree(what: &str, narrow: u64, full: u64, wide: u64) -> Result<(), Trouble> {
    if narrow == full || narrow == wide {
        return Ok(());
    }
    Err(refused(format!("the end records disagree about the {what}: {narrow} and {wide}")))
}
