//! Lines of a file, one at a time, with their numbers; a line has a largest length.

use std::io::{self, BufRead, Read};

/// No line of a record is longer.
pub(crate) const LONGEST: usize = 64 * 1024;

/// Reads lines; a byte order mark at the start is left out.
pub(crate) struct Lines<R> {
    input: R,
    /// Number of lines read so far: the number of the last one, counted from 1.
    pub(crate) row: u64,
}

/// What stands in the way of the next line.
#[derive(Debug)]
pub(crate) enum Trouble {
    /// The system can't read on.
    Io(io::Error),
    /// The line is longer than [`LONGEST`].
    TooLong,
}

impl<R: BufRead> Lines<R> {
    pub(crate) fn new(input: R) -> Self {
        Self { input, row: 0 }
    }

    /// The next line, without its end; false at the end of the file.
    pub(crate) fn next(&mut self, line: &mut Vec<u8>) -> Result<bool, Trouble> {
        line.clear();
        let limit = LONGEST as u64 + 2;
        let read = (&mut self.input).take(limit).read_until(b'\n', line).map_err(Trouble::Io)?;
        if read == 0 {
            return Ok(false);
        }
        self.row += 1;
        if line.last() == Some(&b'\n') {
            line.pop();
            if line.last() == Some(&b'\r') {
                line.pop();
            }
        }
        if line.len() > LONGEST {
            return Err(Trouble::TooLong);
        }
        if self.row == 1 && line.starts_with(b"\xef\xbb\xbf") {
            line.drain(..3);
        }
        Ok(true)
    }
}

/// A line as text: UTF-8, else each byte as the character of that number (which is right for the signs that
/// occur in units: a micro sign, a degree sign).
pub(crate) fn text(line: &[u8]) -> String {
    match std::str::from_utf8(line) {
        Ok(text) => text.to_owned(),
        Err(_) => line.iter().map(|byte| char::from(*byte)).collect(),
    }
}
