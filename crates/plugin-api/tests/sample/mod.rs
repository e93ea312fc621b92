//! Records to test with, shared by the tests of the contract and of the plug-ins: whole ones from files, and
//! any number of made-up ones that fill every field.
#![allow(dead_code, reason = "each test program uses its own part")]
#![allow(clippy::unwrap_used, reason = "only tests use it, and a failed unwrap is a failed test")]

pub(crate) mod draw;
pub(crate) mod facts;
pub(crate) mod judges;
pub(crate) mod results;

use assess::Assessment;
use assess::standard::{Standard, built_in};
use plugin_api::wire::v1;
use plugin_api::{Body, Opener, OriginalFiles, WriteContext, WriteInput, Writer};
use record::{Draft, Finding, Record, SourceId, check};
use std::io::{self, Read};
use std::sync::Arc;

/// A draft with whatever the bytes lead to; see [`draw::Draw`].
pub(crate) fn draft(bytes: &[u8]) -> Draft {
    let mut draw = draw::Draw::new(bytes);
    let sources = draw.list(results::source);
    let facts = facts::facts(&mut draw, &sources);
    results::draft(&mut draw, sources, facts)
}

/// The record of a record file's text.
pub(crate) fn record_of(json: &str) -> Record {
    let value = serde_json::from_str(json).unwrap();
    let (draft, unknown) = v1::draft_from_value(value).unwrap();
    assert!(unknown.is_empty(), "{unknown:?}");
    check(draft).unwrap()
}

/// The standard that a record names, where the program carries it.
pub(crate) fn standard_of(record: &Record) -> Option<Standard> {
    let id = record.facts.method.standard.as_deref()?;
    let (_, text) = built_in().iter().find(|(name, _)| *name == id)?;
    Some(Standard::parse(id, text).unwrap())
}

/// The assessment of a record under the standard that it names.
pub(crate) fn assessment_of(record: &Record) -> Assessment {
    assess::assess(record, standard_of(record).as_ref())
}

struct NoOriginals;
impl OriginalFiles for NoOriginals {
    fn open(&self, _: SourceId) -> io::Result<Box<dyn Read + Send + '_>> {
        Err(io::ErrorKind::NotFound.into())
    }
    fn opener(&self, _: SourceId) -> io::Result<Opener> {
        Err(io::ErrorKind::NotFound.into())
    }
}

/// What a writer is given for a record, with a stated stem and program.
pub(crate) fn with_input<T>(
    record: &Record,
    assessment: &Assessment,
    run: impl FnOnce(&WriteInput<'_>) -> T,
) -> T {
    run(&WriteInput {
        record: &Arc::new(record.clone()),
        assessment,
        changes: None,
        standard: standard_of(record).as_ref(),
        standard_file: None,
        stem: "job",
        artifacts: &[],
        originals: &NoOriginals,
        language: "en",
        template: "report",
        template_files: &[],
        program: "fulgurite 0.1.0",
    })
}

/// The files that a writer makes of a record, and its findings.
pub(crate) fn written(writer: &dyn Writer, record: &Record) -> (Vec<(String, Vec<u8>)>, Vec<Finding>) {
    let assessment = assessment_of(record);
    let mut cx = WriteContext::default();
    let artifacts = with_input(record, &assessment, |input| writer.write(input, &mut cx)).unwrap();
    let files = artifacts.into_iter().map(|artifact| {
        let Body::Bytes(bytes) = artifact.body else { panic!("{} is not held in memory", artifact.path) };
        (artifact.path, bytes)
    });
    (files.collect(), cx.into_findings())
}
