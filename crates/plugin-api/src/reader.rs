//! The side of the contract that turns bytes into facts.

use crate::{Intake, Options, Reported, SeriesDefaults};
use record::{CodeDoc, Facts, Finding, SourceId, SourceRole};
use std::io::{self, BufRead, Read, Seek};
use std::sync::Arc;

/// Whether a file looks like a reader's format.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Probe {
    /// Certainly not.
    No,
    /// It could be.
    Maybe,
    /// It has the marks of the format.
    Yes,
}

/// A file that can be read from any place.
pub trait RandomRead: Read + Seek + Send {}

impl<T: Read + Seek + Send> RandomRead for T {}

/// Opens a file that is a container of others, as often as it is called and after the reading too.
pub type Container = Arc<dyn Fn() -> io::Result<Box<dyn RandomRead>> + Send + Sync>;

/// The threads that the engine lends to a plug-in for the pieces of one large file.
pub trait Workers: Sync {
    /// How many pieces are worked on at a time.
    fn threads(&self) -> usize;
    /// Does `work(0)` to `work(count - 1)`, in any order and several at a time, and comes back when all are done.
    fn each(&self, count: usize, work: &(dyn Fn(usize) + Sync));
}

/// One file to be read. It can be opened more than once: first to see how it is built, then to read it.
pub struct Source<'a> {
    /// Its place in the record's list of sources.
    pub id: SourceId,
    /// Its name within the job.
    pub name: &'a str,
    /// Its size in bytes.
    pub bytes: u64,
    open: &'a (dyn Fn() -> io::Result<Box<dyn BufRead + 'a>> + 'a),
    container: Option<Container>,
    workers: Option<&'a dyn Workers>,
}

impl<'a> Source<'a> {
    /// A source that `open` opens at its first byte, as often as asked.
    pub fn new(
        id: SourceId,
        name: &'a str,
        bytes: u64,
        open: &'a (dyn Fn() -> io::Result<Box<dyn BufRead + 'a>> + 'a),
    ) -> Self {
        Self { id, name, bytes, open, container: None, workers: None }
    }

    /// The same source, which can also be read from any place.
    #[must_use]
    pub fn with_container(self, container: Container) -> Self {
        Self { container: Some(container), ..self }
    }

    /// The same source, to be read with several threads where it is large.
    #[must_use]
    pub fn with_workers(self, workers: &'a dyn Workers) -> Self {
        Self { workers: Some(workers), ..self }
    }

    /// The threads for a large file; none where one has to do. What is read does not depend on them.
    pub fn workers(&self) -> Option<&'a dyn Workers> {
        self.workers
    }

    /// How to open it at any place, for a format that holds other files; none where the engine can't.
    pub fn container(&self) -> Option<Container> {
        self.container.clone()
    }

    /// Opens it at its first byte.
    ///
    /// # Errors
    /// When the system can't open it.
    pub fn open(&self) -> io::Result<Box<dyn BufRead + 'a>> {
        (self.open)()
    }
}

/// What a reader is told beside the file.
pub struct ReadContext<'a> {
    /// Settings for this file.
    pub options: &'a Options,
    /// What the job says about rows that don't say it themselves.
    pub defaults: &'a SeriesDefaults,
    /// The job's facts, for looking names up; empty for a loose file.
    pub facts: &'a Facts,
}

/// One of the readings that a file takes.
#[derive(Clone, Debug, Default)]
pub struct Part {
    /// What tells it from the others of the file: the name of a sheet. None for a file that is read in one.
    pub name: Option<String>,
    /// The settings for it.
    pub options: Options,
}

impl Part {
    /// The name of the source that it is, of this file.
    pub fn source_name(&self, file: &str) -> String {
        match &self.name {
            Some(part) => format!("{file}:{part}"),
            None => file.to_owned(),
        }
    }
}

/// One setting that a file shows.
#[derive(Clone, Debug, PartialEq)]
pub struct Drafted {
    /// Its key, with points between tables: `columns.point`.
    pub key: String,
    /// Its value; null where only something is said about the setting.
    pub value: serde_json::Value,
    /// Why: what the file shows.
    pub why: String,
    /// Only the laboratory can decide it: the value is one that is possible.
    pub open: bool,
}

/// A format that can be read.
pub trait Reader: Send + Sync {
    /// Short name, as in `--from NAME`.
    fn name(&self) -> &'static str;
    /// One line on what it reads.
    fn about(&self) -> &'static str;
    /// Version, and whatever else tells which plug-in it is; none for one that comes with the program.
    fn version(&self) -> Option<&str> {
        None
    }
    /// The settings it understands, one line each (`columns.point: header of the point column`).
    fn settings(&self) -> &'static [&'static str] {
        &[]
    }
    /// JSON Schema of each of its settings, by its key; none for a reader without settings.
    fn settings_schema(&self) -> serde_json::Map<String, serde_json::Value> {
        serde_json::Map::new()
    }
    /// The settings that a file shows, each with its reason: the beginning of a mapping.
    ///
    /// # Errors
    /// What stands in the way of looking at the file at all.
    fn draft(&self, _: &Source<'_>, _: &ReadContext<'_>) -> Result<Vec<Drafted>, Box<Finding>> {
        Ok(Vec::new())
    }
    /// Codes of the findings it raises.
    fn codes(&self) -> &'static [CodeDoc];
    /// What the files that it reads are to the record.
    fn role(&self) -> SourceRole {
        SourceRole::Log
    }
    /// Looks at the first bytes and the name; cheap, and never fails.
    fn probe(&self, head: &[u8], file_name: &str) -> Probe;
    /// How the settings part a file: it is read once for each part, under the name `FILE:PART`. A reader names the
    /// part by [`Intake::part`], also where the settings name none.
    fn parts(&self, options: &Options) -> Vec<Part> {
        vec![Part { name: None, options: options.clone() }]
    }
    /// Reads the file into the intake. Bad rows are set aside and reading goes on.
    ///
    /// # Errors
    /// When the file as a whole can't be read; the error has been filed.
    fn read(&self, source: &Source<'_>, intake: &mut Intake, cx: &ReadContext<'_>) -> Result<(), Reported>;
}
