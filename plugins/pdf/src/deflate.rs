//! Deflates content that comes in portions to the bytes that the PDF library makes of it in one piece.
//!
//! What the compressor makes depends on when it is called: it forgets a match that it has looked ahead to where it runs
//! out of input, or of room for output. Portions are therefore cut where it fetches more of a whole input by itself,
//! and its output is taken away only where that is full.

use flate2::{Compress, Compression, FlushCompress, Status};
use std::io::{self, Write};

/// What the compressor fetches first: its window, which is two of its portions.
const FIRST: usize = 2 * NEXT;
/// What it fetches from then on.
const NEXT: usize = 32 * 1024;
/// Room for output, as the PDF library's compressor has it.
const ROOM: usize = 32 * 1024;
/// Level, as in the PDF library.
const LEVEL: u32 = 6;

/// Content being deflated (RFC 1950), and its length so far.
pub(crate) struct Deflater {
    compress: Compress,
    input: Vec<u8>,
    room: Vec<u8>,
    out: Vec<u8>,
    length: u64,
    portion: usize,
}

impl Deflater {
    pub(crate) fn new() -> Self {
        Self {
            compress: Compress::new(Compression::new(LEVEL), true),
            input: Vec::with_capacity(FIRST),
            room: Vec::with_capacity(ROOM),
            out: Vec::new(),
            length: 0,
            portion: FIRST,
        }
    }

    /// The deflated content, and the length of what it was.
    pub(crate) fn finish(mut self) -> io::Result<(Vec<u8>, u64)> {
        self.portion()?;
        loop {
            self.take();
            let before = self.compress.total_out();
            let status = self.compress.compress_vec(&[], &mut self.room, FlushCompress::Finish)?;
            if status == Status::StreamEnd {
                self.take();
                return Ok((self.out, self.length));
            }
            if before == self.compress.total_out() {
                return Err(io::Error::other("the compressor came to no end"));
            }
        }
    }

    /// Hands the compressor all of a portion.
    fn portion(&mut self) -> io::Result<()> {
        let mut left = self.input.as_slice();
        while !left.is_empty() {
            if self.room.len() == self.room.capacity() {
                self.out.extend_from_slice(&self.room);
                self.room.clear();
            }
            let (before, made) = (self.compress.total_in(), self.room.len());
            self.compress.compress_vec(left, &mut self.room, FlushCompress::None)?;
            let used = usize::try_from(self.compress.total_in() - before).unwrap_or(usize::MAX);
            if used == 0 && self.room.len() == made {
                return Err(io::Error::other("the compressor takes no more"));
            }
            left = left.get(used..).unwrap_or_default();
        }
        self.input.clear();
        self.portion = NEXT;
        Ok(())
    }

    fn take(&mut self) {
        self.out.extend_from_slice(&self.room);
        self.room.clear();
    }
}

impl Write for Deflater {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let wanted = self.portion - self.input.len();
        let part = bytes.get(..wanted).unwrap_or(bytes);
        self.input.extend_from_slice(part);
        self.length += part.len() as u64;
        if self.input.len() == self.portion {
            self.portion()?;
        }
        Ok(part.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)] // what is not there in a test is a failed test
mod tests {
    use super::*;
    use flate2::write::ZlibEncoder;

    fn whole(content: &[u8]) -> Vec<u8> {
        let mut encoder = ZlibEncoder::new(Vec::new(), Compression::new(LEVEL));
        encoder.write_all(content).unwrap();
        encoder.finish().unwrap()
    }

    fn in_portions(content: &[u8], portion: usize) -> Vec<u8> {
        let mut deflater = Deflater::new();
        content.chunks(portion).for_each(|part| deflater.write_all(part).unwrap());
        let (out, length) = deflater.finish().unwrap();
        assert_eq!(length, content.len() as u64);
        out
    }

    /// Numbers as in records: noise of a few digits, from a generator of Knuth's.
    fn samples(bytes: usize, spread: u64) -> Vec<u8> {
        let (mut out, mut state) = (Vec::new(), 7_u64);
        while out.len() < bytes {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            write!(out, "{} ", (state >> 33) % spread).unwrap();
        }
        out.truncate(bytes);
        out
    }

    #[test]
    fn portions_give_the_bytes_that_one_piece_gives() {
        for bytes in [0, 1, 261, 262, 32_767, 65_535, 65_536, 65_537, 98_304, 131_072, 5_000_000] {
            for spread in [1, 3, 1000, 1_000_000, u64::MAX] {
                let content = samples(bytes, spread);
                let expected = whole(&content);
                for portion in [977, 65_536, 70_001, usize::MAX] {
                    let made = in_portions(&content, portion);
                    assert!(made == expected, "{bytes} bytes, spread {spread}, portions of {portion}");
                }
            }
        }
    }
}
