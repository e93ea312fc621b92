//! The bytes of our zip's headers, the one form that a pack is written in and that `verify` calls untouched.
//!
//! Canonical form (PKWARE APPNOTE 6.3.9, the field names are its own): members in ascending byte order of their
//! names, no folder members; each local header directly before its body, nothing between members, before the first
//! or after the end record; method stored or deflated; general purpose flags only bit 11 (UTF-8); no data
//! descriptors; time 1980-01-01 00:00:00; made by "Unix, 2.0", mode 100644; no extra fields and no comments except a
//! zip64 field where a size or offset needs it; and as the archive's comment the seal, see [`seal`].

pub(crate) const LOCAL: u32 = 0x0403_4b50;
pub(crate) const CENTRAL: u32 = 0x0201_4b50;
pub(crate) const END: u32 = 0x0605_4b50;
pub(crate) const END64: u32 = 0x0606_4b50;
pub(crate) const LOCATOR64: u32 = 0x0706_4b50;
pub(crate) const DESCRIPTOR: u32 = 0x0807_4b50;

pub(crate) const LOCAL_LENGTH: u64 = 30;
pub(crate) const CENTRAL_LENGTH: u64 = 46;
pub(crate) const END_LENGTH: u64 = 22;
pub(crate) const END64_LENGTH: u64 = 56;
pub(crate) const LOCATOR64_LENGTH: u64 = 20;

/// Flag bit 11: the name is UTF-8.
pub(crate) const UTF8: u16 = 1 << 11;
/// A 32-bit field with this value says that the true one stands in the zip64 field.
pub(crate) const FULL32: u32 = u32::MAX;
const FULL16: u16 = u16::MAX;
/// 1980-01-01, the first day that the format can hold.
const FIRST_DAY: u16 = 0x0021;
const MADE_BY: u16 = (3 << 8) | 20;
const MADE_BY_64: u16 = (3 << 8) | 45;
const PLAIN_FILE: u32 = 0o100_644 << 16;

/// How a member's bytes are kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Method {
    Stored,
    Deflated,
}

impl Method {
    pub(crate) fn number(self) -> u16 {
        match self {
            Self::Stored => 0,
            Self::Deflated => 8,
        }
    }
}

/// What a member's headers say.
#[derive(Clone, Debug)]
pub(crate) struct Member {
    pub(crate) name: String,
    pub(crate) method: Method,
    pub(crate) crc: u32,
    /// Bytes of the body as it stands in the zip.
    pub(crate) packed: u64,
    /// Bytes of the file.
    pub(crate) size: u64,
    /// Where the local header begins.
    pub(crate) offset: u64,
}

impl Member {
    fn is_large(&self) -> bool {
        self.size >= u64::from(FULL32) || self.packed >= u64::from(FULL32)
    }

    fn sizes32(&self) -> (u32, u32) {
        if self.is_large() { (FULL32, FULL32) } else { (low32(self.packed), low32(self.size)) }
    }

    /// The local header in canonical form.
    pub(crate) fn local_header(&self) -> Vec<u8> {
        let mut bytes = Vec::with_capacity(64 + self.name.len());
        let extra: u16 = if self.is_large() { 20 } else { 0 };
        let (packed, size) = self.sizes32();
        put32(&mut bytes, LOCAL);
        put16(&mut bytes, if self.is_large() { 45 } else { 20 });
        put16(&mut bytes, UTF8);
        put16(&mut bytes, self.method.number());
        put16(&mut bytes, 0);
        put16(&mut bytes, FIRST_DAY);
        put32(&mut bytes, self.crc);
        put32(&mut bytes, packed);
        put32(&mut bytes, size);
        put16(&mut bytes, low16(self.name.len() as u64));
        put16(&mut bytes, extra);
        bytes.extend_from_slice(self.name.as_bytes());
        if extra > 0 {
            put16(&mut bytes, 1);
            put16(&mut bytes, 16);
            put64(&mut bytes, self.size);
            put64(&mut bytes, self.packed);
        }
        bytes
    }

    /// The entry of the central directory in canonical form.
    pub(crate) fn central_header(&self) -> Vec<u8> {
        let far = self.offset >= u64::from(FULL32);
        let mut extra = Vec::new();
        if self.is_large() {
            put64(&mut extra, self.size);
            put64(&mut extra, self.packed);
        }
        if far {
            put64(&mut extra, self.offset);
        }
        let wide = !extra.is_empty();
        let (packed, size) = self.sizes32();
        let mut bytes = Vec::with_capacity(80 + self.name.len());
        put32(&mut bytes, CENTRAL);
        put16(&mut bytes, if wide { MADE_BY_64 } else { MADE_BY });
        put16(&mut bytes, if wide { 45 } else { 20 });
        put16(&mut bytes, UTF8);
        put16(&mut bytes, self.method.number());
        put16(&mut bytes, 0);
        put16(&mut bytes, FIRST_DAY);
        put32(&mut bytes, self.crc);
        put32(&mut bytes, packed);
        put32(&mut bytes, size);
        put16(&mut bytes, low16(self.name.len() as u64));
        put16(&mut bytes, if wide { low16(extra.len() as u64 + 4) } else { 0 });
        put16(&mut bytes, 0); // comment
        put16(&mut bytes, 0); // disk
        put16(&mut bytes, 0); // internal attributes
        put32(&mut bytes, PLAIN_FILE);
        put32(&mut bytes, if far { FULL32 } else { low32(self.offset) });
        bytes.extend_from_slice(self.name.as_bytes());
        if wide {
            put16(&mut bytes, 1);
            put16(&mut bytes, low16(extra.len() as u64));
            bytes.extend_from_slice(&extra);
        }
        bytes
    }
}

/// The records after the central directory in canonical form, up to where the comment begins.
pub(crate) fn end_records(count: u64, offset: u64, length: u64, comment: usize) -> Vec<u8> {
    let wide = count >= u64::from(FULL16) || offset >= u64::from(FULL32) || length >= u64::from(FULL32);
    let mut bytes = Vec::with_capacity(98);
    if wide {
        put32(&mut bytes, END64);
        put64(&mut bytes, END64_LENGTH - 12);
        put16(&mut bytes, MADE_BY_64);
        put16(&mut bytes, 45);
        put32(&mut bytes, 0);
        put32(&mut bytes, 0);
        put64(&mut bytes, count);
        put64(&mut bytes, count);
        put64(&mut bytes, length);
        put64(&mut bytes, offset);
        put32(&mut bytes, LOCATOR64);
        put32(&mut bytes, 0);
        put64(&mut bytes, offset.saturating_add(length));
        put32(&mut bytes, 1);
    }
    put32(&mut bytes, END);
    put16(&mut bytes, 0);
    put16(&mut bytes, 0);
    put16(&mut bytes, low16(count));
    put16(&mut bytes, low16(count));
    put32(&mut bytes, low32(length));
    put32(&mut bytes, low32(offset));
    put16(&mut bytes, low16(comment as u64));
    bytes
}

/// The archive's comment: what the rest of the zip hashes to.
///
/// SHA-256 of every byte before the comment. It tells an untouched zip from one that a tool has unpacked and packed
/// again with the same content; it protects nothing, anyone can compute it.
pub(crate) fn seal(sha256_of_the_rest: &str) -> String {
    format!("{SEAL_START}{sha256_of_the_rest}")
}

/// What a seal begins with. The number is that of the canonical form.
pub(crate) const SEAL_START: &str = "fulgurite zip form 1, sha256 of all bytes before this comment: ";
/// Length of a seal.
pub(crate) const SEAL_LENGTH: usize = SEAL_START.len() + 64;

/// The low 16 bits' worth of a number, saturated: a full field says "see zip64".
fn low16(value: u64) -> u16 {
    u16::try_from(value).unwrap_or(FULL16)
}

fn low32(value: u64) -> u32 {
    u32::try_from(value).unwrap_or(FULL32)
}

fn put16(bytes: &mut Vec<u8>, value: u16) {
    bytes.extend_from_slice(&value.to_le_bytes());
}

fn put32(bytes: &mut Vec<u8>, value: u32) {
    bytes.extend_from_slice(&value.to_le_bytes());
}

fn put64(bytes: &mut Vec<u8>, value: u64) {
    bytes.extend_from_slice(&value.to_le_bytes());
}
