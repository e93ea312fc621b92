//! Where the bytes of a packed file come from: memory, or something that can give them more than once.

use std::io::{self, Write};

/// The bytes of one file. Asked for once or twice while packing, so that no more than a few megabytes are held.
pub trait Content: Send + Sync {
    /// Length in bytes.
    fn size(&self) -> u64;

    /// Writes all bytes, the same ones each time.
    ///
    /// # Errors
    /// Whatever keeps the source from being read, and whatever `out` returns.
    fn write_to(&self, out: &mut dyn Write) -> io::Result<()>;
}

impl Content for Vec<u8> {
    fn size(&self) -> u64 {
        self.len() as u64
    }

    fn write_to(&self, out: &mut dyn Write) -> io::Result<()> {
        out.write_all(self)
    }
}

/// Gives everything that is written to a closure.
pub(crate) struct Each<F>(pub(crate) F);

impl<F: FnMut(&[u8]) -> io::Result<()>> Write for Each<F> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        (self.0)(bytes)?;
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}
