//! Writes a zip in the canonical form, member by member, to anything that takes bytes in order.
//!
//! The headers are our own and not a zip library's: the form must stay the same for as long as packs are to be
//! verified, also when a library changes its defaults, and a header that already holds the sizes needs no seeking
//! back. Compression is zlib-rs.

use crate::algorithms::{Algorithm, Digests};
use crate::content::{Content, Each};
use crate::zip_format::{self, Member, Method};
use flate2::write::DeflateEncoder;
use flate2::{Compression, Crc};
use std::io::{self, Write};

const LEVEL: u32 = 6;
/// Packed bytes of one member kept in memory; a longer one is compressed a second time while it is written.
const KEPT: usize = 32 << 20;
/// A member that would shrink further than this is stored, since readers take such a ratio for a bomb.
const HIGHEST_RATIO: u64 = 100;
const RATIO_MATTERS_FROM: u64 = 16 * 1024;

/// A zip being written.
pub(crate) struct ZipWriter<W> {
    out: Sealing<W>,
    members: Vec<Member>,
    kept: usize,
}

impl<W: Write> ZipWriter<W> {
    pub(crate) fn new(out: W) -> Self {
        Self { out: Sealing::new(out), members: Vec::new(), kept: KEPT }
    }

    /// Adds a file and returns its digests. Names must come in ascending byte order.
    pub(crate) fn add(
        &mut self,
        name: &str,
        body: &dyn Content,
        algorithms: &[Algorithm],
    ) -> io::Result<Vec<(Algorithm, String)>> {
        if self.members.last().is_some_and(|last| last.name.as_str() >= name) {
            return Err(io::Error::other(format!("`{name}` is out of order")));
        }
        if name.len() > usize::from(u16::MAX) {
            return Err(io::Error::new(io::ErrorKind::InvalidInput, "a name is longer than a zip can hold"));
        }
        let mut digests = Digests::new(algorithms.iter().copied());
        let mut first =
            Pass::new(if is_compressed_already(name) { None } else { Some(Kept::new(self.kept)) });
        first.read(body, |chunk| digests.update(chunk))?;
        let (size, crc, kept) = first.finish()?;
        if size != body.size() {
            return Err(changed(name));
        }
        let packed = match &kept {
            Some(kept) if is_worth_it(size, kept.length) => Some(kept.length),
            _ => None,
        };
        let member = Member {
            name: name.to_owned(),
            method: if packed.is_some() { Method::Deflated } else { Method::Stored },
            crc,
            packed: packed.unwrap_or(size),
            size,
            offset: self.out.written,
        };
        self.out.write_all(&member.local_header())?;
        let start = self.out.written;
        match (kept.and_then(|kept| kept.bytes), packed) {
            (Some(bytes), Some(_)) => self.out.write_all(&bytes)?,
            (_, Some(_)) => {
                let mut second = Crc::new();
                let mut encoder = DeflateEncoder::new(&mut self.out, Compression::new(LEVEL));
                copy(body, |chunk| {
                    second.update(chunk);
                    encoder.write_all(chunk)
                })?;
                encoder.finish()?;
                if second.sum() != crc {
                    return Err(changed(name));
                }
            }
            (_, None) => {
                let mut second = Crc::new();
                copy(body, |chunk| {
                    second.update(chunk);
                    self.out.write_all(chunk)
                })?;
                if second.sum() != crc {
                    return Err(changed(name));
                }
            }
        }
        if self.out.written - start != member.packed {
            return Err(changed(name));
        }
        self.members.push(member);
        Ok(digests.finish())
    }

    /// Writes the directory and the seal; returns the writer and the length of the zip.
    pub(crate) fn finish(mut self) -> io::Result<(W, u64)> {
        let offset = self.out.written;
        for member in &self.members {
            self.out.write_all(&member.central_header())?;
        }
        let length = self.out.written - offset;
        let count = self.members.len() as u64;
        self.out.write_all(&zip_format::end_records(count, offset, length, zip_format::SEAL_LENGTH))?;
        let digest = self.out.digest.finish().pop().map(|(_, text)| text).unwrap_or_default();
        let seal = zip_format::seal(&digest);
        self.out.inner.write_all(seal.as_bytes())?;
        self.out.inner.flush()?;
        Ok((self.out.inner, self.out.written + seal.len() as u64))
    }
}

fn changed(name: &str) -> io::Error {
    io::Error::new(io::ErrorKind::InvalidData, format!("`{name}` changed while it was being packed"))
}

fn is_worth_it(size: u64, packed: u64) -> bool {
    packed < size && (size < RATIO_MATTERS_FROM || size / packed.max(1) <= HIGHEST_RATIO)
}

/// Formats that deflate gains nothing on; told by the name, since the content is proven by checksums either way.
fn is_compressed_already(name: &str) -> bool {
    const ENDINGS: [&str; 22] = [
        "jpg", "jpeg", "png", "gif", "webp", "avif", "heic", "zip", "gz", "tgz", "bz2", "xz", "zst", "7z",
        "rar", "pdf", "mp3", "mp4", "m4a", "mov", "docx", "xlsx",
    ];
    name.rsplit_once('.')
        .is_some_and(|(_, ending)| ENDINGS.iter().any(|known| ending.eq_ignore_ascii_case(known)))
}

fn copy(body: &dyn Content, each: impl FnMut(&[u8]) -> io::Result<()>) -> io::Result<()> {
    body.write_to(&mut Each(each))
}

/// Deflated bytes of a member: all of them, or only their number when they are too many to keep.
struct Kept {
    bytes: Option<Vec<u8>>,
    length: u64,
    limit: usize,
}

impl Kept {
    fn new(limit: usize) -> Self {
        Self { bytes: Some(Vec::new()), length: 0, limit }
    }
}

impl Write for Kept {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.length += bytes.len() as u64;
        match &mut self.bytes {
            Some(kept) if self.length <= self.limit as u64 => kept.extend_from_slice(bytes),
            _ => self.bytes = None,
        }
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// The first reading of a member: its length, its CRC and, where asked for, its deflated form.
struct Pass {
    size: u64,
    crc: Crc,
    encoder: Option<DeflateEncoder<Kept>>,
}

impl Pass {
    fn new(kept: Option<Kept>) -> Self {
        let encoder = kept.map(|kept| DeflateEncoder::new(kept, Compression::new(LEVEL)));
        Self { size: 0, crc: Crc::new(), encoder }
    }

    fn read(&mut self, body: &dyn Content, mut each: impl FnMut(&[u8])) -> io::Result<()> {
        copy(body, |chunk| {
            self.size += chunk.len() as u64;
            self.crc.update(chunk);
            each(chunk);
            match &mut self.encoder {
                Some(encoder) => encoder.write_all(chunk),
                None => Ok(()),
            }
        })
    }

    fn finish(self) -> io::Result<(u64, u32, Option<Kept>)> {
        let kept = self.encoder.map(DeflateEncoder::finish).transpose()?;
        Ok((self.size, self.crc.sum(), kept))
    }
}

/// Counts and hashes what goes through.
struct Sealing<W> {
    inner: W,
    written: u64,
    digest: Digests,
}

impl<W> Sealing<W> {
    fn new(inner: W) -> Self {
        Self { inner, written: 0, digest: Digests::new([Algorithm::Sha256]) }
    }
}

impl<W: Write> Write for Sealing<W> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let count = self.inner.write(bytes)?;
        self.digest.update(bytes.get(..count).unwrap_or_default());
        self.written += count as u64;
        Ok(count)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.inner.flush()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keeping_the_packed_bytes_or_making_them_again_is_the_same() {
        let text: Vec<u8> = (0..40_000_u32).flat_map(|n| (n % 977).to_string().into_bytes()).collect();
        let zip = |kept: usize| {
            let mut zip = ZipWriter { kept, ..ZipWriter::new(Vec::new()) };
            zip.add("a.csv", &text, &[Algorithm::Sha256]).unwrap();
            zip.finish().unwrap().0
        };
        let all = zip(KEPT);
        assert!(all.len() > 2000 && all.len() < text.len());
        assert_eq!(all, zip(1000));
    }

    #[test]
    fn names_out_of_order_are_an_error() {
        let mut zip = ZipWriter::new(Vec::new());
        zip.add("b", &Vec::new(), &[]).unwrap();
        assert!(zip.add("a", &Vec::new(), &[]).is_err());
        assert!(zip.add("b", &Vec::new(), &[]).is_err());
    }
}
