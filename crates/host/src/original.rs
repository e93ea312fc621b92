//! The original files of a job: read once, hashed, and handed out unchanged.

use plugin_api::{Container, Opener, OriginalFiles};
use record::{SourceFile, SourceId};
use sha2::{Digest, Sha256};
use std::fs::File;
use std::io::{self, BufRead, BufReader, Cursor, Read};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Files up to this size are held, so that every use sees the bytes that were hashed.
const HELD: u64 = 64 << 20;

#[derive(Clone)]
enum Content {
    Held(Arc<[u8]>),
    OnDisk(PathBuf),
    /// Inside a container that a plug-in opens.
    Inside(Arc<Opener>),
}

impl std::fmt::Debug for Content {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Held(bytes) => write!(f, "Held({})", bytes.len()),
            Self::OnDisk(path) => write!(f, "OnDisk({})", path.display()),
            Self::Inside(_) => f.write_str("Inside"),
        }
    }
}

/// One original file.
#[derive(Clone, Debug)]
pub(crate) struct Original {
    pub(crate) bytes: u64,
    pub(crate) sha256: String,
    content: Content,
}

impl Original {
    pub(crate) fn read(path: &Path) -> io::Result<Self> {
        let meta = std::fs::metadata(path)?;
        if !meta.is_file() {
            return Err(io::Error::new(io::ErrorKind::InvalidInput, "not a plain file"));
        }
        if meta.len() <= HELD {
            let bytes = std::fs::read(path)?;
            let sha256 = hex(&Sha256::digest(&bytes));
            return Ok(Self { bytes: bytes.len() as u64, sha256, content: Content::Held(bytes.into()) });
        }
        let mut hasher = Sha256::new();
        let mut file = File::open(path)?;
        let mut buffer = vec![0; 1 << 20];
        let mut size = 0u64;
        loop {
            let count = file.read(&mut buffer)?;
            let Some(part) = buffer.get(..count).filter(|part| !part.is_empty()) else { break };
            hasher.update(part);
            size += part.len() as u64;
        }
        Ok(Self { bytes: size, sha256: hex(&hasher.finalize()), content: Content::OnDisk(path.to_owned()) })
    }

    /// A file that lay inside another one.
    pub(crate) fn held(bytes: Vec<u8>) -> Self {
        let sha256 = hex(&Sha256::digest(&bytes));
        Self { bytes: bytes.len() as u64, sha256, content: Content::Held(bytes.into()) }
    }

    /// A file inside a container; its size and checksum are those that were stated and proven when it was opened.
    pub(crate) fn inside(bytes: u64, sha256: &str, opener: Opener) -> Self {
        Self { bytes, sha256: sha256.to_owned(), content: Content::Inside(Arc::new(opener)) }
    }

    /// How a plug-in opens it at any place: for formats that hold other files.
    pub(crate) fn container(&self) -> Option<Container> {
        match &self.content {
            Content::Held(bytes) => {
                let bytes = Arc::clone(bytes);
                Some(Arc::new(move || Ok(Box::new(Cursor::new(Arc::clone(&bytes))))))
            }
            Content::OnDisk(path) => {
                let path = path.clone();
                Some(Arc::new(move || Ok(Box::new(BufReader::new(File::open(&path)?)))))
            }
            Content::Inside(_) => None,
        }
    }

    pub(crate) fn open(&self) -> io::Result<Box<dyn BufRead + Send>> {
        Ok(match &self.content {
            Content::Held(bytes) => Box::new(Cursor::new(Arc::clone(bytes))),
            Content::OnDisk(path) => Box::new(BufReader::with_capacity(1 << 16, File::open(path)?)),
            Content::Inside(open) => Box::new(BufReader::with_capacity(1 << 16, open()?)),
        })
    }

    pub(crate) fn head(&self, size: usize) -> io::Result<Vec<u8>> {
        let mut head = Vec::new();
        self.open()?.take(size as u64).read_to_end(&mut head)?;
        Ok(head)
    }
}

pub(crate) fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}

/// The original files of a record, in the order of its sources.
#[derive(Clone, Debug, Default)]
pub struct Originals {
    pub(crate) files: Vec<Option<Original>>,
}

impl Originals {
    /// Files inside a container, one for each source of its record; none for those that it does not hold.
    pub fn inside(sources: &[SourceFile], mut open: impl FnMut(SourceId) -> Option<Opener>) -> Self {
        let files = (0u32..).zip(sources).map(|(at, source)| {
            let opener = open(SourceId(at))?;
            Some(Original::inside(source.bytes, &source.sha256, opener))
        });
        Self { files: files.collect() }
    }

    fn get(&self, id: SourceId) -> io::Result<&Original> {
        self.files
            .get(id.0 as usize)
            .and_then(Option::as_ref)
            .ok_or_else(|| io::Error::new(io::ErrorKind::NotFound, "the original file is not at hand"))
    }

    /// Whether the bytes of a source are at hand; those of a record that was read from its canonical form
    /// are not.
    pub fn has(&self, id: SourceId) -> bool {
        self.get(id).is_ok()
    }
}

impl OriginalFiles for Originals {
    fn open(&self, id: SourceId) -> io::Result<Box<dyn Read + Send + '_>> {
        Ok(Box::new(ReadOnly(self.get(id)?.open()?)))
    }

    fn opener(&self, id: SourceId) -> io::Result<Opener> {
        let original = self.get(id)?.clone();
        Ok(Box::new(move || Ok(Box::new(ReadOnly(original.open()?)))))
    }
}

struct ReadOnly(Box<dyn BufRead + Send>);

impl Read for ReadOnly {
    fn read(&mut self, buf: &mut [u8]) -> io::Result<usize> {
        self.0.read(buf)
    }
}
