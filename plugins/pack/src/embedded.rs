//! The files that a PDF carries inside.

use flate2::read::ZlibDecoder;
use hayro_syntax::Filter;
use hayro_syntax::Pdf;
use hayro_syntax::object::{Array, Dict, Stream, String as Text};
use std::io::Read;

/// Levels of the tree of names that are followed; a PDF of ours has one.
const DEEPEST: usize = 16;
/// Most files taken from one PDF.
const MOST: usize = 1000;

/// A file inside a PDF.
pub(crate) struct Embedded {
    pub(crate) name: String,
    /// As the PDF stores it.
    packed: Vec<u8>,
    filters: Vec<Filter>,
}

impl Embedded {
    /// Whether its bytes are these. Never unpacks more than that many and one.
    pub(crate) fn compare(&self, expected: &[u8]) -> Result<bool, String> {
        let mut bytes = Vec::new();
        let most = expected.len() as u64 + 1;
        match self.filters.as_slice() {
            [] => return Ok(self.packed == expected),
            [Filter::FlateDecode] => {
                ZlibDecoder::new(self.packed.as_slice()).take(most).read_to_end(&mut bytes)
            }
            other => return Err(format!("is packed in a way that is not read here ({other:?})")),
        }
        .map_err(|_| "can't be unpacked".to_owned())?;
        Ok(bytes == expected)
    }
}

/// The files in the PDF's list of embedded files, in its order.
pub(crate) fn embedded_files(pdf: Vec<u8>) -> Result<Vec<Embedded>, String> {
    let pdf = Pdf::new(pdf).map_err(|_| "can't be read as a PDF".to_owned())?;
    let xref = pdf.xref();
    let catalog: Dict<'_> = xref.get(xref.root_id()).ok_or("has no catalogue of its content")?;
    let mut files = Vec::new();
    let names = catalog.get::<Dict<'_>>("Names").and_then(|names| names.get::<Dict<'_>>("EmbeddedFiles"));
    if let Some(tree) = names {
        branch(&tree, DEEPEST, &mut files)?;
    }
    Ok(files)
}

fn branch(node: &Dict<'_>, deeper: usize, files: &mut Vec<Embedded>) -> Result<(), String> {
    if deeper == 0 || files.len() > MOST {
        return Err("has a list of embedded files that can't be followed".to_owned());
    }
    if let Some(leaves) = node.get::<Array<'_>>("Names") {
        let mut parts = leaves.flex_iter();
        while parts.next::<Text<'_>>().is_some() {
            let Some(file) = parts.next::<Dict<'_>>() else { break };
            files.push(one(&file)?);
        }
    }
    if let Some(kids) = node.get::<Array<'_>>("Kids") {
        for kid in kids.iter::<Dict<'_>>() {
            branch(&kid, deeper - 1, files)?;
        }
    }
    Ok(())
}

fn one(file: &Dict<'_>) -> Result<Embedded, String> {
    let name = file
        .get::<Text<'_>>("UF")
        .or_else(|| file.get::<Text<'_>>("F"))
        .map(|name| text(name.as_bytes()))
        .ok_or("names a file inside it without a name")?;
    let stream = file
        .get::<Dict<'_>>("EF")
        .and_then(|ef| ef.get::<Stream<'_>>("UF").or_else(|| ef.get::<Stream<'_>>("F")));
    let stream =
        stream.ok_or_else(|| format!("names `{}` and does not hold it", crate::names::shown(&name)))?;
    Ok(Embedded { name, packed: stream.raw_data().into_owned(), filters: stream.filters().to_vec() })
}

/// A text string of a PDF: UTF-16 with a mark, UTF-8 with a mark, or (for what we compare) ASCII.
fn text(bytes: &[u8]) -> String {
    match bytes {
        [0xFE, 0xFF, rest @ ..] => {
            let (pairs, _) = rest.as_chunks::<2>();
            String::from_utf16_lossy(&pairs.iter().map(|pair| u16::from_be_bytes(*pair)).collect::<Vec<_>>())
        }
        [0xEF, 0xBB, 0xBF, rest @ ..] => String::from_utf8_lossy(rest).into_owned(),
        other => String::from_utf8_lossy(other).into_owned(),
    }
}
