//! Writes a zip in the canonical form, member by member, to anything that takes bytes in order.
//!
//! The headers are our own and not a zip library's: the form must stay the same for as long as packs are to be
//! verified, also when a library changes its defaults, and a header that already holds the sizes needs no seeking
//! back.

use crate::algorithms::{Algorithm, Digests};
use crate::content::{Content, Each};
use crate::prepare::{KEPT, Prepared, changed, encoder, prepare};
use crate::zip_format::{self, Member, Method};
use flate2::Crc;
use std::io::{self, Read, Write};

/// A zip being written.
pub(crate) struct ZipWriter<W> {
    out: Sealing<W>,
    members: Vec<Member>,
}

impl<W: Write> ZipWriter<W> {
    pub(crate) fn new(out: W) -> Self {
        Self { out: Sealing::new(out), members: Vec::new() }
    }

    /// Adds a file that was prepared from `content`. Names must come in ascending byte order.
    pub(crate) fn add(&mut self, name: &str, prepared: &Prepared, content: &dyn Content) -> io::Result<()> {
        if self.members.last().is_some_and(|last| last.name.as_str() >= name) {
            return Err(io::Error::other(format!("`{name}` is out of order")));
        }
        if name.len() > usize::from(u16::MAX) {
            return Err(io::Error::new(io::ErrorKind::InvalidInput, "a name is longer than a zip can hold"));
        }
        let member = Member {
            name: name.to_owned(),
            method: prepared.method,
            crc: prepared.crc,
            packed: prepared.packed,
            size: prepared.size,
            offset: self.out.written,
        };
        self.out.write_all(&member.local_header())?;
        let start = self.out.written;
        let mut crc = Crc::new();
        match (&prepared.bytes, prepared.method) {
            (Some(bytes), _) => self.out.write_all(bytes)?,
            (None, Method::Deflated) => {
                let mut encoder = encoder(&mut self.out);
                content.write_to(&mut Each(|chunk: &[u8]| {
                    crc.update(chunk);
                    encoder.write_all(chunk)
                }))?;
                encoder.finish()?;
            }
            (None, Method::Stored) => content.write_to(&mut Each(|chunk: &[u8]| {
                crc.update(chunk);
                self.out.write_all(chunk)
            }))?,
        }
        let second_reading_fits = prepared.bytes.is_some() || crc.sum() == prepared.crc;
        if self.out.written - start != member.packed || !second_reading_fits {
            return Err(changed(name));
        }
        self.members.push(member);
        Ok(())
    }

    /// Adds a small file from memory.
    pub(crate) fn add_bytes(&mut self, name: &str, bytes: &[u8]) -> io::Result<()> {
        let content = bytes.to_vec();
        let prepared = prepare(name, &content, &[], KEPT)?;
        self.add(name, &prepared, &content)
    }

    /// Adds a member as another zip packed it; `packed` gives exactly the packed bytes.
    pub(crate) fn add_packed(&mut self, member: Member, packed: &mut dyn Read) -> io::Result<()> {
        if self.members.last().is_some_and(|last| last.name.as_str() >= member.name.as_str()) {
            return Err(io::Error::other(format!("`{}` is out of order", member.name)));
        }
        let member = Member { offset: self.out.written, ..member };
        self.out.write_all(&member.local_header())?;
        let count = io::copy(packed, &mut self.out)?;
        if count != member.packed {
            return Err(changed(&member.name));
        }
        self.members.push(member);
        Ok(())
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
    fn names_out_of_order_are_an_error() {
        let content = Vec::new();
        let prepared = prepare("x", &content, &[], 0).unwrap();
        let mut zip = ZipWriter::new(Vec::new());
        zip.add("b", &prepared, &content).unwrap();
        assert!(zip.add("a", &prepared, &content).is_err());
        assert!(zip.add("b", &prepared, &content).is_err());
    }
}
