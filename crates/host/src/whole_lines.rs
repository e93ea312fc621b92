//! A file to which lines are only added: on disk when that is said, and never half of one.

use std::fs::File;
use std::io::{self, Seek, SeekFrom, Write};

/// An open file that ends with a whole line, up to a known length.
#[derive(Debug)]
pub(crate) struct WholeLines {
    file: File,
    length: u64,
}

impl WholeLines {
    /// A file of which so many bytes are whole lines; what stands behind them goes before anything is added.
    pub(crate) fn new(file: File, length: u64) -> Self {
        Self { file, length }
    }

    /// The file, for reading.
    pub(crate) fn file(&mut self) -> &mut File {
        &mut self.file
    }

    /// Bytes of whole lines.
    pub(crate) fn length(&self) -> u64 {
        self.length
    }

    /// Takes off what stands behind the whole lines: the rest of one that was not written to its end.
    ///
    /// # Errors
    /// When the file can't be put in that order; nothing more can be added then.
    pub(crate) fn put_in_order(&mut self) -> io::Result<()> {
        if self.file.metadata()?.len() != self.length {
            self.file.set_len(self.length)?;
            self.file.sync_all()?;
        }
        self.file.seek(SeekFrom::Start(self.length)).map(|_| ())
    }

    /// Adds lines, all or none, and waits until they are on disk.
    ///
    /// # Errors
    /// When they can't be; the file is as it was, or is put in order before the next are added.
    pub(crate) fn add(&mut self, lines: &str) -> io::Result<()> {
        self.put_in_order()?;
        match self.file.write_all(lines.as_bytes()).and_then(|()| self.file.sync_all()) {
            Ok(()) => {
                self.length += lines.len() as u64;
                Ok(())
            }
            Err(error) => {
                // Half a line must not stay: what follows would be read as its rest.
                let _ = self.put_in_order();
                Err(error)
            }
        }
    }
}
