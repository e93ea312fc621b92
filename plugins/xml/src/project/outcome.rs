//! What the item did, held against the demand; what the generator did, held against the limits.

use super::chain::DIGITS;
use crate::sheet::{Sheet, Tag};
use crate::sink::Sink;
use assess::{Assessment, JudgedFigure, JudgedTrace};
use record::Seconds;

pub(super) fn observations<S: Sink>(sheet: &mut Sheet<'_, S>, assessment: &Assessment) {
    for observation in &sheet.record.observations {
        let judged = assessment.observations.iter().find(|j| j.observation == observation.id);
        let tag = Tag::new("observation")
            .is("id", &observation.id)
            .maybe("series", observation.series.as_ref())
            .maybe("shot", observation.shot)
            .maybe("function", observation.function.as_ref())
            .maybe("written-class", observation.written_class)
            .maybe("class", judged.and_then(|j| j.class))
            .maybe("class-from-facts", judged.map(|j| j.class_from_facts))
            .maybe("state", judged.and_then(|j| j.state.as_ref()))
            .maybe("verdict", judged.and_then(|j| j.verdict))
            .maybe("rule", judged.map(|j| j.rule))
            .decimal("lasted-s", observation.lasted_s.map(Seconds::as_s));
        sheet.element(tag, |sheet| {
            sheet.words("seen", observation.seen.as_ref());
            sheet.stated("state-changed", &observation.state_changed);
            sheet.stated("data-lost", &observation.data_lost);
            sheet.stated("restored", &observation.restored);
            sheet.stated("before-next", &observation.before_next);
            sheet.stated("coincident", &observation.coincident);
            sheet.stated("affected", &observation.affected);
            sheet.words("remark", observation.remark.as_ref());
            if let Some(judged) = judged {
                for accepted in &judged.accepted {
                    sheet.leaf(Tag::new("accepted"), accepted);
                }
                sheet.leaf(Tag::new("text").english(), &judged.text);
            }
            sheet.origin(&observation.origin);
            if let Some(completed) = &observation.completed_at {
                sheet.origin(completed);
            }
        });
    }
}

pub(super) fn waveforms<S: Sink>(sheet: &mut Sheet<'_, S>, assessment: &Assessment) {
    for trace in &assessment.waveforms {
        waveform(sheet, trace);
    }
}

fn waveform<S: Sink>(sheet: &mut Sheet<'_, S>, trace: &JudgedTrace) {
    let verification = sheet.record.verifications.iter().find(|v| v.id == trace.verification);
    let record = verification.and_then(|v| {
        v.traces.iter().find(|record| record.name == trace.name && record.segment == trace.segment)
    });
    let tag = Tag::new("waveform")
        .is("verification", &trace.verification)
        .is("name", &trace.name)
        .is("segment", trace.segment)
        .maybe("polarity", verification.and_then(|v| v.polarity))
        .decimal("charge-kv", verification.and_then(|v| v.charge_kv).map(record::Kilovolts::as_kv))
        .time("at", verification.and_then(|v| v.at.as_ref()))
        .decimal("a-per-v", record.and_then(|record| record.a_per_v).map(|scale| scale.rounded(DIGITS)))
        .maybe("within", trace.within);
    sheet.element(tag, |sheet| {
        for figure in &trace.figures {
            one_figure(sheet, figure);
        }
        for method in &trace.method {
            sheet.leaf(Tag::new("estimated-by").english(), &method.to_string());
        }
        sheet.origin(&trace.origin);
    });
}

fn one_figure<S: Sink>(sheet: &mut Sheet<'_, S>, figure: &JudgedFigure) {
    let tag = Tag::new("figure")
        .is("name", &figure.name)
        .is("unit", figure.unit)
        .double("value", figure.value)
        .decimal("nominal", figure.nominal)
        .decimal("least", figure.least)
        .decimal("most", figure.most)
        .maybe("within", figure.within)
        .maybe("clause", figure.clause.as_ref())
        .maybe("status", figure.status);
    sheet.element(tag, |sheet| {
        if let Some(why) = &figure.why_not {
            sheet.leaf(Tag::new("not-determinable").english(), why);
        }
    });
}
