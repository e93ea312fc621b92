//! A summary of record and assessment as XML, for a laboratory's records system.
//!
//! The summary is a projection: read back, it equals the projection and not the record, whose SHA-256 it
//! carries. Its form is `shared/schemas/summary-1.xsd`.
#![forbid(unsafe_code)]
#![warn(clippy::disallowed_methods)]

pub mod codes;
mod project;
#[cfg(test)]
mod read_back;
mod sheet;
mod sink;
mod write;

/// The format `xml`: writes `<stem>.xml`.
#[derive(Clone, Copy, Debug, Default)]
pub struct Xml;

/// Namespace of the summary.
pub const NAMESPACE: &str = "urn:fulgurite:summary:1";
