//! Who tested for whom, and under which numbers the report, the order and the plan are known.

use crate::sheet::{Sheet, Tag};
use crate::sink::Sink;
use record::{DecisionRule, Facts, Receipt, TestPlanIdentity};

pub(super) fn identity<S: Sink>(sheet: &mut Sheet<'_, S>, facts: &Facts) {
    let report = &facts.report;
    let tag = Tag::new("report")
        .maybe("number", report.number.as_ref())
        .maybe("revision", report.revision.as_ref())
        .maybe("state", report.state)
        .date("issued-on", report.issued_on);
    sheet.element(tag, |sheet| {
        sheet.words("title", report.title.as_ref());
        sheet.words("amends", report.amends.as_ref());
        sheet.words("amendment-reason", report.amendment_reason.as_ref());
    });
    sheet.element(Tag::new("laboratory"), |sheet| {
        sheet.words("name", facts.laboratory.name.as_ref());
        sheet.words("address", facts.laboratory.address.as_ref());
        sheet.words("place-of-work", facts.laboratory.place_of_work.as_ref());
        sheet.words("accreditation", facts.laboratory.accreditation.as_ref());
    });
    sheet.element(Tag::new("client"), |sheet| {
        sheet.words("name", facts.client.name.as_ref());
        sheet.words("contact", facts.client.contact.as_ref());
    });
    for reference in &facts.references {
        let tag = Tag::new("reference")
            .is("kind", &reference.kind)
            .is("value", &reference.value)
            .maybe("revision", reference.revision.as_ref())
            .maybe("belongs-to", reference.belongs_to.as_ref());
        sheet.empty(tag);
    }
    if facts.receipt != Receipt::default() {
        let tag = Tag::new("receipt").date("received-on", facts.receipt.received_on);
        sheet.element(tag, |sheet| sheet.words("condition", facts.receipt.condition.as_ref()));
    }
    if facts.work_started.is_some() || facts.work_ended.is_some() {
        sheet.empty(Tag::new("work").date("started", facts.work_started).date("ended", facts.work_ended));
    }
    for supplied in &facts.supplied {
        let tag = Tag::new("supplied").is("fact", &supplied.fact).is("by", supplied.by);
        sheet.element(tag, |sheet| sheet.words("remark", supplied.remark.as_ref()));
    }
    for provider in &facts.external_providers {
        sheet.element(Tag::new("external-provider").is("name", &provider.name), |sheet| {
            sheet.words("what", provider.what.as_ref());
        });
    }
    if facts.decision_rule != DecisionRule::default() {
        let rule = &facts.decision_rule;
        let tag = Tag::new("decision-rule")
            .maybe("agreed-with", rule.agreed_with.as_ref())
            .date("agreed-on", rule.agreed_on);
        sheet.element(tag, |sheet| sheet.words("rule", rule.rule.as_ref()));
    }
    for scope in &facts.accreditation_scope {
        let tag = Tag::new("accreditation-scope").is("method", &scope.method).maybe("inside", scope.inside);
        sheet.element(tag, |sheet| sheet.words("remark", scope.remark.as_ref()));
    }
    if facts.test_plan != TestPlanIdentity::default() {
        let plan = &facts.test_plan;
        let tag = Tag::new("test-plan")
            .maybe("number", plan.number.as_ref())
            .maybe("revision", plan.revision.as_ref())
            .date("dated", plan.dated)
            .maybe("owner", plan.owner.as_ref());
        sheet.empty(tag);
    }
}
