//! Records packed with gzip: unpacked while they are read, never whole.

use flate2::bufread::MultiGzDecoder;
use std::io::{self, BufRead, BufReader, Read};

/// How a file packed with gzip begins (RFC 1952, section 2.3.1).
const MARK: &[u8] = &[0x1f, 0x8b];
/// So much is unpacked of one file: a record of 10^7 samples is a quarter of it.
const MOST_UNPACKED: u64 = 1 << 30;
/// A record shrinks to a fifth or a tenth; a file that unpacks to more than so many times its size was made to
/// fill a computer. Small files have a little more room.
const MOST_TIMES: u64 = 100;
const LEAST_ROOM: u64 = 16 << 20;
/// So much of the start is unpacked to see what a file is.
const HEAD: u64 = 64 * 1024;

/// What a packed file begins with; none for a file that is not packed.
pub(crate) fn start(head: &[u8]) -> Option<Vec<u8>> {
    if !head.starts_with(MARK) {
        return None;
    }
    let mut unpacked = Vec::new();
    // The start is cut somewhere: what was unpacked until then is what can be looked at.
    let _ = MultiGzDecoder::new(head).take(HEAD).read_to_end(&mut unpacked);
    Some(unpacked)
}

/// The text of a file of so many bytes, unpacked where it is packed.
pub(crate) fn open<'a>(mut input: Box<dyn BufRead + 'a>, bytes: u64) -> io::Result<Box<dyn BufRead + 'a>> {
    if !input.fill_buf()?.starts_with(MARK) {
        return Ok(input);
    }
    let left = bytes.saturating_mul(MOST_TIMES).clamp(LEAST_ROOM, MOST_UNPACKED);
    let limited = Limited { input: MultiGzDecoder::new(input), left };
    Ok(Box::new(BufReader::with_capacity(64 * 1024, limited)))
}

/// Refuses to unpack more than a record can hold.
struct Limited<R> {
    input: R,
    left: u64,
}

impl<R: Read> Read for Limited<R> {
    fn read(&mut self, to: &mut [u8]) -> io::Result<usize> {
        let count = self.input.read(to)?;
        self.left = self.left.checked_sub(count as u64).ok_or_else(|| {
            io::Error::new(
                io::ErrorKind::InvalidData,
                "it unpacks to more than a record of its size can hold",
            )
        })?;
        Ok(count)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn more_than_the_limit_is_an_error() {
        let mut limited = Limited { input: io::repeat(b'1').take(100), left: 60 };
        let mut all = Vec::new();
        assert!(limited.read_to_end(&mut all).is_err());
        let mut limited = Limited { input: io::repeat(b'1').take(60), left: 60 };
        assert_eq!(limited.read_to_end(&mut Vec::new()).unwrap(), 60);
    }
}
