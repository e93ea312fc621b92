//! Verdicts with their reasons, required series against applied ones, evidence.

use crate::sheet::{Sheet, Tag};
use crate::sink::Sink;
use assess::{Assessment, Coverage, EvidenceItem, PartVerdict, Reason, Settlement, StateVerdict};

pub(super) fn verdicts<S: Sink>(sheet: &mut Sheet<'_, S>, assessment: &Assessment) {
    let headline = assessment.headline();
    let tag = Tag::new("verdict")
        .maybe("state", headline.and_then(|h| h.state.as_ref()))
        .is("failure-observed", headline.is_some_and(|h| h.failure_observed));
    sheet.leaf(tag, assessment.verdict().as_str());
    for state in &assessment.states {
        of_state(sheet, state);
    }
}

fn of_state<S: Sink>(sheet: &mut Sheet<'_, S>, state: &StateVerdict) {
    let tag = Tag::new("state-verdict")
        .maybe("state", state.state.as_ref())
        .is("verdict", state.verdict)
        .is("failure-observed", state.failure_observed);
    sheet.element(tag, |sheet| {
        for of in &state.reasons {
            reason(sheet, "reason", of);
        }
        for settle in &state.settle {
            settlement(sheet, settle);
        }
        for coverage in &state.coverage {
            covered(sheet, coverage);
        }
        for uncounted in &state.uncounted {
            sheet.leaf(Tag::new("not-counted").is("series", &uncounted.series).english(), &uncounted.why);
        }
        for item in &state.evidence {
            evidence(sheet, item);
        }
        for point in &state.points {
            part(sheet, "point-verdict", point);
        }
        for function in &state.functions {
            part(sheet, "function-verdict", function);
        }
    });
}

pub(super) fn reason<S: Sink>(sheet: &mut Sheet<'_, S>, name: &'static str, of: &Reason) {
    let tag = Tag::new(name).is("rule", of.rule).maybe("effect", of.effect);
    sheet.element(tag, |sheet| {
        sheet.leaf(Tag::new("text").english(), &of.text);
        for origin in &of.origins {
            sheet.origin(origin);
        }
        for behind in &of.because {
            reason(sheet, "because", behind);
        }
    });
}

fn settlement<S: Sink>(sheet: &mut Sheet<'_, S>, settle: &Settlement) {
    sheet.leaf(
        Tag::new("would-settle").decimal("minutes", settle.minutes).english(),
        &settle.what.to_string(),
    );
}

fn covered<S: Sink>(sheet: &mut Sheet<'_, S>, coverage: &Coverage) {
    let tag = Tag::new("coverage")
        .is("required", coverage.required + 1)
        .is("state", coverage.state)
        .is("counted", coverage.counted)
        .maybe("sparks", coverage.sparks)
        .maybe("worst-class", coverage.worst)
        .is("verdict", coverage.verdict);
    sheet.element(tag, |sheet| {
        for series in &coverage.series {
            sheet.empty(Tag::new("by-series").is("id", series));
        }
        for observation in &coverage.observations {
            sheet.empty(Tag::new("with-observation").is("id", observation));
        }
    });
}

fn evidence<S: Sink>(sheet: &mut Sheet<'_, S>, item: &EvidenceItem) {
    let tag = Tag::new("evidence")
        .is("kind", item.kind)
        .is("required", item.required)
        .is("state", item.state)
        .is("clause", &item.clause)
        .is("status", item.status);
    sheet.element(tag, |sheet| {
        sheet.leaf(Tag::new("text").english(), &item.text());
        if let Some(remedy) = &item.remedy {
            sheet.leaf(Tag::new("remedy").english(), &remedy.to_string());
        }
        for origin in &item.origins {
            sheet.origin(origin);
        }
    });
}

fn part<S: Sink>(sheet: &mut Sheet<'_, S>, name: &'static str, part: &PartVerdict) {
    let tag = Tag::new(name)
        .is("name", &part.name)
        .is("verdict", part.verdict)
        .maybe("worst-class", part.worst)
        .is("required", part.required)
        .is("complete", part.complete);
    sheet.empty(tag);
}
