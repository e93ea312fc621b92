//! The side of the contract that turns facts and conclusions into files.

use crate::wire::v1;
use crate::{Artifact, Body, Reported};
use assess::{Assessment, Changes, standard::Standard};
use record::{CodeDoc, Finding, Record, SourceId};
use std::io::{self, Read};
use std::sync::Arc;

/// When a writer runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stage {
    /// Makes a document of record and assessment.
    Document,
    /// Runs after all documents and may be handed them.
    Package,
}

/// Opens one original file at its first byte, as often as it is called.
pub type Opener = Box<dyn Fn() -> io::Result<Box<dyn Read + Send>> + Send + Sync>;

/// Gives the bytes of the original files.
pub trait OriginalFiles: Sync {
    /// Opens an original file at its first byte.
    ///
    /// # Errors
    /// When it can't be opened, or is no longer the file that was read.
    fn open(&self, id: SourceId) -> io::Result<Box<dyn Read + Send + '_>>;

    /// Opens it as often as needed and without borrowing from `self`, for bodies that are streamed later.
    ///
    /// # Errors
    /// When it is not at hand; opening fails as [`OriginalFiles::open`] does.
    fn opener(&self, id: SourceId) -> io::Result<Opener>;
}

/// What a writer is given.
pub struct WriteInput<'a> {
    /// Facts; shared, for files that are written on demand after the call.
    pub record: &'a Arc<Record>,
    /// Conclusions.
    pub assessment: &'a Assessment,
    /// What differs from the report that this one amends, where that one is at hand.
    pub changes: Option<&'a Changes>,
    /// The standard's data they rest on; none when the record names no standard that is known.
    pub standard: Option<&'a Standard>,
    /// That standard's data file, as text, with its name.
    pub standard_file: Option<(&'a str, &'a str)>,
    /// Stem of the files to be written (`LGL-FEN-1-0017`).
    pub stem: &'a str,
    /// Artifacts of the formats the writer said it wants.
    pub artifacts: &'a [Artifact],
    /// The original files.
    pub originals: &'a dyn OriginalFiles,
    /// Language of the words (`en`).
    pub language: &'a str,
    /// Name of the built-in template that papers are made of (`report`).
    pub template: &'a str,
    /// Template files of the laboratory that lie over the built-in ones: path and bytes.
    pub template_files: &'a [(String, Vec<u8>)],
    /// Name and version of the program, for metadata.
    pub program: &'a str,
}

impl WriteInput<'_> {
    /// The record in the canonical JSON: written on demand where it is long.
    pub fn record_json(&self) -> Body {
        if v1::is_long(self.record) {
            let record = Arc::clone(self.record);
            return Body::Stream(Arc::new(move |out| v1::write_record(&record, out)));
        }
        Body::Bytes(v1::record_to_json(self.record).into_bytes())
    }
}

/// Where a writer files findings.
#[derive(Debug, Default)]
pub struct WriteContext {
    findings: Vec<Finding>,
}

impl WriteContext {
    /// Files a warning or a note.
    pub fn say(&mut self, finding: Finding) {
        self.findings.push(finding);
    }
    /// Files the error for which nothing is written.
    pub fn refuse(&mut self, finding: Finding) -> Reported {
        self.findings.push(finding);
        Reported::refused()
    }
    /// Files the error that says how the plug-in itself broke.
    pub fn break_off(&mut self, finding: Finding) -> Reported {
        self.findings.push(finding);
        Reported::broke_off()
    }
    /// What was filed.
    pub fn into_findings(self) -> Vec<Finding> {
        self.findings
    }
}

/// A format that can be written.
pub trait Writer: Send + Sync {
    /// Short name, as in `--to NAME`.
    fn name(&self) -> &'static str;
    /// One line on what it writes and for whom.
    fn about(&self) -> &'static str;
    /// Version, and whatever else tells which plug-in it is; none for one that comes with the program.
    fn version(&self) -> Option<&str> {
        None
    }
    /// Codes of the findings it raises.
    fn codes(&self) -> &'static [CodeDoc] {
        &[]
    }
    /// When it runs.
    fn stage(&self) -> Stage {
        Stage::Document
    }
    /// Names of the formats whose artifacts it wants to be handed.
    fn wants(&self) -> &'static [&'static str] {
        &[]
    }
    /// Writes.
    ///
    /// # Errors
    /// When nothing can be written; the error has been filed.
    fn write(&self, input: &WriteInput<'_>, cx: &mut WriteContext) -> Result<Vec<Artifact>, Reported>;
}
