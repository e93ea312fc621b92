//! When an item of a list is asked at all.

use record::{IssueState, Record, Stated, Supplier};

/// The words that a list may use under `when`.
pub const CONDITIONS: &[&str] = &[
    "amended",
    "associated",
    "client-data",
    "conformity",
    "deviations",
    "exploratory",
    "external-work",
    "indirect",
    "issued",
    "judgements",
    "observations",
    "opinions",
    "unearthed",
    "unread-rows",
];

/// Whether a word is a condition.
pub fn is_condition(word: &str) -> bool {
    CONDITIONS.contains(&word)
}

/// Whether an item under a condition is asked for a record; if not, why.
pub(super) fn applies(record: &Record, condition: &str) -> Result<(), String> {
    let facts = &record.facts;
    let (asked, why_not) = match condition {
        "amended" => (facts.report.amends.is_some(), "the report is not stated to amend another"),
        "associated" => (!facts.associated.is_empty(), "no associated equipment is stated"),
        "client-data" => (
            facts.supplied.iter().any(|s| s.by == Supplier::Client),
            "no fact is marked as supplied by the client",
        ),
        "conformity" => (!facts.demands.is_empty(), "no outcome is demanded, so no conformity is stated"),
        "deviations" => (!facts.method.deviations.is_empty(), "no departure from the method is stated"),
        "exploratory" => (
            record.series.iter().any(|s| s.kind != record::RunKind::Compliance),
            "no exploratory or threshold run is recorded",
        ),
        "external-work" => (!facts.external_providers.is_empty(), "no work by others is stated"),
        "indirect" => (
            record.series.iter().any(|s| s.application.is_indirect()),
            "no discharges to coupling planes are recorded",
        ),
        "issued" => (facts.report.state == Some(IssueState::Issued), "the report is not issued yet"),
        "judgements" => (!facts.judgements.is_empty(), "nobody states a judgement of their own"),
        "observations" => (!record.observations.is_empty(), "nothing was observed"),
        "opinions" => (!facts.opinions.is_empty(), "no opinion is given"),
        "unearthed" => (facts.item.earthed != Stated::Stated(true), "the item is earthed"),
        "unread-rows" => (!record.unread.is_empty(), "every row was read"),
        _ => (true, ""),
    };
    if asked { Ok(()) } else { Err(why_not.to_owned()) }
}
