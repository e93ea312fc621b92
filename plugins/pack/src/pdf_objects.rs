//! The objects of a PDF in the one form that our papers have: a single table of objects, nothing packed but streams.
//!
//! Other forms (tables and objects packed in streams, later additions) are refused: unpacking what a stranger made
//! could fill the memory, and a second table could show a viewer another content than this reader. Source: ISO
//! 32000-1:2008 7.2 to 7.5.

use std::cell::Cell;
use std::collections::BTreeMap;

/// Parts of all objects that are read of one file; those of ours have some hundreds.
const MOST_PARTS: usize = 500_000;
/// Objects inside each other.
const DEEPEST: usize = 40;
/// Where the end of the file is looked for.
const TAIL: usize = 2048;

/// A PDF object. Numbers other than whole ones, and words, are not told apart: nothing here needs them.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Object {
    Whole(u64),
    Other,
    Name(Vec<u8>),
    Text(Vec<u8>),
    List(Vec<Object>),
    Dict(Dict),
    Reference(u64),
}

/// Values by their keys.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Dict(BTreeMap<Vec<u8>, Object>);

impl Dict {
    pub(crate) fn get(&self, key: &str) -> Option<&Object> {
        self.0.get(key.as_bytes())
    }
}

/// A PDF and where its objects are.
pub(crate) struct Objects<'a> {
    bytes: &'a [u8],
    /// Number of the first object of a part of the table, how many follow, and where the part begins.
    table: Vec<(u64, u64, usize)>,
    /// How many parts of objects were read.
    parts: Cell<usize>,
    pub(crate) trailer: Dict,
}

impl<'a> Objects<'a> {
    /// Reads the table. The error says what the file is, after "it".
    pub(crate) fn read(bytes: &'a [u8]) -> Result<Self, String> {
        let other = || "is no PDF of the form that our papers have".to_owned();
        if !bytes.starts_with(b"%PDF-") {
            return Err("can't be read as a PDF".to_owned());
        }
        let tail = bytes.len().saturating_sub(TAIL);
        let end = rfind(bytes.get(tail..).unwrap_or_default(), b"startxref").ok_or_else(other)? + tail;
        let mut at = Reader { bytes, at: end + b"startxref".len() };
        let start = at.whole().and_then(|start| usize::try_from(start).ok()).ok_or_else(other)?;
        let mut at = Reader { bytes, at: start };
        if !at.word(b"xref") {
            return Err(other());
        }
        let (mut table, mut listed) = (Vec::new(), 0_u64);
        while !at.word(b"trailer") {
            let (Some(first), Some(count)) = (at.whole(), at.whole()) else { return Err(other()) };
            at.blanks();
            let length = usize::try_from(count).ok().and_then(|count| count.checked_mul(20));
            let next = length.and_then(|length| at.at.checked_add(length)).filter(|next| *next <= end);
            // A viewer may take another row of an object that stands twice, and show another content. Parts in order
            // can't overlap (7.5.4 forbids that), and those of our papers are.
            if first < listed {
                return Err("lists an object twice, or its objects out of their order".to_owned());
            }
            listed = first.checked_add(count).ok_or_else(other)?;
            table.push((first, count, at.at));
            at.at = next.ok_or_else(other)?;
        }
        let parts = Cell::new(0);
        let Object::Dict(trailer) = at.object(DEEPEST, &parts)? else { return Err(other()) };
        for (key, what) in [
            ("Prev", "was added to after it was written: it has a second table of its objects"),
            ("XRefStm", "has a second table of its objects"),
            ("Encrypt", "is encrypted"),
        ] {
            if trailer.get(key).is_some() {
                return Err(what.to_owned());
            }
        }
        Ok(Self { bytes, table, parts, trailer })
    }

    /// A value itself, where it stands elsewhere in the file.
    pub(crate) fn resolved(&self, value: Option<&Object>) -> Result<Option<Object>, String> {
        match value {
            Some(Object::Reference(number)) => self.at(*number).map(|(object, _)| Some(object)),
            other => Ok(other.cloned()),
        }
    }

    /// A dictionary, where there is one.
    pub(crate) fn dict(&self, value: Option<&Object>) -> Result<Option<Dict>, String> {
        Ok(match self.resolved(value)? {
            Some(Object::Dict(dict)) => Some(dict),
            _ => None,
        })
    }

    /// A stream: its dictionary, and its bytes as they stand in the file.
    pub(crate) fn stream(&self, value: Option<&Object>) -> Result<Option<(Dict, &'a [u8])>, String> {
        let Some(Object::Reference(number)) = value else { return Ok(None) };
        let (Object::Dict(dict), mut at) = self.at(*number)? else { return Ok(None) };
        if !at.word(b"stream") {
            return Ok(None);
        }
        let cut = || "holds a stream that is cut short".to_owned();
        match (self.bytes.get(at.at), self.bytes.get(at.at + 1)) {
            (Some(b'\r'), Some(b'\n')) => at.at += 2,
            (Some(b'\n'), _) => at.at += 1,
            _ => return Err(cut()),
        }
        let Some(Object::Whole(length)) = self.resolved(dict.get("Length"))? else { return Err(cut()) };
        let end =
            usize::try_from(length).ok().and_then(|length| at.at.checked_add(length)).ok_or_else(cut)?;
        let bytes = self.bytes.get(at.at..end).ok_or_else(cut)?;
        if !(Reader { bytes: self.bytes, at: end }).word(b"endstream") {
            return Err(cut());
        }
        Ok(Some((dict, bytes)))
    }

    fn at(&self, number: u64) -> Result<(Object, Reader<'a>), String> {
        let lost = || format!("does not hold its object {number}");
        let part = self
            .table
            .iter()
            .find(|(first, count, _)| number.checked_sub(*first).is_some_and(|place| place < *count));
        let (first, _, start) = part.ok_or_else(lost)?;
        let row = usize::try_from(number - first).ok().and_then(|place| place.checked_mul(20));
        let row = row.and_then(|row| row.checked_add(*start)).ok_or_else(lost)?;
        let offset = self.bytes.get(row..row + 10).and_then(|digits| std::str::from_utf8(digits).ok());
        let offset = offset.and_then(|digits| digits.parse::<usize>().ok()).ok_or_else(lost)?;
        let mut at = Reader { bytes: self.bytes, at: offset };
        if at.whole() != Some(number) || at.whole().is_none() || !at.word(b"obj") {
            return Err(lost());
        }
        let object = at.object(DEEPEST, &self.parts)?;
        Ok((object, at))
    }
}

fn rfind(bytes: &[u8], text: &[u8]) -> Option<usize> {
    bytes.windows(text.len()).rposition(|window| window == text)
}

/// A place in the file.
struct Reader<'a> {
    bytes: &'a [u8],
    at: usize,
}

impl Reader<'_> {
    fn peek(&self) -> Option<u8> {
        self.bytes.get(self.at).copied()
    }

    /// White space and comments (7.2.2, 7.2.3).
    fn blanks(&mut self) {
        while let Some(byte) = self.peek() {
            match byte {
                b'%' => {
                    while self.peek().is_some_and(|byte| byte != b'\n' && byte != b'\r') {
                        self.at += 1;
                    }
                }
                b'\0' | b'\t' | b'\n' | 0x0C | b'\r' | b' ' => self.at += 1,
                _ => return,
            }
        }
    }

    /// Whether this word comes next; it is passed over then.
    fn word(&mut self, word: &[u8]) -> bool {
        let before = self.at;
        self.blanks();
        let end = self.at.saturating_add(word.len());
        let found = self.bytes.get(self.at..end) == Some(word)
            && self.bytes.get(end).is_none_or(|byte| !is_regular(*byte));
        self.at = if found { end } else { before };
        found
    }

    fn whole(&mut self) -> Option<u64> {
        let before = self.at;
        self.blanks();
        let token = self.token();
        let number = std::str::from_utf8(token).ok().filter(|text| text.bytes().all(|b| b.is_ascii_digit()));
        let number = number.and_then(|text| text.parse().ok());
        if number.is_none() {
            self.at = before;
        }
        number
    }

    /// Regular characters up to the next other one.
    fn token(&mut self) -> &[u8] {
        let start = self.at;
        while self.peek().is_some_and(is_regular) {
            self.at += 1;
        }
        self.bytes.get(start..self.at).unwrap_or_default()
    }

    fn object(&mut self, deeper: usize, parts: &Cell<usize>) -> Result<Object, String> {
        parts.set(parts.get() + 1);
        if deeper == 0 || parts.get() > MOST_PARTS {
            return Err("holds an object that is larger than any of our papers has".to_owned());
        }
        let broken = || "holds an object that can't be read".to_owned();
        self.blanks();
        match (self.peek(), self.bytes.get(self.at + 1)) {
            (Some(b'<'), Some(b'<')) => {
                self.at += 2;
                let mut dict = Dict::default();
                loop {
                    self.blanks();
                    if self.bytes.get(self.at..self.at + 2) == Some(b">>") {
                        self.at += 2;
                        return Ok(Object::Dict(dict));
                    }
                    let Object::Name(key) = self.object(deeper - 1, parts)? else { return Err(broken()) };
                    let value = self.object(deeper - 1, parts)?;
                    if dict.0.insert(key, value).is_some() {
                        return Err("holds an object with a key that stands twice".to_owned());
                    }
                }
            }
            (Some(b'['), _) => {
                self.at += 1;
                let mut list = Vec::new();
                loop {
                    self.blanks();
                    if self.peek() == Some(b']') {
                        self.at += 1;
                        return Ok(Object::List(list));
                    }
                    list.push(self.object(deeper - 1, parts)?);
                }
            }
            (Some(b'/'), _) => {
                self.at += 1;
                Ok(Object::Name(unescaped_name(self.token())))
            }
            (Some(b'('), _) => self.text().map(Object::Text).ok_or_else(broken),
            (Some(b'<'), _) => self.hexadecimal().map(Object::Text).ok_or_else(broken),
            (Some(_), _) => self.number_or_word().ok_or_else(broken),
            (None, _) => Err(broken()),
        }
    }

    /// A whole number, a reference to an object (`12 0 R`), or something else that is passed over.
    fn number_or_word(&mut self) -> Option<Object> {
        if let Some(number) = self.whole() {
            let before = self.at;
            if self.whole().is_some() && self.word(b"R") {
                return Some(Object::Reference(number));
            }
            self.at = before;
            return Some(Object::Whole(number));
        }
        let token = self.token();
        if token.is_empty() { None } else { Some(Object::Other) }
    }

    /// A text in brackets (7.3.4.2).
    fn text(&mut self) -> Option<Vec<u8>> {
        let mut text = Vec::new();
        let mut open = 0_usize;
        loop {
            let byte = self.peek()?;
            self.at += 1;
            match byte {
                b'(' => {
                    open += 1;
                    if open > 1 {
                        text.push(byte);
                    }
                }
                b')' => {
                    open -= 1;
                    if open == 0 {
                        return Some(text);
                    }
                    text.push(byte);
                }
                b'\\' => self.escaped(&mut text)?,
                b'\r' => {
                    // Any end of a line is a line feed.
                    if self.peek() == Some(b'\n') {
                        self.at += 1;
                    }
                    text.push(b'\n');
                }
                other => text.push(other),
            }
        }
    }

    fn escaped(&mut self, text: &mut Vec<u8>) -> Option<()> {
        let byte = self.peek()?;
        self.at += 1;
        match byte {
            b'n' => text.push(b'\n'),
            b'r' => text.push(b'\r'),
            b't' => text.push(b'\t'),
            b'b' => text.push(0x08),
            b'f' => text.push(0x0C),
            b'\n' => {}
            b'\r' => {
                if self.peek() == Some(b'\n') {
                    self.at += 1;
                }
            }
            b'0'..=b'7' => {
                let mut value = u32::from(byte - b'0');
                for _ in 0..2 {
                    let Some(digit @ b'0'..=b'7') = self.peek() else { break };
                    value = value * 8 + u32::from(digit - b'0');
                    self.at += 1;
                }
                text.push(u8::try_from(value & 0xFF).unwrap_or_default());
            }
            other => text.push(other),
        }
        Some(())
    }

    /// A text as hexadecimal digits (7.3.4.3).
    fn hexadecimal(&mut self) -> Option<Vec<u8>> {
        self.at += 1;
        let mut digits = Vec::new();
        loop {
            self.blanks();
            let byte = self.peek()?;
            self.at += 1;
            if byte == b'>' {
                break;
            }
            digits.push(u8::try_from(char::from(byte).to_digit(16)?).ok()?);
        }
        if digits.len() % 2 == 1 {
            digits.push(0);
        }
        let (pairs, _) = digits.as_chunks::<2>();
        Some(pairs.iter().map(|[high, low]| high * 16 + low).collect())
    }
}

fn is_regular(byte: u8) -> bool {
    !matches!(
        byte,
        b'\0'
            | b'\t'
            | b'\n'
            | 0x0C
            | b'\r'
            | b' '
            | b'('
            | b')'
            | b'<'
            | b'>'
            | b'['
            | b']'
            | b'{'
            | b'}'
            | b'/'
            | b'%'
    )
}

/// A name with its signs that were written as numbers (`#53`, 7.3.5).
fn unescaped_name(written: &[u8]) -> Vec<u8> {
    let mut name = Vec::with_capacity(written.len());
    let mut rest = written;
    while let Some((byte, after)) = rest.split_first() {
        let code = after.get(..2).and_then(|digits| std::str::from_utf8(digits).ok());
        match code.and_then(|digits| u8::from_str_radix(digits, 16).ok()).filter(|_| *byte == b'#') {
            Some(code) => {
                name.push(code);
                rest = after.get(2..).unwrap_or_default();
            }
            None => {
                name.push(*byte);
                rest = after;
            }
        }
    }
    name
}

#[cfg(test)]
mod tests {
    use super::*;

    fn object(text: &[u8]) -> Result<Object, String> {
        Reader { bytes: text, at: 0 }.object(DEEPEST, &Cell::new(0))
    }

    #[test]
    fn objects_are_read_as_the_standard_says() {
        // The examples of ISO 32000-1:2008 7.3.4.2, 7.3.4.3 and 7.3.5.
        let text = |bytes: &[u8]| Ok(Object::Text(bytes.to_vec()));
        assert_eq!(
            object(b"(Strings may contain balanced (parentheses) and *!&})"),
            text(b"Strings may contain balanced (parentheses) and *!&}")
        );
        assert_eq!(
            object(b"(These \\\ntwo strings \\\nare the same.)"),
            text(b"These two strings are the same.")
        );
        assert_eq!(object(b"(\\245\\307\\0053\\53)"), text(b"\xA5\xC7\x053+"));
        assert_eq!(object(b"<4E6F762073686D6F7A206B6120706F702E>"), text(b"Nov shmoz ka pop."));
        assert_eq!(object(b"<901FA>"), text(b"\x90\x1F\xA0"));
        assert_eq!(object(b"/lime#20Green"), Ok(Object::Name(b"lime Green".to_vec())));
        assert_eq!(
            object(b"[12 0 R -3.5 7 true % a remark\n null]"),
            Ok(Object::List(vec![
                Object::Reference(12),
                Object::Other,
                Object::Whole(7),
                Object::Other,
                Object::Other
            ]))
        );
        let Ok(Object::Dict(dict)) = object(b"<</Length 5/Kids[1 0 R]>>") else { panic!() };
        assert_eq!(dict.get("Length"), Some(&Object::Whole(5)));
    }

    /// A file with these parts of its table, each with as many rows, before its trailer.
    fn table(parts: &[(u64, u64)]) -> Result<(), String> {
        let mut text = "%PDF-1.7\n".to_owned();
        let start = text.len();
        text.push_str("xref\n");
        for (first, count) in parts {
            text.push_str(&format!("{first} {count}\n"));
            (0..*count).for_each(|_| text.push_str("0000000000 00000 n \n"));
        }
        text.push_str(&format!("trailer\n<</Size 9>>\nstartxref\n{start}\n%%EOF"));
        Objects::read(text.as_bytes()).map(|_| ())
    }

    #[test]
    fn parts_of_the_table_do_not_overlap() {
        assert_eq!(table(&[(0, 3), (3, 0), (3, 2), (7, 1)]), Ok(()));
        for twice in [&[(0, 3), (2, 2)][..], &[(0, 3), (0, 3)], &[(4, 2), (0, 5)], &[(0, 9), (4, 1)]] {
            assert_eq!(
                table(twice),
                Err("lists an object twice, or its objects out of their order".to_owned()),
                "{twice:?}"
            );
        }
    }

    #[test]
    fn what_would_never_end_does() {
        assert!(object(&vec![b'['; 100_000]).is_err());
        assert!(object(&[b"[".as_slice(), &b"1 ".repeat(1_000_000), b"]"].concat()).is_err());
        for broken in [
            b"(open".as_slice(),
            b"<12",
            b"<</A",
            b"<</A 1/A 2>>",
            b"<</A>>",
            b"[1",
            b"<zz>",
            b"",
            b">>",
            b")",
        ] {
            assert!(object(broken).is_err(), "{}", String::from_utf8_lossy(broken));
        }
    }
}
