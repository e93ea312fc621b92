//! Puts long attached files into a PDF that was made with short ones in their places.
//!
//! The PDF library takes an attached file in one piece and holds it several times over; of a long record that is more
//! than all the rest. So it is given a placeholder, and what it made is cut apart here: the file's object is written
//! anew, the table of objects moves by what that is longer, and the identifier of this very file, which is a hash of
//! its bytes, is worked out again. The outcome is what the library gives for the file itself, byte by byte
//! (`tests/setting.rs`); where a PDF is not built as expected, nothing is done.

use siphasher::sip128::{Hasher128, SipHasher13};
use std::hash::Hasher;
use std::ops::Range;

/// An attached file, deflated.
pub(crate) struct Filling {
    /// What stands in its place, deflated, and its length.
    pub(crate) placeholder: (Vec<u8>, u64),
    /// The content, deflated, and its length.
    pub(crate) content: (Vec<u8>, u64),
}

/// The parts of a PDF, in their order.
pub(crate) fn spliced(pdf: Vec<u8>, fillings: Vec<Filling>) -> Option<Vec<Vec<u8>>> {
    let layout = Layout::of(&pdf)?;
    let mut parts = Parts::new(layout.identifier(&pdf)?);
    let mut fillings: Vec<Option<Filling>> = fillings.into_iter().map(Some).collect();
    parts.push(pdf.get(..*layout.starts.first()?)?.to_vec());
    let ends = layout.starts.iter().skip(1).copied().chain([layout.table]);
    let mut moved = Vec::new();
    for (start, end) in layout.starts.iter().copied().zip(ends) {
        let object = pdf.get(start..end)?;
        moved.push((start, parts.length));
        if start == layout.metadata {
            parts.end_of_body();
        }
        match fillings.iter_mut().find(|slot| slot.as_ref().is_some_and(|filling| filling.is_of(object))) {
            Some(slot) => slot.take()?.fill(object, &mut parts)?,
            None => parts.push(object.to_vec()),
        }
    }
    if fillings.iter().any(Option::is_some) {
        return None;
    }
    let table = parts.length;
    parts.push(layout.table_moved(&pdf, &moved)?);
    parts.push(pdf.get(layout.trailer.clone())?.to_vec());
    parts.push(format!("startxref\n{table}\n%%EOF").into_bytes());
    parts.finish()
}

impl Filling {
    fn is_of(&self, object: &[u8]) -> bool {
        object.strip_suffix(OBJECT_ENDS).is_some_and(|rest| {
            rest.strip_suffix(self.placeholder.0.as_slice()).is_some_and(|rest| rest.ends_with(b"stream\n"))
        })
    }

    fn fill(self, object: &[u8], parts: &mut Parts) -> Option<()> {
        let head = object.strip_suffix(OBJECT_ENDS)?.strip_suffix(self.placeholder.0.as_slice())?;
        let head = replaced(
            std::str::from_utf8(head).ok()?,
            &format!("/Length {}/", self.placeholder.0.len()),
            &format!("/Length {}/", self.content.0.len()),
        )?;
        let head = replaced(
            &head,
            &format!("/Size {}/", self.placeholder.1),
            &format!("/Size {}/", self.content.1),
        )?;
        parts.push(head.into_bytes());
        parts.push(self.content.0);
        parts.push(OBJECT_ENDS.to_vec());
        Some(())
    }
}

const OBJECT_ENDS: &[u8] = b"\nendstream\nendobj\n";

/// A text with one word in place of another that it holds once.
fn replaced(text: &str, from: &str, to: &str) -> Option<String> {
    let mut parts = text.split(from);
    let (before, after) = (parts.next()?, parts.next()?);
    parts.next().is_none().then(|| [before, to, after].concat())
}

/// Where things stand in a PDF of the library's.
struct Layout {
    /// Where objects begin, in their order in the file.
    starts: Vec<usize>,
    /// Where the object begins that holds the metadata: behind everything that the identifier is a hash of.
    metadata: usize,
    /// Where the table of objects begins.
    table: usize,
    /// Lines of the table.
    entries: Range<usize>,
    trailer: Range<usize>,
}

/// Length of a line of the table (ISO 32000-1, section 7.5.4).
const ENTRY: usize = 20;

impl Layout {
    fn of(pdf: &[u8]) -> Option<Self> {
        let end = pdf.strip_suffix(b"\n%%EOF")?;
        let digits = end.iter().rev().take_while(|byte| byte.is_ascii_digit()).count();
        let (rest, number) = end.split_at_checked(end.len() - digits)?;
        let trailer_end = rest.strip_suffix(b"startxref\n")?.len();
        let table: usize = std::str::from_utf8(number).ok()?.parse().ok()?;
        let text = pdf.get(table..trailer_end)?;
        let head = text.strip_prefix(b"xref\n0 ")?;
        let digits = head.iter().take_while(|byte| byte.is_ascii_digit()).count();
        let count: usize = std::str::from_utf8(head.get(..digits)?).ok()?.parse().ok()?;
        let first = table + b"xref\n0 ".len() + digits + 1;
        let entries = first..first.checked_add(count.checked_mul(ENTRY)?)?;
        let trailer = entries.end..trailer_end;
        if !pdf.get(trailer.clone())?.starts_with(b"trailer\n") {
            return None;
        }
        let mut starts = Vec::new();
        // The first line is that of no object.
        for line in pdf.get(entries.clone())?.chunks(ENTRY).skip(1) {
            starts.push(start_of(line)?);
        }
        starts.sort_unstable();
        let metadata = starts.iter().copied().find(|start| {
            let head = pdf.get(*start..).and_then(|object| object.get(..100.min(object.len())));
            head.is_some_and(|head| holds(head, b"/Type/Metadata"))
        })?;
        Some(Self { starts, metadata, table, entries, trailer })
    }

    /// The identifier in the trailer, if it is the hash of the body that it should be.
    fn identifier(&self, pdf: &[u8]) -> Option<String> {
        let body = pdf.get(..self.metadata)?;
        let stated = identifier([body]);
        holds(pdf.get(self.trailer.clone())?, stated.as_bytes()).then_some(stated)
    }

    /// The table of objects, where they are now.
    fn table_moved(&self, pdf: &[u8], moved: &[(usize, usize)]) -> Option<Vec<u8>> {
        let mut table = pdf.get(self.table..self.entries.start + ENTRY)?.to_vec();
        for line in pdf.get(self.entries.clone())?.chunks(ENTRY).skip(1) {
            let start = start_of(line)?;
            let at = moved.binary_search_by_key(&start, |(before, _)| *before).ok()?;
            let (_, now) = moved.get(at)?;
            table.extend_from_slice(format!("{now:010}").as_bytes());
            table.extend_from_slice(line.get(10..)?);
        }
        Some(table)
    }
}

/// Where an object begins, from its line of the table.
fn start_of(line: &[u8]) -> Option<usize> {
    line.ends_with(b" 00000 n\r\n").then_some(())?;
    std::str::from_utf8(line.get(..10)?).ok()?.parse().ok()
}

fn holds(text: &[u8], word: &[u8]) -> bool {
    text.windows(word.len()).any(|window| window == word)
}

/// The parts so far.
struct Parts {
    parts: Vec<Vec<u8>>,
    length: usize,
    /// The identifier that stands in the parts, and how many of them make up the body.
    identifier: String,
    body: usize,
}

impl Parts {
    fn new(identifier: String) -> Self {
        Self { parts: Vec::new(), length: 0, identifier, body: 0 }
    }

    fn push(&mut self, part: Vec<u8>) {
        self.length += part.len();
        self.parts.push(part);
    }

    fn end_of_body(&mut self) {
        self.body = self.parts.len();
    }

    /// All parts, with their own identifier.
    fn finish(mut self) -> Option<Vec<Vec<u8>>> {
        let (body, behind) = self.parts.split_at_mut_checked(self.body)?;
        let now = identifier(body.iter().map(Vec::as_slice));
        for part in behind {
            let mut at = 0;
            while let Some(window) = part.get_mut(at..at + now.len()) {
                if window == self.identifier.as_bytes() {
                    window.copy_from_slice(now.as_bytes());
                }
                at += 1;
            }
        }
        Some(self.parts)
    }
}

/// The library's identifier of a file with this body: SipHash-1-3 of 128 bits over its length and bytes, as base64.
fn identifier<'a>(body: impl IntoIterator<Item = &'a [u8], IntoIter: Clone>) -> String {
    let body = body.into_iter();
    let mut hasher = SipHasher13::new();
    hasher.write_u64(body.clone().map(|part| part.len() as u64).sum());
    body.for_each(|part| hasher.write(part));
    base64(hasher.finish128().as_u128().to_be_bytes())
}

/// Sixteen bytes as base64 (RFC 4648, section 4).
fn base64(bytes: [u8; 16]) -> String {
    const SIGNS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    // Twenty-one signs of six bits each, and one of the two that are left.
    let number = u128::from_be_bytes(bytes);
    let sign = |bits: u128| SIGNS.get((bits & 63) as usize).map_or('A', |sign| char::from(*sign));
    let mut text: String = (0..21).map(|at| sign(number >> (122 - 6 * at))).collect();
    text.push(sign(number << 4));
    text.push_str("==");
    text
}
