//! What people decided beside what was computed, the original files, and how many findings there are.

use crate::sheet::{Sheet, Tag};
use crate::sink::Sink;
use assess::Assessment;
use record::{Facts, Severity};

pub(super) fn people_said<S: Sink>(sheet: &mut Sheet<'_, S>, facts: &Facts) {
    for ruling in &facts.rulings {
        let tag = Tag::new("ruling")
            .is("file", &ruling.file)
            .is("row", ruling.row)
            .is("by", &ruling.by)
            .time("at", ruling.at.as_ref());
        sheet.leaf(tag, &ruling.ruling);
    }
    for judgement in &facts.judgements {
        let tag = Tag::new("judgement")
            .is("concerns", &judgement.concerns)
            .maybe("verdict", judgement.verdict)
            .is("by", &judgement.by)
            .time("at", judgement.at.as_ref());
        sheet.leaf(tag, &judgement.why);
    }
    for given in &facts.partial_plan_justifications {
        let tag = Tag::new("partial-plan-justification").is("state", &given.state).is("by", &given.by);
        sheet.leaf(tag, &given.why);
    }
    for opinion in &facts.opinions {
        sheet.element(Tag::new("opinion").is("by", &opinion.by), |sheet| {
            sheet.leaf(Tag::new("text"), &opinion.text);
            sheet.words("basis", opinion.basis.as_ref());
        });
    }
}

pub(super) fn sources<S: Sink>(sheet: &mut Sheet<'_, S>, assessment: &Assessment) {
    let record = sheet.record;
    for row in &record.unread {
        let file = record.sources.get(row.source.0 as usize).map_or("?", |source| source.name.as_str());
        let tag = Tag::new("unread-row").is("file", file).is("row", row.row).is("code", &row.code);
        sheet.element(tag, |sheet| {
            sheet.leaf(Tag::new("why").english(), &row.why);
            sheet.leaf(Tag::new("as-written"), &row.text);
        });
    }
    for attachment in &record.facts.attachments {
        let tag = Tag::new("attachment").is("file", &attachment.file).maybe("kind", attachment.kind);
        sheet.element(tag, |sheet| sheet.words("caption", attachment.caption.as_ref()));
    }
    for source in &record.sources {
        let tag = Tag::new("source")
            .is("name", &source.name)
            .is("role", source.role)
            .is("bytes", source.bytes)
            .is("sha-256", &source.sha256)
            .maybe("read-by", source.read_by.as_ref())
            .maybe("rows", source.account.map(|a| a.total))
            .maybe("rows-set-aside", source.account.map(|a| a.set_aside));
        sheet.empty(tag);
    }
    let count = |severity: Severity| {
        record.findings.iter().chain(&assessment.findings).filter(|f| f.severity == severity).count()
    };
    let tag = Tag::new("findings")
        .is("errors", count(Severity::Error))
        .is("warnings", count(Severity::Warning))
        .is("notes", count(Severity::Note));
    sheet.empty(tag);
}
