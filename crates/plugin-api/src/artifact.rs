//! What a writer hands back; the engine puts it on disk, whole or not at all.

use record::SourceId;
use std::io;
use std::sync::Arc;

/// Writes the bytes of a body when the engine asks for them, the same ones each time: a package that holds the
/// artifact asks too, and may ask twice to know the checksum before the bytes.
pub type StreamBody = Arc<dyn Fn(&mut dyn io::Write) -> io::Result<()> + Send + Sync>;

/// The content of an artifact.
pub enum Body {
    /// All of it.
    Bytes(Vec<u8>),
    /// Written on demand, for content that is too large to hold.
    Stream(StreamBody),
    /// The bytes of an original file, unchanged.
    Source(SourceId),
}

impl std::fmt::Debug for Body {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Bytes(bytes) => write!(f, "Bytes({})", bytes.len()),
            Self::Stream(_) => f.write_str("Stream"),
            Self::Source(id) => write!(f, "Source({})", id.0),
        }
    }
}

/// A file to be written.
#[derive(Debug)]
pub struct Artifact {
    /// Path below the output folder, with `/` between parts; relative, without `..`.
    pub path: String,
    /// Media type.
    pub media_type: &'static str,
    /// Format that made it (`pdf`, `xml`, ...): the name of the writer.
    pub format: &'static str,
    /// Content.
    pub body: Body,
}

impl Artifact {
    /// An artifact held in memory.
    pub fn bytes(
        path: impl Into<String>,
        media_type: &'static str,
        format: &'static str,
        bytes: Vec<u8>,
    ) -> Self {
        Self { path: path.into(), media_type, format, body: Body::Bytes(bytes) }
    }
}
