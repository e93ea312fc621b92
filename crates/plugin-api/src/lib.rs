//! The contract between the engine and its plug-ins.
//!
//! A plug-in is a format: it may read ([`Reader`]), write ([`Writer`]) or both. It sees no files, clock,
//! environment or processes; whatever it needs comes with its source, its input and its context.
//! [`wire::v1`] is the canonical JSON of a record: the serialisable mirror of the data model.
#![forbid(unsafe_code)]
#![warn(clippy::disallowed_methods)]

mod artifact;
mod batches;
mod intake;
mod options;
mod reader;
mod sheet_code;
pub mod wire;
mod writer;

pub use artifact::{Artifact, Body, StreamBody};
pub use batches::Batches;
pub use intake::{Intake, Reported, Taken};
pub use options::{Options, SeriesDefaults};
pub use reader::{Container, Drafted, Part, Probe, RandomRead, ReadContext, Reader, Source, Workers};
pub use sheet_code::sheet_code;
pub use writer::{Opener, OriginalFiles, Stage, WriteContext, WriteInput, Writer};
