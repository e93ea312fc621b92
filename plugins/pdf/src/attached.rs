//! Files that go along inside a PDF.

use crate::deflate::Deflater;
use crate::splice::Filling;
use flate2::{Compression, write::ZlibEncoder};
use plugin_api::StreamBody;
use std::io::{self, Write};
use std::sync::Arc;

/// A file that goes along inside the PDF.
#[derive(Clone, Debug)]
pub struct Attached {
    /// Name.
    pub name: String,
    /// Media type.
    pub media_type: String,
    /// What it is, in a line.
    pub about: String,
    /// How it stands to the report.
    pub relation: Relation,
    /// Content.
    pub content: Content,
}

/// How an attached file stands to the report (`AFRelationship` of ISO 19005-3).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Relation {
    /// The report was made from it.
    Source,
    /// It says the same in another form.
    Alternative,
    /// It adds to the report.
    Supplement,
}

/// The content of an attached file.
#[derive(Clone)]
pub enum Content {
    /// All of it.
    Held(Arc<Vec<u8>>),
    /// Written on demand, too long to be held as it is.
    Written(StreamBody),
}

impl std::fmt::Debug for Content {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Held(bytes) => write!(f, "Held({})", bytes.len()),
            Self::Written(_) => f.write_str("Written"),
        }
    }
}

impl Content {
    /// All of it.
    pub(crate) fn held(&self) -> io::Result<Arc<Vec<u8>>> {
        match self {
            Self::Held(bytes) => Ok(Arc::clone(bytes)),
            Self::Written(write) => {
                let mut bytes = Vec::new();
                write(&mut bytes)?;
                Ok(Arc::new(bytes))
            }
        }
    }

    /// What the PDF library is given: the content, or what stands in its place until it is filled in.
    pub(crate) fn painted(&self, index: usize) -> Arc<Vec<u8>> {
        match self {
            Self::Held(bytes) => Arc::clone(bytes),
            Self::Written(_) => Arc::new(placeholder(index)),
        }
    }

    /// What is to be filled in; none where all was given to the library.
    pub(crate) fn filling(&self, index: usize) -> io::Result<Option<Filling>> {
        let Self::Written(write) = self else { return Ok(None) };
        let mut deflater = Deflater::new();
        write(&mut deflater)?;
        let placeholder = placeholder(index);
        let mut encoder = ZlibEncoder::new(Vec::new(), Compression::new(6));
        encoder.write_all(&placeholder)?;
        let length = placeholder.len() as u64;
        Ok(Some(Filling { placeholder: (encoder.finish()?, length), content: deflater.finish()? }))
    }
}

/// Unlike anything else in the PDF, and unlike the placeholder of any other file.
fn placeholder(index: usize) -> Vec<u8> {
    format!("in place of the attached file {index}").into_bytes()
}
