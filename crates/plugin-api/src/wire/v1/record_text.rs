//! The record file as text: whole, or portion by portion where it is long.

use super::shown::RecordShown;
use record::{Record, TimeBase};
use std::io::{self, Write};

/// Bytes that are handed on at a time.
const PORTION: usize = 64 * 1024;
/// Samples from which the text of a record is some megabytes, too many to be held beside the record.
const LONG: usize = 500_000;

/// A record in the canonical JSON: indented, keys in the order of the schema, one newline at the end.
pub fn record_to_json(record: &Record) -> String {
    // Maps have text keys and numbers are text: nothing in here can fail to serialise.
    let mut text = serde_json::to_string_pretty(&RecordShown::of(record)).unwrap_or_default();
    text.push('\n');
    text
}

/// Writes what [`record_to_json`] gives, without holding it.
///
/// # Errors
/// What `out` returns.
pub fn write_record(record: &Record, out: &mut dyn Write) -> io::Result<()> {
    // Samples come one by one; whoever hashes or compresses them wants more at a time.
    let mut out = io::BufWriter::with_capacity(PORTION, out);
    serde_json::to_writer_pretty(&mut out, &RecordShown::of(record))?;
    out.write_all(b"\n")?;
    out.flush()
}

/// Hands on what [`record_to_json`] gives, portion by portion: for a checksum of it.
pub fn each_portion(record: &Record, take: &mut dyn FnMut(&[u8])) {
    // Nobody in here returns an error.
    let _ = write_record(record, &mut Portions(take));
}

/// Whether the text of a record is so long that it is better written than held.
pub(crate) fn is_long(record: &Record) -> bool {
    let traces = record.verifications.iter().flat_map(|verification| &verification.traces);
    let numbers = traces.map(|trace| match &trace.time {
        TimeBase::Uniform { .. } => trace.current_a.len(),
        TimeBase::Listed(times) => trace.current_a.len() + times.len(),
    });
    numbers.sum::<usize>() >= LONG
}

struct Portions<'a>(&'a mut dyn FnMut(&[u8]));

impl Write for Portions<'_> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        (self.0)(bytes);
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}
