//! The central directory of a zip, entry by entry, each judged before anything is unpacked.

use crate::names::{NameBounds, refusal};
use crate::report::Problem;
use crate::zip_fields::Fields;
use crate::zip_format::{CENTRAL, FULL32, Member, Method, UTF8};

/// Flag bit 3: sizes and CRC follow the body.
pub(crate) const DESCRIPTOR_FOLLOWS: u16 = 1 << 3;
/// Flag bits that change nothing about how a member is read: deflate's effort, descriptor, UTF-8.
const HARMLESS_FLAGS: u16 = 0b110 | DESCRIPTOR_FOLLOWS | UTF8;
const ZIP64_FIELD: u16 = 0x0001;
const UNICODE_PATH_FIELD: u16 = 0x7075;
const AES_FIELD: u16 = 0x9901;

const FILE_TYPE: u32 = 0o170_000;
const REGULAR: u32 = 0o100_000;
const FOLDER: u32 = 0o040_000;
const SET_ID: u32 = 0o006_000;

/// A judged entry of the directory.
#[derive(Debug)]
pub(crate) struct Listed {
    pub(crate) member: Member,
    pub(crate) folder: bool,
    pub(crate) flags: u16,
    /// The name as it stands, to be compared with the local header's.
    pub(crate) raw_name: Vec<u8>,
    /// The entry is written in canonical form.
    pub(crate) canonical: bool,
    /// Something odd that is no reason to refuse.
    pub(crate) note: Option<&'static str>,
}

/// The fixed part of an entry.
pub(crate) struct Fixed {
    pub(crate) name_length: u16,
    pub(crate) extra_length: u16,
    pub(crate) comment_length: u16,
    made_by: u16,
    flags: u16,
    method: u16,
    crc: u32,
    packed: u32,
    size: u32,
    disk: u16,
    attributes: u32,
    offset: u32,
}

impl Fixed {
    /// Reads the 46 bytes; `None` when they do not begin an entry.
    pub(crate) fn read(bytes: &[u8]) -> Option<Self> {
        let mut fields = Fields(bytes);
        if fields.u32()? != CENTRAL {
            return None;
        }
        let made_by = fields.u16()?;
        fields.u16()?; // version needed: the method says what is needed
        let flags = fields.u16()?;
        let method = fields.u16()?;
        fields.u32()?; // time and date
        let crc = fields.u32()?;
        let packed = fields.u32()?;
        let size = fields.u32()?;
        let name_length = fields.u16()?;
        let extra_length = fields.u16()?;
        let comment_length = fields.u16()?;
        let disk = fields.u16()?;
        fields.u16()?; // internal attributes
        let attributes = fields.u32()?;
        let offset = fields.u32()?;
        Some(Self {
            name_length,
            extra_length,
            comment_length,
            made_by,
            flags,
            method,
            crc,
            packed,
            size,
            disk,
            attributes,
            offset,
        })
    }

    pub(crate) fn variable_length(&self) -> usize {
        usize::from(self.name_length) + usize::from(self.extra_length) + usize::from(self.comment_length)
    }
}

/// Judges one entry. `bytes` are the whole of it, fixed part included.
pub(crate) fn judge(fixed: &Fixed, bytes: &[u8], bounds: NameBounds) -> Result<Listed, Problem> {
    let mut fields = Fields(bytes.get(46..).unwrap_or_default());
    let cut_short = || Problem::new("", "an entry of the directory is cut short");
    let raw_name = fields.take(usize::from(fixed.name_length)).ok_or_else(cut_short)?;
    let extra = fields.take(usize::from(fixed.extra_length)).ok_or_else(cut_short)?;
    let lossy = String::from_utf8_lossy(raw_name);
    let refuse = |what: String| Problem::new(&lossy, what);

    let extra = Extra::read(extra).ok_or_else(|| refuse("the extra fields are damaged".to_owned()))?;
    let (name, name_note) = name(raw_name, fixed.flags, &extra).map_err(|what| refuse(what.to_owned()))?;
    let (path, folder) = match name.strip_suffix('/') {
        Some(path) => (path, true),
        None => (name.as_str(), false),
    };
    if let Some(what) = refusal(path, bounds) {
        return Err(refuse(what));
    }
    if fixed.flags & 1 != 0 || extra.aes {
        return Err(refuse("the entry is encrypted".to_owned()));
    }
    if fixed.flags & !HARMLESS_FLAGS != 0 {
        return Err(refuse(format!("the entry has flags that are not supported ({:#06x})", fixed.flags)));
    }
    let method = match fixed.method {
        0 => Method::Stored,
        8 => Method::Deflated,
        other => {
            return Err(refuse(format!("compression method {other} is not supported"))
                .help("pack it again with the ordinary method (deflate)"));
        }
    };
    if fixed.disk != 0 {
        return Err(refuse("the entry lies on another part of a split zip".to_owned()));
    }
    let note = judge_type(fixed.attributes, fixed.made_by, folder).map_err(|what| refuse(what.to_owned()))?;
    let (packed, size, offset) =
        extra.resolve(fixed).ok_or_else(|| refuse("the zip64 field does not fit the sizes".to_owned()))?;
    if method == Method::Stored && packed != size {
        return Err(refuse(format!("stored with {packed} bytes, but said to have {size}")));
    }
    if folder && size != 0 {
        return Err(refuse("a folder with content".to_owned()));
    }
    let member = Member { name, method, crc: fixed.crc, packed, size, offset };
    let canonical = !folder && member.central_header() == bytes;
    Ok(Listed {
        member,
        folder,
        flags: fixed.flags,
        raw_name: raw_name.to_vec(),
        canonical,
        note: note.or(name_note),
    })
}

/// Only plain files and folders; the Unix type is judged whatever system is said to have made the entry.
fn judge_type(attributes: u32, made_by: u16, folder: bool) -> Result<Option<&'static str>, &'static str> {
    const DOS_VOLUME_LABEL: u32 = 0x08;
    const DOS_REPARSE_POINT: u32 = 0x400;
    let mode = attributes >> 16;
    match (mode & FILE_TYPE, folder) {
        (0, _) | (REGULAR, false) | (FOLDER, true) => {}
        (0o120_000, _) => return Err("a symbolic link"),
        (REGULAR, true) | (FOLDER, false) => {
            return Err("the name and the file type disagree about a folder");
        }
        _ => return Err("a device, pipe or socket"),
    }
    let made_on_dos = matches!(made_by >> 8, 0 | 10 | 11 | 14);
    if made_on_dos && attributes & DOS_VOLUME_LABEL != 0 {
        return Err("a volume label");
    }
    if made_on_dos && attributes & DOS_REPARSE_POINT != 0 {
        return Err("a link (reparse point)");
    }
    Ok((mode & SET_ID != 0).then_some("asks to be run under another user's rights; ignored"))
}

/// The name as text, and what is uncertain about it.
///
/// Some tools write UTF-8 without saying so. Such a name is read as UTF-8, which other letters hardly ever look like,
/// and the manifest must then know it; any other letters have no certain meaning.
fn name(raw: &[u8], flags: u16, extra: &Extra<'_>) -> Result<(String, Option<&'static str>), &'static str> {
    let text = std::str::from_utf8(raw).ok();
    let certain = text.filter(|text| flags & UTF8 != 0 || text.is_ascii());
    let second = match extra.unicode_path {
        Some((crc, path)) if crc == crc32(raw) => {
            Some(std::str::from_utf8(path).map_err(|_| "its second name (Unicode path field) is not UTF-8")?)
        }
        // Stale: the field belongs to a name that was changed since, and says so itself.
        Some(_) | None => None,
    };
    match (certain.or(second), text, second) {
        (Some(name), _, Some(other)) if name != other => Err("the entry has two names (Unicode path field)"),
        (Some(name), _, _) => Ok((name.to_owned(), None)),
        (None, Some(name), _) => {
            Ok((name.to_owned(), Some("the name is not marked as UTF-8 and was read as such")))
        }
        (None, None, _) if flags & UTF8 != 0 => Err("the name is marked as UTF-8 and is not"),
        (None, None, _) => Err("the name is neither ASCII nor UTF-8, so its letters are uncertain"),
    }
}

fn crc32(bytes: &[u8]) -> u32 {
    let mut crc = flate2::Crc::new();
    crc.update(bytes);
    crc.sum()
}

/// The extra fields that matter.
pub(crate) struct Extra<'a> {
    zip64: Option<&'a [u8]>,
    unicode_path: Option<(u32, &'a [u8])>,
    aes: bool,
}

impl<'a> Extra<'a> {
    /// `None` when the fields do not fill their space exactly, or one of ours comes twice.
    pub(crate) fn read(bytes: &'a [u8]) -> Option<Self> {
        let mut extra = Self { zip64: None, unicode_path: None, aes: false };
        let mut fields = Fields(bytes);
        while !fields.0.is_empty() {
            let id = fields.u16()?;
            let length = fields.u16()?;
            let data = fields.take(usize::from(length))?;
            match id {
                ZIP64_FIELD if extra.zip64.is_none() => extra.zip64 = Some(data),
                UNICODE_PATH_FIELD if extra.unicode_path.is_none() => {
                    let mut inner = Fields(data);
                    let version = inner.take(1)?;
                    let crc = inner.u32()?;
                    if version == [1] {
                        extra.unicode_path = Some((crc, inner.0));
                    }
                }
                ZIP64_FIELD | UNICODE_PATH_FIELD => return None,
                AES_FIELD => extra.aes = true,
                _ => {}
            }
        }
        Some(extra)
    }

    fn resolve(&self, fixed: &Fixed) -> Option<(u64, u64, u64)> {
        let mut wide = Fields(self.zip64.unwrap_or_default());
        let mut pick = |narrow: u32| if narrow == FULL32 { wide.u64() } else { Some(u64::from(narrow)) };
        let size = pick(fixed.size)?;
        let packed = pick(fixed.packed)?;
        let offset = pick(fixed.offset)?;
        Some((packed, size, offset))
    }

    /// Sizes of a local header, size before packed size.
    pub(crate) fn resolve_local(&self, packed: u32, size: u32) -> Option<(u64, u64)> {
        let mut wide = Fields(self.zip64.unwrap_or_default());
        let mut pick = |narrow: u32| if narrow == FULL32 { wide.u64() } else { Some(u64::from(narrow)) };
        let size = pick(size)?;
        let packed = pick(packed)?;
        Some((packed, size))
    }

    pub(crate) fn has_zip64(&self) -> bool {
        self.zip64.is_some()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const BOUNDS: NameBounds = NameBounds { path: 1024, segment: 255, depth: 32 };

    fn listed(bytes: &[u8]) -> Result<Listed, Problem> {
        judge(&Fixed::read(&bytes[..46]).unwrap(), bytes, BOUNDS)
    }

    /// Sizes and offsets around the point where the 32-bit fields are full.
    #[test]
    fn what_is_written_is_read_back_at_every_size() {
        let full = u64::from(FULL32);
        for size in [0, 5, full - 1, full, full + 1, 1 << 40] {
            for offset in [0, full - 1, full, full + 1, 1 << 50] {
                let member = Member {
                    name: "bag/data/x".to_owned(),
                    method: Method::Stored,
                    crc: 7,
                    packed: size,
                    size,
                    offset,
                };
                let found = listed(&member.central_header()).unwrap();
                assert!(found.canonical && !found.folder);
                assert_eq!(
                    (found.member.packed, found.member.size, found.member.offset),
                    (size, size, offset)
                );
                let local = member.local_header();
                let sizes = (
                    u32::from_le_bytes(local[18..22].try_into().unwrap()),
                    u32::from_le_bytes(local[22..26].try_into().unwrap()),
                );
                let extra = Extra::read(&local[30 + member.name.len()..]).unwrap();
                assert_eq!(extra.resolve_local(sizes.0, sizes.1), Some((size, size)));
            }
        }
    }

    #[test]
    fn a_name_has_one_certain_reading_or_none() {
        let none = Extra { zip64: None, unicode_path: None, aes: false };
        let second =
            |path| Extra { zip64: None, unicode_path: Some((crc32(b"Pr\x81fung"), path)), aes: false };
        assert_eq!(name(b"a.txt", 0, &none), Ok(("a.txt".to_owned(), None)));
        assert_eq!(name("é".as_bytes(), UTF8, &none), Ok(("é".to_owned(), None)));
        assert!(matches!(name("é".as_bytes(), 0, &none), Ok((text, Some(_))) if text == "é"));
        assert!(name(b"Pr\x81fung", 0, &none).is_err());
        assert!(name(b"Pr\x81fung", UTF8, &none).is_err());
        assert_eq!(name(b"Pr\x81fung", 0, &second("Prüfung".as_bytes())), Ok(("Prüfung".to_owned(), None)));
        assert!(name(b"Pr\x81fung", 0, &second(b"\xFF")).is_err());
    }
}
