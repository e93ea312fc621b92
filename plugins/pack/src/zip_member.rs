//! Reads the bytes of one zip member and proves, by its end, that they are what the headers say.

use crate::zip_format::Method;
use flate2::{Crc, Decompress, FlushDecompress, Status};
use std::io::{self, BufRead, Read};

/// The content of a member. Fails rather than gives a byte more than the stated size, and fails at its end unless
/// size, CRC and the end of the packed bytes all fit.
pub(crate) struct MemberReader<R> {
    packed: R,
    inflater: Option<Decompress>,
    packed_length: u64,
    size: u64,
    crc: u32,
    given: u64,
    running: Crc,
    finished: bool,
}

impl<R: BufRead> MemberReader<R> {
    /// `packed` ends after the member's packed bytes.
    pub(crate) fn new(packed: R, method: Method, packed_length: u64, size: u64, crc: u32) -> Self {
        let inflater = (method == Method::Deflated).then(|| Decompress::new(false));
        Self { packed, inflater, packed_length, size, crc, given: 0, running: Crc::new(), finished: false }
    }

    fn inflate(&mut self, out: &mut [u8]) -> io::Result<usize> {
        let Some(inflater) = &mut self.inflater else { return self.packed.read(out) };
        loop {
            let input = self.packed.fill_buf()?;
            let at_end = input.is_empty();
            let (before_in, before_out) = (inflater.total_in(), inflater.total_out());
            let flush = if at_end { FlushDecompress::Finish } else { FlushDecompress::None };
            let status = inflater
                .decompress(input, out, flush)
                .map_err(|_| damaged("its packed bytes are damaged (deflate)"))?;
            let consumed = usize::try_from(inflater.total_in() - before_in).unwrap_or(usize::MAX);
            let produced = usize::try_from(inflater.total_out() - before_out).unwrap_or(usize::MAX);
            self.packed.consume(consumed);
            if status == Status::StreamEnd {
                self.finished = true;
                return Ok(produced);
            }
            if produced > 0 {
                return Ok(produced);
            }
            if at_end {
                return Err(damaged("its packed bytes end too early"));
            }
            if consumed == 0 {
                return Err(damaged("its packed bytes are damaged (deflate)"));
            }
        }
    }

    fn check_end(&self) -> io::Result<()> {
        if self.given != self.size {
            return Err(damaged(&format!("it unpacks to {} bytes, {} are stated", self.given, self.size)));
        }
        if self.inflater.as_ref().is_some_and(|inflater| inflater.total_in() != self.packed_length) {
            return Err(damaged("bytes are hidden behind the end of its packed content"));
        }
        if self.running.sum() != self.crc {
            return Err(damaged("its CRC is wrong"));
        }
        Ok(())
    }
}

impl<R: BufRead> Read for MemberReader<R> {
    fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
        if out.is_empty() {
            return Ok(0);
        }
        let count = if self.finished { 0 } else { self.inflate(out)? };
        if count == 0 {
            self.finished = true;
            self.check_end()?;
            return Ok(0);
        }
        self.given += count as u64;
        if self.given > self.size {
            return Err(damaged(&format!("it unpacks to more than the {} bytes stated", self.size)));
        }
        self.running.update(out.get(..count).unwrap_or_default());
        Ok(count)
    }
}

fn damaged(what: &str) -> io::Error {
    io::Error::new(io::ErrorKind::InvalidData, what.to_owned())
}
