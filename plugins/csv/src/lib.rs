//! Reads discharge logs as delimited text: a row per shot or per set, however the bench wrote them.
//!
//! The layout is found from the bytes in a fixed order (encoding, delimiter, header, units, decimal sign);
//! where two readings remain, the log is refused with the setting that decides. A row that can't be read is
//! set aside with its place and reason, and reading goes on. The file is streamed: a first pass looks at
//! encoding and line ends, a second one reads.
#![forbid(unsafe_code)]
#![warn(clippy::disallowed_methods)]

mod charge;
mod codes;
mod columns;
mod describe;
mod draft;
mod encoding;
mod header_words;
mod json_log;
mod mapping;
mod number;
mod outcome;
mod parts;
mod probe;
mod read;
mod records;
mod refuse;
mod repeats;
mod roles;
mod row;
mod schema;
mod series;
mod settings;
mod shape;
mod survey;
mod times;
mod units;
mod unseen;
mod words;
mod workbook;

use plugin_api::{Drafted, Intake, Options, Part, Probe, ReadContext, Reader, Reported, Source};
use record::{CodeDoc, Finding};
use serde_json::{Map, Value};

/// The reader of discharge logs as delimited text.
#[derive(Clone, Copy, Debug, Default)]
pub struct CsvLogs;

impl Reader for CsvLogs {
    fn name(&self) -> &'static str {
        "csv"
    }

    fn about(&self) -> &'static str {
        "discharge logs as delimited text (comma, semicolon, tab, pipe), a row per shot or per set"
    }

    fn settings(&self) -> &'static [&'static str] {
        mapping::SETTINGS
    }

    fn settings_schema(&self) -> Map<String, Value> {
        schema::settings()
    }

    fn draft(&self, source: &Source<'_>, cx: &ReadContext<'_>) -> Result<Vec<Drafted>, Box<Finding>> {
        draft::draft(source, cx)
    }

    fn codes(&self) -> &'static [CodeDoc] {
        codes::ALL
    }

    fn probe(&self, head: &[u8], file_name: &str) -> Probe {
        probe::probe(head, file_name)
    }

    fn read(&self, source: &Source<'_>, intake: &mut Intake, cx: &ReadContext<'_>) -> Result<(), Reported> {
        read::read(source, intake, cx)
    }
}

/// The reader of discharge logs in workbooks.
#[derive(Clone, Copy, Debug, Default)]
pub struct Workbooks;

impl Reader for Workbooks {
    fn name(&self) -> &'static str {
        "xlsx"
    }

    fn about(&self) -> &'static str {
        "discharge logs in sheets of a workbook (.xlsx, .ods), with the settings of csv and `sheet`"
    }

    fn settings(&self) -> &'static [&'static str] {
        workbook::SETTINGS
    }

    fn settings_schema(&self) -> Map<String, Value> {
        workbook::schema()
    }

    fn draft(&self, source: &Source<'_>, cx: &ReadContext<'_>) -> Result<Vec<Drafted>, Box<Finding>> {
        workbook::draft(source, cx)
    }

    fn codes(&self) -> &'static [CodeDoc] {
        workbook::CODES
    }

    fn probe(&self, head: &[u8], file_name: &str) -> Probe {
        let name = file_name.to_ascii_lowercase();
        let named = [".xlsx", ".xlsm", ".ods"].iter().any(|ending| name.ends_with(ending));
        if named && head.starts_with(b"PK\x03\x04") { Probe::Yes } else { Probe::No }
    }

    fn parts(&self, options: &Options) -> Vec<Part> {
        workbook::parts(options)
    }

    fn read(&self, source: &Source<'_>, intake: &mut Intake, cx: &ReadContext<'_>) -> Result<(), Reported> {
        workbook::read(source, intake, cx)
    }
}

/// The reader of discharge logs in JSON of other programs, by a mapping with a JSON pointer for each column.
#[derive(Clone, Copy, Debug, Default)]
pub struct JsonLogs;

impl Reader for JsonLogs {
    fn name(&self) -> &'static str {
        "json-log"
    }

    fn about(&self) -> &'static str {
        "discharge logs in JSON of other programs (JSON lines or a list), with the settings of csv, a JSON pointer for each column"
    }

    fn settings(&self) -> &'static [&'static str] {
        json_log::SETTINGS
    }

    fn settings_schema(&self) -> Map<String, Value> {
        json_log::schema()
    }

    fn draft(&self, source: &Source<'_>, cx: &ReadContext<'_>) -> Result<Vec<Drafted>, Box<Finding>> {
        json_log::draft(source, cx)
    }

    fn codes(&self) -> &'static [CodeDoc] {
        json_log::CODES
    }

    fn probe(&self, head: &[u8], _: &str) -> Probe {
        // The canonical JSON and filled forms say what they are; a list could be anything.
        let first = head.split(|byte| *byte == b'\n').next().unwrap_or_default();
        let holds = |words: &[u8]| first.windows(words.len()).any(|window| window == words);
        if holds(b"\"form\"") && holds(b"\"plan\"") {
            return Probe::No;
        }
        if json_log::looks_like_json_lines(head) { Probe::Yes } else { Probe::No }
    }

    fn read(&self, source: &Source<'_>, intake: &mut Intake, cx: &ReadContext<'_>) -> Result<(), Reported> {
        json_log::read(source, intake, cx)
    }
}
