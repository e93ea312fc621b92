//! Physical rows and the records in them: the only place that knows about delimiters, quotes and line ends.

use std::io::{self, Read};
use std::ops::Range;

/// A record may be this long (bytes of UTF-8); more is taken for a quote that was never closed.
pub(crate) const MOST: usize = 1 << 20;

/// What comes next in a table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Next {
    /// A record; ask [`Records::current`].
    Record,
    /// Nothing more.
    End,
    /// A quote opened on this row, in this field (from 1), was not closed until the end of the file.
    Unclosed { row: u64, column: u32 },
    /// The record that starts on this row is too long.
    TooLong { row: u64 },
}

/// Splits a text (UTF-8) into records. Plain lines are cut at the delimiter; a line with a quote goes
/// through csv-core, so that quoted fields follow RFC 4180.
pub(crate) struct Records<'a> {
    input: Box<dyn Read + 'a>,
    buffer: Vec<u8>,
    start: usize,
    end: usize,
    ended: bool,
    /// Bytes that were before the buffer.
    dropped: usize,
    delimiter: u8,
    quotes: bool,
    core: csv_core::Reader,
    next_row: u64,
    row: u64,
    lines: u64,
    raw: Range<usize>,
    quoted: Option<usize>,
    cells: Vec<(usize, usize)>,
    scratch: Vec<u8>,
    ends: Vec<usize>,
}

/// The current record.
#[derive(Clone, Copy)]
pub(crate) struct Record<'r> {
    /// Its first physical row, from 1.
    pub(crate) row: u64,
    /// How many physical rows it takes.
    pub(crate) lines: u64,
    /// As it stands in the file, without the line end.
    pub(crate) raw: &'r str,
    text: &'r str,
    cells: &'r [(usize, usize)],
}

impl<'r> Record<'r> {
    /// How many fields it has.
    pub(crate) fn len(&self) -> usize {
        self.cells.len()
    }

    /// A field without blanks around it; empty where the record has no such field.
    #[inline]
    pub(crate) fn cell(&self, column: usize) -> &'r str {
        match self.cells.get(column) {
            Some((from, to)) => trim(self.text.get(*from..*to).unwrap_or_default()),
            None => "",
        }
    }

    /// The fields.
    pub(crate) fn cells(&self) -> impl Iterator<Item = &'r str> + '_ {
        (0..self.len()).map(|column| self.cell(column))
    }

    /// Whether every field is empty.
    pub(crate) fn is_blank(&self) -> bool {
        self.cells().all(str::is_empty)
    }
}

/// Without blanks, and without the padding that some programs leave at the end of a file.
#[inline]
pub(crate) fn trim(text: &str) -> &str {
    let bytes = text.as_bytes();
    match (bytes.first(), bytes.last()) {
        (Some(0x21..=0x7e), Some(0x21..=0x7e)) => text,
        _ => text.trim_matches(|c: char| c.is_whitespace() || matches!(c, '\0' | '\u{1a}' | '\u{feff}')),
    }
}

impl<'a> Records<'a> {
    /// Reads records from a text that starts at row 1.
    pub(crate) fn new(input: Box<dyn Read + 'a>, delimiter: u8, quotes: bool) -> Self {
        Self::with(input, vec![0; 128 * 1024], delimiter, quotes)
    }

    /// Reads records from a part of a text, all of which is at hand.
    pub(crate) fn of_part(part: Vec<u8>, row: u64, delimiter: u8, quotes: bool) -> Self {
        let end = part.len();
        Self { end, ended: true, next_row: row, ..Self::with(Box::new(io::empty()), part, delimiter, quotes) }
    }

    /// Reads on in a text whose next row has this number.
    pub(crate) fn at_row(self, row: u64) -> Self {
        Self { next_row: row, ..self }
    }

    fn with(input: Box<dyn Read + 'a>, buffer: Vec<u8>, delimiter: u8, quotes: bool) -> Self {
        Self {
            input,
            buffer,
            start: 0,
            end: 0,
            ended: false,
            dropped: 0,
            delimiter,
            quotes,
            core: csv_core::ReaderBuilder::new().delimiter(delimiter).build(),
            next_row: 1,
            row: 0,
            lines: 0,
            raw: 0..0,
            quoted: None,
            cells: Vec::new(),
            scratch: Vec::new(),
            ends: Vec::new(),
        }
    }

    /// Physical rows so far.
    pub(crate) fn rows(&self) -> u64 {
        self.next_row - 1
    }

    /// Bytes of the text so far.
    pub(crate) fn consumed(&self) -> usize {
        self.dropped + self.start
    }

    /// What was not read yet: bytes at hand, and the input behind them.
    pub(crate) fn into_rest(mut self) -> (Vec<u8>, Box<dyn Read + 'a>) {
        self.buffer.truncate(self.end);
        self.buffer.drain(..self.start);
        (self.buffer, self.input)
    }

    /// The part that [`Self::of_part`] was given.
    pub(crate) fn into_part(self) -> Vec<u8> {
        self.buffer
    }

    /// The record that [`Self::next`] found.
    ///
    /// # Errors
    /// When it is not UTF-8: the file changed while it was read.
    pub(crate) fn current(&self) -> io::Result<Record<'_>> {
        let utf8 =
            |bytes| std::str::from_utf8(bytes).map_err(|e| io::Error::new(io::ErrorKind::InvalidData, e));
        let raw = utf8(self.buffer.get(self.raw.clone()).unwrap_or_default())?;
        let text = match self.quoted {
            None => raw,
            Some(length) => utf8(self.scratch.get(..length).unwrap_or_default())?,
        };
        Ok(Record { row: self.row, lines: self.lines, raw, text, cells: &self.cells })
    }

    /// Goes to the next record; an empty line is a record with one empty field.
    pub(crate) fn next(&mut self) -> io::Result<Next> {
        self.quoted = None;
        self.cells.clear();
        self.row = self.next_row;
        self.lines = 1;
        let Some((content, next)) = (match self.line_end()? {
            Line::Found(content, next) => Some((content, next)),
            Line::End => return Ok(Next::End),
            Line::TooLong => None,
        }) else {
            return Ok(Next::TooLong { row: self.row });
        };
        let line = self.buffer.get(self.start..self.start + content).unwrap_or_default();
        if self.quotes && memchr::memchr(b'"', line).is_some() {
            return self.quoted_record();
        }
        let mut from = 0;
        for at in memchr::memchr_iter(self.delimiter, line) {
            self.cells.push((from, at));
            from = at + 1;
        }
        self.cells.push((from, line.len()));
        self.raw = self.start..self.start + content;
        self.start += next;
        self.next_row += 1;
        Ok(Next::Record)
    }

    /// Where the line at `start` ends: its length, and the length with its line end.
    fn line_end(&mut self) -> io::Result<Line> {
        let mut from = 0;
        loop {
            let here = self.buffer.get(self.start..self.end).unwrap_or_default();
            match memchr::memchr2(b'\n', b'\r', here.get(from..).unwrap_or_default()) {
                Some(at) => {
                    let at = from + at;
                    match (here.get(at), here.get(at + 1)) {
                        (Some(b'\r'), Some(b'\n')) => return Ok(Line::Found(at, at + 2)),
                        (Some(b'\r'), None) if !self.ended => from = at,
                        _ => return Ok(Line::Found(at, at + 1)),
                    }
                }
                None if self.ended => {
                    return Ok(if here.is_empty() { Line::End } else { Line::Found(here.len(), here.len()) });
                }
                None => from = here.len(),
            }
            if !self.fill()? {
                return Ok(Line::TooLong);
            }
        }
    }

    /// Reads more; false when the record is longer than allowed.
    fn fill(&mut self) -> io::Result<bool> {
        if self.start > 0 {
            self.buffer.copy_within(self.start..self.end, 0);
            self.end -= self.start;
            self.dropped += self.start;
            self.start = 0;
        }
        if self.end == self.buffer.len() {
            if self.buffer.len() >= MOST {
                return Ok(false);
            }
            self.buffer.resize((self.buffer.len() * 2).min(MOST), 0);
        }
        loop {
            match self.input.read(self.buffer.get_mut(self.end..).unwrap_or_default()) {
                Ok(0) => self.ended = true,
                Ok(n) => self.end += n,
                Err(e) if e.kind() == io::ErrorKind::Interrupted => continue,
                Err(e) => return Err(e),
            }
            return Ok(true);
        }
    }

    /// Reads the record at `start`, which has a quote in its first line.
    fn quoted_record(&mut self) -> io::Result<Next> {
        use csv_core::ReadRecordResult as Got;
        self.core.reset();
        let (mut read, mut written, mut fields) = (0, 0, 0);
        let mut virtual_end = false;
        loop {
            if !virtual_end && self.start + read >= self.end {
                if self.ended {
                    virtual_end = true;
                } else if !self.fill()? {
                    return Ok(Next::TooLong { row: self.row });
                } else {
                    continue;
                }
            }
            let input = if virtual_end {
                b"\n".as_slice()
            } else {
                self.buffer.get(self.start + read..self.end).unwrap_or_default()
            };
            let (got, took, wrote, ended) = self.core.read_record(
                input,
                self.scratch.get_mut(written..).unwrap_or_default(),
                self.ends.get_mut(fields..).unwrap_or_default(),
            );
            if !virtual_end {
                read += took;
            }
            written += wrote;
            fields += ended;
            match got {
                Got::OutputFull => self.scratch.resize((self.scratch.len() * 2).max(1024), 0),
                Got::OutputEndsFull => self.ends.resize((self.ends.len() * 2).max(64), 0),
                Got::Record | Got::End => break,
                Got::InputEmpty if virtual_end => {
                    let before = self.ends.get(..fields).and_then(|e| e.last()).copied().unwrap_or(0);
                    let rows = line_ends(self.scratch.get(..before).unwrap_or_default());
                    let column = u32::try_from(fields).unwrap_or(u32::MAX).saturating_add(1);
                    let opened = self.row + rows;
                    self.raw = self.start..self.end;
                    self.lines = lines_in(self.buffer.get(self.start..self.end).unwrap_or_default());
                    self.next_row += self.lines;
                    self.start = self.end;
                    return Ok(Next::Unclosed { row: opened, column });
                }
                Got::InputEmpty => {}
            }
        }
        // csv-core stops after the CR of a CRLF.
        if read > 0 && self.buffer.get(self.start + read - 1) == Some(&b'\r') && !virtual_end {
            if self.start + read >= self.end && !self.ended && !self.fill()? {
                return Ok(Next::TooLong { row: self.row });
            }
            if self.start + read < self.end && self.buffer.get(self.start + read) == Some(&b'\n') {
                read += 1;
            }
        }
        let raw = self.buffer.get(self.start..self.start + read).unwrap_or_default();
        self.lines = lines_in(raw);
        let content = raw.len() - raw.iter().rev().take(2).take_while(|b| matches!(b, b'\n' | b'\r')).count();
        self.raw = self.start..self.start + content;
        self.start += read;
        self.next_row += self.lines;
        let mut from = 0;
        for end in self.ends.get(..fields).unwrap_or_default() {
            self.cells.push((from, *end));
            from = *end;
        }
        self.quoted = Some(written);
        Ok(Next::Record)
    }

    /// The text of a record whose quote was never closed, for showing it.
    pub(crate) fn unclosed_text(&self) -> (u64, u64, String) {
        let raw = self.buffer.get(self.raw.clone()).unwrap_or_default();
        (self.row, self.lines, String::from_utf8_lossy(raw).into_owned())
    }
}

enum Line {
    Found(usize, usize),
    End,
    TooLong,
}

/// Line ends within a piece of text.
fn line_ends(text: &[u8]) -> u64 {
    let mut count = 0;
    let mut previous = 0;
    for b in text {
        count += u64::from(*b == b'\r' || (*b == b'\n' && previous != b'\r'));
        previous = *b;
    }
    count
}

/// Physical lines that a piece of text takes, whether or not it ends in a line end.
pub(crate) fn lines_in(text: &[u8]) -> u64 {
    let ended = matches!(text.last(), Some(b'\n' | b'\r') | None);
    line_ends(text) + u64::from(!ended)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A reader that hands out a few bytes at a time.
    struct Slow<'a>(&'a [u8], usize);
    impl Read for Slow<'_> {
        fn read(&mut self, to: &mut [u8]) -> io::Result<usize> {
            let n = self.0.len().min(self.1).min(to.len());
            to[..n].copy_from_slice(&self.0[..n]);
            self.0 = &self.0[n..];
            Ok(n)
        }
    }

    fn read(text: &str, piece: usize) -> Vec<(u64, u64, Vec<String>)> {
        let mut records = Records::new(Box::new(Slow(text.as_bytes(), piece)), b',', true);
        let mut found = Vec::new();
        loop {
            match records.next().unwrap() {
                Next::Record => {
                    let record = records.current().unwrap();
                    found.push((record.row, record.lines, record.cells().map(str::to_owned).collect()));
                }
                Next::End => return found,
                other => {
                    found.push((0, 0, vec![format!("{other:?}")]));
                    if matches!(other, Next::TooLong { .. }) {
                        return found;
                    }
                }
            }
        }
    }

    fn row(row: u64, lines: u64, cells: &[&str]) -> (u64, u64, Vec<String>) {
        (row, lines, cells.iter().map(|c| (*c).to_owned()).collect())
    }

    #[test]
    fn rows_are_physical_lines_whatever_ends_them() {
        let expected =
            [row(1, 1, &["a", "b"]), row(2, 1, &[""]), row(3, 2, &["two\nlines", "c"]), row(5, 1, &["d"])];
        for end in ["\n", "\r\n", "\r"] {
            for piece in 1..9 {
                let text = "a,b\n\n\"two\nlines\",c\nd".replace('\n', end);
                let expected: Vec<_> = expected
                    .iter()
                    .map(|(r, l, c)| (*r, *l, c.iter().map(|c| c.replace('\n', end)).collect::<Vec<_>>()))
                    .collect();
                assert_eq!(read(&text, piece), expected, "{end:?} {piece}");
                assert_eq!(read(&format!("{text}{end}"), piece), expected, "{end:?} {piece}");
            }
        }
    }

    #[test]
    fn an_unclosed_quote_says_where_it_opened() {
        let found = read("a,b\nc,\"d\ne\nf,g", 64);
        assert_eq!(found[1].2, ["Unclosed { row: 2, column: 2 }"]);
        assert_eq!(read("a,\"b\"", 64), [row(1, 1, &["a", "b"])]);
        assert_eq!(read("a,5\" pipe", 64), [row(1, 1, &["a", "5\" pipe"])]);
    }

    #[test]
    fn a_record_without_end_is_given_up_with_bounded_memory() {
        let text = "x".repeat(3 << 20);
        assert_eq!(read(&text, 4096)[0].2, ["TooLong { row: 1 }"]);
        let text = format!("\"{}", "x\n".repeat(1 << 20));
        assert_eq!(read(&text, 4096)[0].2, ["TooLong { row: 1 }"]);
    }

    /// Public CSV cases with the fields that they hold as JSON (csv-spectrum, beside the repository).
    #[test]
    #[allow(clippy::disallowed_methods, reason = "the cases are files")]
    fn the_fields_of_public_cases_are_those_of_their_json() {
        let folder =
            std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../shared/external/csv-spectrum");
        let Ok(entries) = std::fs::read_dir(folder) else { return };
        let mut cases = 0;
        for entry in entries {
            let path = entry.unwrap().path();
            if path.extension().is_none_or(|ending| ending != "csv") {
                continue;
            }
            let bytes = std::fs::read(&path).unwrap();
            let wanted: Vec<serde_json::Map<String, serde_json::Value>> =
                serde_json::from_slice(&std::fs::read(path.with_extension("json")).unwrap()).unwrap();
            for piece in [1, 7, 4096] {
                let mut records = Records::new(Box::new(Slow(&bytes, piece)), b',', true);
                let mut rows: Vec<Vec<String>> = Vec::new();
                while records.next().unwrap() == Next::Record {
                    rows.push(records.current().unwrap().cells().map(str::to_owned).collect());
                }
                let (header, rows) = rows.split_first().unwrap();
                assert_eq!(rows.len(), wanted.len(), "{}", path.display());
                for (row, wanted) in rows.iter().zip(&wanted) {
                    assert_eq!(row.len(), wanted.len(), "{}", path.display());
                    for (name, cell) in header.iter().zip(row) {
                        // A line break within a field is kept as the file has it; the cases state it as LF.
                        let cell = cell.replace("\r\n", "\n");
                        assert_eq!(Some(cell.as_str()), wanted[name].as_str(), "{}", path.display());
                    }
                }
            }
            cases += 1;
        }
        assert!(cases >= 6, "{cases} cases");
    }
}
