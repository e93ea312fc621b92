//! The first reading of a file to be packed: its length, its checksums and, where it pays, its compressed form.

use crate::algorithms::{Algorithm, Digests};
use crate::content::{Content, Each};
use crate::zip_format::Method;
use flate2::write::DeflateEncoder;
use flate2::{Compression, Crc};
use std::io::{self, Write};
use std::sync::atomic::{AtomicUsize, Ordering};

const LEVEL: u32 = 6;
/// Compressed bytes of one file kept in memory; a longer one is compressed a second time while it is written.
pub(crate) const KEPT: usize = 32 << 20;
/// A file that would shrink further than this is stored, since readers take such a ratio for a bomb.
const HIGHEST_RATIO: u64 = 100;
const RATIO_MATTERS_FROM: u64 = 16 * 1024;
/// More threads than this would only wait for the disk.
const MOST_WORKERS: usize = 8;

/// A file whose headers can be written.
#[derive(Debug)]
pub(crate) struct Prepared {
    pub(crate) method: Method,
    pub(crate) crc: u32,
    pub(crate) packed: u64,
    pub(crate) size: u64,
    /// The compressed bytes, where they were worth making and few enough to keep.
    pub(crate) bytes: Option<Vec<u8>>,
    pub(crate) digests: Vec<(Algorithm, String)>,
}

/// Reads a file once. `kept` is the most compressed bytes to hold.
pub(crate) fn prepare(
    name: &str,
    content: &dyn Content,
    algorithms: &[Algorithm],
    kept: usize,
) -> io::Result<Prepared> {
    let mut digests = Digests::new(algorithms.iter().copied());
    let mut crc = Crc::new();
    let mut size = 0_u64;
    let mut encoder = (!is_compressed_already(name)).then(|| encoder(Kept::new(kept)));
    content.write_to(&mut Each(|chunk: &[u8]| {
        size += chunk.len() as u64;
        crc.update(chunk);
        digests.update(chunk);
        match &mut encoder {
            Some(encoder) => encoder.write_all(chunk),
            None => Ok(()),
        }
    }))?;
    if size != content.size() {
        return Err(changed(name));
    }
    let kept = encoder.map(DeflateEncoder::finish).transpose()?.filter(|kept| is_worth_it(size, kept.length));
    Ok(Prepared {
        method: if kept.is_some() { Method::Deflated } else { Method::Stored },
        crc: crc.sum(),
        packed: kept.as_ref().map_or(size, |kept| kept.length),
        size,
        bytes: kept.and_then(|kept| kept.bytes),
        digests: digests.finish(),
    })
}

/// Prepares several files at once; the results are in their order, and the same whatever the number of threads.
pub(crate) fn prepare_all(
    files: &[(&str, &dyn Content)],
    algorithms: &[Algorithm],
    kept: usize,
) -> Vec<io::Result<Prepared>> {
    let workers =
        std::thread::available_parallelism().map_or(1, usize::from).min(MOST_WORKERS).min(files.len());
    if workers < 2 {
        return files.iter().map(|(name, content)| prepare(name, *content, algorithms, kept)).collect();
    }
    let next = AtomicUsize::new(0);
    let work = || {
        let mut done = Vec::new();
        while let Some((at, (name, content))) =
            Some(next.fetch_add(1, Ordering::Relaxed)).and_then(|at| Some((at, files.get(at)?)))
        {
            done.push((at, prepare(name, *content, algorithms, kept)));
        }
        done
    };
    let mut done: Vec<(usize, io::Result<Prepared>)> = std::thread::scope(|scope| {
        let threads: Vec<_> = (1..workers).map(|_| scope.spawn(work)).collect();
        let mut done = work();
        for thread in threads {
            match thread.join() {
                Ok(more) => done.extend(more),
                // A source's own code broke; let it break here as it would without threads.
                Err(panic) => std::panic::resume_unwind(panic),
            }
        }
        done
    });
    done.sort_by_key(|(at, _)| *at);
    done.into_iter().map(|(_, prepared)| prepared).collect()
}

/// The one way in which packs are compressed.
pub(crate) fn encoder<W: Write>(out: W) -> DeflateEncoder<W> {
    DeflateEncoder::new(out, Compression::new(LEVEL))
}

pub(crate) fn changed(name: &str) -> io::Error {
    io::Error::new(io::ErrorKind::InvalidData, format!("`{name}` changed while it was being packed"))
}

fn is_worth_it(size: u64, packed: u64) -> bool {
    packed < size && (size < RATIO_MATTERS_FROM || size / packed.max(1) <= HIGHEST_RATIO)
}

/// Formats that deflate gains nothing on; told by the name, since the content is proven by checksums either way.
fn is_compressed_already(name: &str) -> bool {
    const ENDINGS: [&str; 22] = [
        "jpg", "jpeg", "png", "gif", "webp", "avif", "heic", "zip", "gz", "tgz", "bz2", "xz", "zst", "7z",
        "rar", "pdf", "mp3", "mp4", "m4a", "mov", "docx", "xlsx",
    ];
    name.rsplit_once('.')
        .is_some_and(|(_, ending)| ENDINGS.iter().any(|known| ending.eq_ignore_ascii_case(known)))
}

/// Compressed bytes: all of them, or only their number when they are too many to keep.
struct Kept {
    bytes: Option<Vec<u8>>,
    length: u64,
    limit: usize,
}

impl Kept {
    fn new(limit: usize) -> Self {
        Self { bytes: Some(Vec::new()), length: 0, limit }
    }
}

impl Write for Kept {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.length += bytes.len() as u64;
        match &mut self.bytes {
            Some(kept) if self.length <= self.limit as u64 => kept.extend_from_slice(bytes),
            _ => self.bytes = None,
        }
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::zip_write::ZipWriter;

    #[test]
    fn keeping_the_compressed_bytes_or_making_them_again_is_the_same() {
        let text: Vec<u8> = (0..40_000_u32).flat_map(|n| (n % 977).to_string().into_bytes()).collect();
        let zip = |kept: usize| {
            let prepared = prepare("a.csv", &text, &[Algorithm::Sha256], kept).unwrap();
            let mut zip = ZipWriter::new(Vec::new());
            zip.add("a.csv", &prepared, &text).unwrap();
            (prepared.bytes.is_some(), zip.finish().unwrap().0)
        };
        let (held, all) = zip(KEPT);
        let (held_none, again) = zip(1000);
        assert!(held && !held_none && all.len() > 2000 && all.len() < text.len());
        assert_eq!(all, again);
    }

    #[test]
    fn many_at_once_come_out_in_order() {
        let contents: Vec<Vec<u8>> = (0..50_usize).map(|n| vec![7; n * 1000]).collect();
        let files: Vec<(&str, &dyn Content)> =
            contents.iter().map(|bytes| ("x", bytes as &dyn Content)).collect();
        let sizes: Vec<u64> =
            prepare_all(&files, &[], KEPT).into_iter().map(|prepared| prepared.unwrap().size).collect();
        assert_eq!(sizes, (0..50).map(|n| n * 1000).collect::<Vec<u64>>());
    }
}
