//! From bytes to text: which encoding a file has, and what in it is no text at all.

use crate::survey::TextSurvey;
use encoding_rs::{Decoder, DecoderResult, Encoding, UTF_8, UTF_16BE, UTF_16LE, WINDOWS_1252};
use std::io::{self, BufRead, Read};

/// So many bytes are looked at in one go, however many are at hand: a file that lies in memory is not copied whole.
const PIECE: usize = 64 * 1024;

/// How the encoding was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum How {
    /// By the mark at the start of the file.
    Mark,
    /// By a setting.
    Declared,
    /// The bytes are valid UTF-8.
    Valid,
    /// The bytes are not valid UTF-8 from this row on, and nothing else was declared.
    Assumed { row: u64 },
}

/// What the first look at all bytes of a file found.
#[derive(Clone, Debug)]
pub(crate) struct Survey {
    pub(crate) encoding: &'static Encoding,
    pub(crate) how: How,
    /// Bytes of the mark at the start.
    pub(crate) mark: usize,
    pub(crate) text: TextSurvey,
}

/// Why a file can't be read as text.
#[derive(Clone, Debug)]
pub(crate) enum NotText {
    /// Nothing in it.
    Empty,
    /// UTF-16 by its look, without the mark; the name of the encoding to declare.
    Unmarked { likely: &'static str },
    /// Bytes that the encoding doesn't have.
    Undecodable { row: u64, encoding: &'static str },
    /// A NUL character inside the text.
    Nul { row: u64 },
    /// The system could not read it.
    Io(String),
}

/// Looks at all bytes: finds the encoding and whether the whole is text.
///
/// `open` opens the file at its first byte; it is called once, or twice where the text is not UTF-8.
pub(crate) fn survey<'a>(
    open: &dyn Fn() -> io::Result<Box<dyn BufRead + 'a>>,
    declared: Option<&'static Encoding>,
) -> Result<Survey, NotText> {
    let io_error = |e: io::Error| NotText::Io(e.to_string());
    let mut input = open().map_err(io_error)?;
    let mut head = Vec::new();
    input.by_ref().take(4096).read_to_end(&mut head).map_err(io_error)?;
    if head.is_empty() {
        return Err(NotText::Empty);
    }
    if head.starts_with(&[0xff, 0xfe, 0, 0]) || head.starts_with(&[0, 0, 0xfe, 0xff]) {
        return Err(NotText::Undecodable { row: 1, encoding: "UTF-32" });
    }
    let marked = Encoding::for_bom(&head);
    if marked.is_none()
        && declared.is_none()
        && let Some(likely) = looks_like_utf16(&head)
    {
        return Err(NotText::Unmarked { likely });
    }
    let (encoding, how, mark) = match (marked, declared) {
        (Some((encoding, mark)), _) => (encoding, How::Mark, mark),
        (None, Some(encoding)) => (encoding, How::Declared, 0),
        (None, None) => (UTF_8, How::Valid, 0),
    };
    if encoding == UTF_8 {
        let rest = head.split_off(mark.min(head.len()));
        match utf8(rest, input).map_err(io_error)? {
            Ok(text) => return finish(Survey { encoding, how, mark, text }),
            Err(row) if how == How::Valid => {
                return decoded(open, WINDOWS_1252, How::Assumed { row }, 0);
            }
            Err(row) => return Err(NotText::Undecodable { row, encoding: "UTF-8" }),
        }
    }
    decoded(open, encoding, how, mark)
}

/// Refuses what is no text.
fn finish(survey: Survey) -> Result<Survey, NotText> {
    let name = survey.encoding.name();
    if let Some(row) = survey.text.nul {
        return Err(NotText::Nul { row });
    }
    if let (How::Assumed { .. }, Some(row)) = (survey.how, survey.text.c1) {
        return Err(NotText::Undecodable { row, encoding: name });
    }
    if survey.text.bytes == 0 {
        return Err(NotText::Empty);
    }
    Ok(survey)
}

/// Surveys a file that is not UTF-8, by decoding it.
fn decoded<'a>(
    open: &dyn Fn() -> io::Result<Box<dyn BufRead + 'a>>,
    encoding: &'static Encoding,
    how: How,
    mark: usize,
) -> Result<Survey, NotText> {
    let input = open().map_err(|e| NotText::Io(e.to_string()))?;
    let mut input = text(input, encoding, mark).map_err(|e| NotText::Io(e.to_string()))?;
    let mut survey = TextSurvey::default();
    let mut piece = vec![0; PIECE];
    loop {
        match input.read(&mut piece) {
            Ok(0) => break,
            Ok(n) => survey.feed(piece.get(..n).unwrap_or_default()),
            Err(e) if e.kind() == io::ErrorKind::InvalidData => {
                return Err(NotText::Undecodable { row: survey.row(), encoding: encoding.name() });
            }
            Err(e) => return Err(NotText::Io(e.to_string())),
        }
    }
    finish(Survey { encoding, how, mark, text: survey })
}

/// Surveys UTF-8; `Err` holds the row of the first byte that is none.
fn utf8(mut carry: Vec<u8>, mut input: Box<dyn BufRead + '_>) -> io::Result<Result<TextSurvey, u64>> {
    let mut survey = TextSurvey::default();
    loop {
        let valid = match std::str::from_utf8(&carry) {
            Ok(_) => carry.len(),
            Err(e) if e.error_len().is_none() => e.valid_up_to(),
            Err(e) => {
                survey.feed(carry.get(..e.valid_up_to()).unwrap_or_default());
                return Ok(Err(survey.row() + u64::from(survey.after_cr)));
            }
        };
        let rest = carry.split_off(valid);
        survey.feed(&carry);
        carry = rest;
        let piece = match input.fill_buf() {
            Ok(piece) => piece,
            Err(e) if e.kind() == io::ErrorKind::Interrupted => continue,
            Err(e) => return Err(e),
        };
        if piece.is_empty() {
            return Ok(if carry.is_empty() { Ok(survey) } else { Err(survey.row()) });
        }
        let n = piece.len().min(PIECE);
        carry.extend_from_slice(piece.get(..n).unwrap_or_default());
        input.consume(n);
    }
}

/// Whether every second byte of what should be ASCII text is NUL.
fn looks_like_utf16(head: &[u8]) -> Option<&'static str> {
    let pairs = head.len() / 2;
    if pairs < 4 {
        return None;
    }
    let (mut even, mut odd) = (0, 0);
    for pair in head.chunks_exact(2) {
        even += usize::from(pair.first() == Some(&0));
        odd += usize::from(pair.get(1) == Some(&0));
    }
    if odd * 10 > pairs * 7 && even * 20 < pairs {
        Some("utf-16le")
    } else if even * 10 > pairs * 7 && odd * 20 < pairs {
        Some("utf-16be")
    } else {
        None
    }
}

/// The text of a file as UTF-8, from after its mark.
pub(crate) fn text<'a>(
    mut input: Box<dyn BufRead + 'a>,
    encoding: &'static Encoding,
    mark: usize,
) -> io::Result<Box<dyn Read + 'a>> {
    let mut skip = [0; 4];
    input.read_exact(skip.get_mut(..mark).unwrap_or_default())?;
    if encoding == UTF_8 {
        return Ok(Box::new(input));
    }
    Ok(Box::new(Decoded {
        input,
        decoder: encoding.new_decoder_without_bom_handling(),
        out: Vec::new(),
        at: 0,
        ended: false,
    }))
}

/// Decodes while reading; bytes that the encoding doesn't have are an error, never replaced.
struct Decoded<'a> {
    input: Box<dyn BufRead + 'a>,
    decoder: Decoder,
    out: Vec<u8>,
    at: usize,
    ended: bool,
}

impl Read for Decoded<'_> {
    fn read(&mut self, to: &mut [u8]) -> io::Result<usize> {
        while self.at >= self.out.len() && !self.ended {
            self.at = 0;
            let piece = self.input.fill_buf()?;
            let last = piece.is_empty();
            self.out.resize(piece.len().saturating_mul(3).saturating_add(32), 0);
            let (result, read, written) =
                self.decoder.decode_to_utf8_without_replacement(piece, &mut self.out, last);
            self.out.truncate(written);
            self.input.consume(read);
            self.ended = last && result == DecoderResult::InputEmpty;
            if let DecoderResult::Malformed(..) = result {
                // What was decoded before the bad bytes is handed out first, so that its rows are counted.
                if written == 0 {
                    return Err(io::Error::from(io::ErrorKind::InvalidData));
                }
                self.input = Box::new(Bad);
                self.ended = false;
            }
        }
        let rest = self.out.get(self.at..).unwrap_or_default();
        let n = rest.len().min(to.len());
        if let (Some(to), Some(from)) = (to.get_mut(..n), rest.get(..n)) {
            to.copy_from_slice(from);
        }
        self.at += n;
        Ok(n)
    }
}

/// What follows bytes that can't be decoded.
struct Bad;

impl Read for Bad {
    fn read(&mut self, _: &mut [u8]) -> io::Result<usize> {
        Err(io::Error::from(io::ErrorKind::InvalidData))
    }
}

impl BufRead for Bad {
    fn fill_buf(&mut self) -> io::Result<&[u8]> {
        Err(io::Error::from(io::ErrorKind::InvalidData))
    }
    fn consume(&mut self, _: usize) {}
}

/// The encoding of a name in the settings.
pub(crate) fn by_name(name: &str) -> Option<&'static Encoding> {
    match name.to_ascii_lowercase().as_str() {
        "utf-16le" => Some(UTF_16LE),
        "utf-16be" => Some(UTF_16BE),
        other => Encoding::for_label(other.as_bytes()).filter(|e| *e != encoding_rs::REPLACEMENT),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(bytes: &[u8]) -> Result<Survey, NotText> {
        survey(&|| Ok(Box::new(bytes)), None)
    }

    #[test]
    fn line_ends_and_rows_are_counted_across_pieces() {
        for size in 1..6 {
            let mut survey = TextSurvey::default();
            for piece in b"a\r\nb\rc\nd\r\r\n\x07".chunks(size) {
                survey.feed(piece);
            }
            assert_eq!((survey.crlf, survey.cr, survey.lf), (2, 2, 1), "pieces of {size}");
            assert_eq!(survey.control, Some(6), "pieces of {size}");
        }
    }

    #[test]
    fn padding_at_the_end_is_no_binary() {
        assert!(of(b"a,b\r\n1,2\r\n\x1a\0\0").unwrap().text.padded());
        assert!(matches!(of(b"a,b\n\0\n1,2\n"), Err(NotText::Nul { row: 2 })));
    }

    #[test]
    fn bytes_without_meaning_are_refused_with_their_row() {
        // 0x81 has no character in Windows-1252 (the WHATWG index leaves it to a control character).
        assert!(matches!(of(b"a\nb\x81\n"), Err(NotText::Undecodable { row: 2, .. })));
        assert!(matches!(of(b"a\nb\xb5\n").unwrap().how, How::Assumed { row: 2 }));
        assert!(matches!(of(b"\xff\xfea\0\n\0\x00\xd8"), Err(NotText::Undecodable { row: 2, .. })));
        assert!(matches!(of(b"P\0o\0i\0n\0t\0"), Err(NotText::Unmarked { likely: "utf-16le" })));
        assert!(matches!(of(b"\xef\xbb\xbf"), Err(NotText::Empty)));
    }
}
