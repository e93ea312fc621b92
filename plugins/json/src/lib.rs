//! The canonical JSON: a record read and written whole, and an assessment written for programs.
#![forbid(unsafe_code)]
#![warn(clippy::disallowed_methods)]

pub mod codes;
mod decode;
mod read;
mod spot;
mod write;

/// The format `json`: reads `<stem>.json`, writes it and `<stem>.assessment.json`.
#[derive(Clone, Copy, Debug, Default)]
pub struct Json;

/// Largest file that is read, in bytes: a record holds its waveforms, ten million samples are some 80 MB.
pub const MAX_BYTES: u64 = 256 << 20;

/// Deepest nesting that is read; the canonical form needs 7.
pub const MAX_DEPTH: usize = 64;
