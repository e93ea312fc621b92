//! The projection of record and assessment: which facts and conclusions the summary holds, in which order.

mod bench;
mod chain;
mod identity;
mod item;
mod method;
mod outcome;
mod series;
mod sources;
mod verdict;

use crate::sheet::{Sheet, Tag};
use crate::sink::Sink;
use assess::Assessment;
use plugin_api::wire::v1;

/// What the summary rests on beside the record.
pub(crate) struct About<'a> {
    pub(crate) assessment: &'a Assessment,
    /// Name and version of the program.
    pub(crate) program: &'a str,
    /// SHA-256 of the canonical record JSON.
    pub(crate) record_sha256: String,
}

/// Version of the summary's form.
const VERSION: u32 = 1;

/// Puts the whole summary on a sheet.
pub(crate) fn summary<S: Sink>(sheet: &mut Sheet<'_, S>, about: &About<'_>) {
    let facts = &sheet.record.facts;
    let assessment = about.assessment;
    let kind = if assessment.missing_identity.is_empty() { "test-report" } else { "bench-data" };
    let root = Tag::new("summary")
        .is("version", VERSION)
        .is("kind", kind)
        .is("program", about.program)
        .is("rules-version", assessment.rules_version);
    sheet.element(root, |sheet| {
        sheet.words("invented", facts.invented.as_ref());
        for missing in &assessment.missing_identity {
            sheet.leaf(Tag::new("missing-identity"), missing);
        }
        sheet.empty(
            Tag::new("record")
                .is("schema", v1::SCHEMA)
                .is("form", "json")
                .is("sha-256", &about.record_sha256),
        );
        identity::identity(sheet, facts);
        item::item(sheet, facts);
        method::method(sheet, facts, assessment);
        bench::bench(sheet, facts);
        series::series(sheet);
        verdict::verdicts(sheet, assessment);
        outcome::observations(sheet, assessment);
        chain::chains(sheet);
        outcome::waveforms(sheet, assessment);
        sources::people_said(sheet, facts);
        sources::sources(sheet, assessment);
    });
}
