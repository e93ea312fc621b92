//! Counts by kind of discharge, constraints over the job, networks, and what a report must hold.

use super::parse::{above_zero, if_there, quantity};
use super::reader::{Section, Text, count, one_of, positive, some_of, texts, words_of};
use super::{CountRule, Network, Planes, ReportItem, Total, codes};
use record::{Ohms, Picofarads, Seconds};

pub(super) fn count_rule(text: &mut Text<'_>, mut section: Section<'_, '_>) -> Option<CountRule> {
    let applies_to = section.given(text, "applies_to", some_of);
    let discharges = section.given_if(text, "discharges", count);
    let counts_per = section.given_if(text, "counts_per", one_of);
    let interval_s = section.given_if(text, "interval_s", |value| quantity(value, Seconds::from_s));
    if !["discharges", "counts_per", "interval_s"].into_iter().any(|key| section.has(key)) {
        let help = "give `discharges`, `counts_per` or `interval_s`".to_owned();
        let message = "the count rule changes nothing";
        text.refuse(section.at(), &section.label(""), codes::MISSING_KEY, message, help);
    }
    section.finish(text);
    Some(CountRule { applies_to: applies_to?, discharges, counts_per, interval_s })
}

pub(super) fn total(text: &mut Text<'_>, mut section: Section<'_, '_>) -> Option<Total> {
    let applies_to = section.given(text, "applies_to", some_of);
    let of = section.value(text, "of", one_of);
    let least = section.given(text, "least", count);
    section.finish(text);
    Some(Total { applies_to: applies_to?, of: of?, least: least? })
}

pub(super) fn network(text: &mut Text<'_>, mut section: Section<'_, '_>) -> Option<Network> {
    let pf = section.value(text, "pf", |value| above_zero(value, Picofarads::from_pf));
    let ohm = section.value(text, "ohm", |value| above_zero(value, Ohms::from_ohm));
    let used_for = section.value(text, "used_for", words_of);
    let proof = section.proof(text);
    section.finish(text);
    let (clause, source, status) = proof?;
    Some(Network { pf: pf?, ohm: ohm?, used_for: used_for?, clause, source, status })
}

pub(super) fn report_item(text: &mut Text<'_>, mut section: Section<'_, '_>) -> Option<ReportItem> {
    let asks = section.value(text, "asks", words_of);
    let facts = section.value(text, "facts", |value| {
        let names = texts(value)?;
        match names.iter().find(|name| !crate::completeness::is_fact(name)) {
            None => Ok(names),
            Some(name) => Err(format!(
                "`{name}` is no fact of a record; known: {}",
                crate::completeness::FACTS.join(", ")
            )),
        }
    });
    let when = if_there(&mut section, "when", |section, key| {
        section.value(text, key, |value| {
            let word = words_of(value)?;
            if crate::completeness::is_condition(&word) {
                Ok(word)
            } else {
                Err(format!("`{word}` is not one of: {}", crate::completeness::CONDITIONS.join(", ")))
            }
        })
    });
    let proof = section.proof(text);
    section.finish(text);
    let (clause, source, status) = proof?;
    Some(ReportItem { clause, asks: asks?, facts: facts?, when, source, status })
}

pub(super) fn planes(text: &mut Text<'_>, mut section: Section<'_, '_>) -> Option<Planes> {
    let mut given = |key| section.given(text, key, positive);
    let vcp_side_mm = given("vcp_side_mm");
    let hcp_length_mm = given("hcp_length_mm");
    let hcp_width_mm = given("hcp_width_mm");
    let item_distance_mm = given("item_distance_mm");
    let hcp_margin_mm = given("hcp_margin_mm");
    let bleeder_kohm = given("bleeder_kohm");
    let hcp_capacitance_pf = given("hcp_capacitance_pf");
    section.finish(text);
    Some(Planes {
        vcp_side_mm: vcp_side_mm?,
        hcp_length_mm: hcp_length_mm?,
        hcp_width_mm: hcp_width_mm?,
        item_distance_mm: item_distance_mm?,
        hcp_margin_mm: hcp_margin_mm?,
        bleeder_kohm: bleeder_kohm?,
        hcp_capacitance_pf: hcp_capacitance_pf?,
    })
}
