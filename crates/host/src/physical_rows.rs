//! The physical rows of a text file, byte for byte: for keeping rows that could not be read.

use std::io::{self, BufRead};

/// How a file's characters are cut, as far as line ends go.
///
/// Every encoding that a log may be in either keeps CR and LF as single bytes that stand for nothing else
/// (ASCII's heirs, Shift-JIS and GBK among them), or is UTF-16.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Unit {
    Byte,
    Utf16Le,
    Utf16Be,
}

impl Unit {
    /// By the mark at the start, or by the zeros that UTF-16 has in every row and other text nowhere.
    fn of(head: &[u8]) -> Self {
        match head {
            [0xff, 0xfe, ..] => Self::Utf16Le,
            [0xfe, 0xff, ..] => Self::Utf16Be,
            _ => match head.iter().position(|byte| *byte == 0) {
                None => Self::Byte,
                Some(at) if at % 2 == 0 => Self::Utf16Be,
                Some(_) => Self::Utf16Le,
            },
        }
    }

    fn width(self) -> usize {
        match self {
            Self::Byte => 1,
            Self::Utf16Le | Self::Utf16Be => 2,
        }
    }

    /// The unit as a character where it is a line end, else something that is none.
    fn character(self, unit: &[u8]) -> u16 {
        match (self, unit) {
            (Self::Byte, [a]) => u16::from(*a),
            (Self::Utf16Le, [a, b]) => u16::from_le_bytes([*a, *b]),
            (Self::Utf16Be, [a, b]) => u16::from_be_bytes([*a, *b]),
            _ => 0,
        }
    }
}

/// The mark at the start of a file that says how its characters are written, where it has one.
pub(crate) fn mark(head: &[u8]) -> &[u8] {
    let marks: [&[u8]; 3] = [b"\xef\xbb\xbf", b"\xff\xfe", b"\xfe\xff"];
    marks.into_iter().find(|mark| head.starts_with(mark)).unwrap_or_default()
}

/// Copies the wanted rows (counted from 1, sorted, each once) with their line ends. A row ends with LF, CR
/// LF or a lone CR, which is how people and the log reader count.
pub(crate) fn rows(input: &mut dyn BufRead, head: &[u8], wanted: &[u64]) -> io::Result<Vec<u8>> {
    let unit = Unit::of(head);
    let mut kept = Vec::new();
    let mut wanted = wanted.iter().copied().peekable();
    let mut row = 1u64;
    let mut after_cr = false;
    let mut part = [0u8; 2];
    let mut held = 0;
    while let Some(next) = wanted.peek().copied() {
        let buffer = input.fill_buf()?;
        if buffer.is_empty() {
            if row == next {
                kept.extend_from_slice(part.get(..held).unwrap_or_default());
            }
            break;
        }
        let size = buffer.len();
        for byte in buffer {
            if let Some(slot) = part.get_mut(held) {
                *slot = *byte;
            }
            held += 1;
            if held < unit.width() {
                continue;
            }
            let bytes = part.get(..held).unwrap_or_default();
            held = 0;
            let character = unit.character(bytes);
            if after_cr && character != u16::from(b'\n') {
                row += 1;
            }
            while wanted.peek().is_some_and(|next| *next < row) {
                wanted.next();
            }
            if wanted.peek() == Some(&row) {
                kept.extend_from_slice(bytes);
            }
            after_cr = character == u16::from(b'\r');
            if character == u16::from(b'\n') {
                row += 1;
            }
        }
        input.consume(size);
        while wanted.peek().is_some_and(|next| *next < row) {
            wanted.next();
        }
    }
    Ok(kept)
}

/// The size of each row in bytes, its line end included.
pub(crate) fn sizes(bytes: &[u8]) -> Vec<usize> {
    let unit = Unit::of(bytes);
    let mut sizes = Vec::new();
    let (mut size, mut after_cr) = (0, false);
    for part in bytes.chunks(unit.width()) {
        let character = unit.character(part);
        if after_cr && character != u16::from(b'\n') {
            sizes.push(std::mem::take(&mut size));
        }
        size += part.len();
        after_cr = character == u16::from(b'\r');
        if character == u16::from(b'\n') {
            sizes.push(std::mem::take(&mut size));
        }
    }
    if size > 0 {
        sizes.push(size);
    }
    sizes
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::BufReader;

    fn kept(bytes: &[u8], wanted: &[u64]) -> Vec<u8> {
        // A buffer of one byte: units and CR LF are met in two pieces.
        let small = rows(&mut BufReader::with_capacity(1, bytes), bytes, wanted).unwrap();
        let large = rows(&mut &*bytes, bytes, wanted).unwrap();
        assert_eq!(small, large);
        small
    }

    fn utf16(text: &str, bytes: fn(u16) -> [u8; 2]) -> Vec<u8> {
        text.encode_utf16().flat_map(bytes).collect()
    }

    #[test]
    fn rows_end_with_any_line_end_and_keep_it() {
        assert_eq!(kept(b"a\nb\nc\n", &[2]), b"b\n");
        assert_eq!(kept(b"a\r\nb\r\nc", &[2, 3]), b"b\r\nc");
        assert_eq!(kept(b"a\rb\rc\r", &[1, 3]), b"a\rc\r");
        assert_eq!(kept(b"a\n\nb", &[2]), b"\n");
        assert_eq!(kept(b"a\r\n\r\nb", &[2, 3]), b"\r\nb");
        assert_eq!(kept(b"a\r\rb", &[2]), b"\r");
        assert_eq!(kept(b"a\nb", &[3, 9]), b"");
        assert_eq!(kept(b"\xef\xbb\xbfa\nb", &[1]), b"\xef\xbb\xbfa\n");
        assert_eq!(kept(b"x;\"a\nb\";y\nz", &[1, 2]), b"x;\"a\nb\";y\n");
    }

    #[test]
    fn sizes_are_those_of_the_rows_that_are_kept() {
        for text in ["a\nb\nc\n", "a\r\nb\r\nc", "a\rb\rc\r", "a\n\nb", "a\r\r\nb", "", "\n", "x\r"] {
            let own = sizes(text.as_bytes());
            assert_eq!(own.iter().sum::<usize>(), text.len());
            for (row, size) in (1..).zip(&own) {
                assert_eq!(kept(text.as_bytes(), &[row]).len(), *size, "row {row} of {text:?}");
            }
            assert!(text.is_empty() || kept(text.as_bytes(), &[own.len() as u64 + 1]).is_empty());
        }
        assert_eq!(sizes(&utf16("no,kV\r8,1\r9", u16::to_le_bytes)), [12, 8, 2]);
    }

    #[test]
    fn rows_of_utf16_are_cut_between_units() {
        // U+0A0D and U+0D0A hold the bytes of line ends and are none.
        let text = "\u{feff}a\u{a0d}\r\nb\u{d0a}\nc";
        for bytes in [u16::to_le_bytes, u16::to_be_bytes] {
            let whole = utf16(text, bytes);
            assert_eq!(kept(&whole, &[2]), utf16("b\u{d0a}\n", bytes));
            assert_eq!(kept(&whole, &[1, 3]), utf16("\u{feff}a\u{a0d}\r\nc", bytes));
            let unmarked = utf16("no,kV\r8,1\r9", bytes);
            assert_eq!(kept(&unmarked, &[2]), utf16("8,1\r", bytes));
        }
    }
}
