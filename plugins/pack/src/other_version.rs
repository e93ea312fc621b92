//! What may differ in a pack that another version of the program made, without its contradicting itself.
//!
//! A later version may check more and word a sentence of its own better. Neither changes what was found. Each such
//! change is a line in a table here, so that nobody else's words pass for the program's former ones; what differs is
//! shown to whoever verifies the pack. A change of what a record comes to is a change of the rules, which have their
//! own version.

use crate::bag_write::Contents;
use crate::report::{Findings, Problem};
use plugin_api::wire::{self, Difference};
use record::{Finding, Record};
use serde_json::Value;

/// The program of this build, as packs name it.
const THIS: &str = concat!("fulgurite ", env!("CARGO_PKG_VERSION"));

/// Findings of `record::check` that an earlier version did not have.
const GAINED: &[&str] = &[record::codes::SERIES_BEFORE_STATE, record::codes::FASTER_THAN_STATED];

/// Words of an earlier version's sentences in an assessment, and those that stand in their place now.
const REWORDED: &[(&str, &str)] =
    &[("the chain's bandwidth lengthens it by", "the chain's bandwidth lengthens the rise time by")];

/// Whether another version made the pack. A pack that does not say so is taken to be of this one.
pub(crate) fn made_it(contents: &Contents) -> bool {
    contents.program.as_deref().is_some_and(|program| program != THIS)
}

/// Takes out of a record what only this version's checks find, and notes it. `stored` are the findings that the pack
/// holds.
pub(crate) fn set_gained_apart(
    record: &mut Record,
    stored: &[Finding],
    place: &str,
    findings: &mut Findings,
) {
    let gained = |finding: &Finding| GAINED.contains(&finding.code.as_str()) && !stored.contains(finding);
    for finding in record.findings.iter().filter(|finding| gained(finding)) {
        let at = finding.place.as_ref().map(|place| format!("{place}: ")).unwrap_or_default();
        let what = format!("this version's checks find more: {at}{} ({})", finding.message, finding.code);
        findings.note(Problem::new(place, what));
    }
    record.findings.retain(|finding| !gained(finding));
}

/// Takes out of the differences of two assessments those that are only in the wording of the program's own sentences,
/// and notes each. Says how many they are, to go behind what was found; nothing where there are none.
pub(crate) fn set_wordings_apart(
    found: &mut Vec<Difference>,
    place: &str,
    findings: &mut Findings,
) -> String {
    let (words, rest): (Vec<_>, Vec<_>) = std::mem::take(found).into_iter().partition(only_worded_otherwise);
    *found = rest;
    for Difference { path, first, second } in &words {
        let (stored, now) = (wire::shown(first.as_ref()), wire::shown(second.as_ref()));
        let what = format!("{path}: worded otherwise: stored {stored}, now {now}");
        findings.note(Problem::new(place, what));
    }
    match words.len() {
        0 => String::new(),
        many => format!("; this version words {many} of its sentences otherwise"),
    }
}

fn only_worded_otherwise(difference: &Difference) -> bool {
    let (Some(Value::String(stored)), Some(Value::String(now))) = (&difference.first, &difference.second)
    else {
        return false;
    };
    let reworded = REWORDED.iter().fold(stored.clone(), |text, (before, now)| text.replace(before, now));
    reworded == *now
}

#[cfg(test)]
mod tests {
    use super::*;

    fn differs(first: &str, second: &str) -> Difference {
        let text = |text: &str| Some(Value::String(text.to_owned()));
        Difference { path: "/waveforms/0/method/2".to_owned(), first: text(first), second: text(second) }
    }

    #[test]
    fn only_the_programs_own_former_words_pass() {
        let (before, now) = REWORDED[0];
        let known = [differs(&format!("{before} about 0.6 %"), &format!("{now} about 0.6 %"))];
        let others = [
            differs(&format!("{before} about 0.6 %"), &format!("{now} about 0.7 %")),
            differs(&format!("{now} about 0.6 %"), &format!("{before} about 0.6 %")),
            differs("no bandwidth is stated", &format!("{now} about 0.6 %")),
            Difference { second: None, ..differs(before, now) },
        ];
        let mut found: Vec<Difference> = known.iter().chain(&others).cloned().collect();
        let said = set_wordings_apart(&mut found, "assessment.json", &mut Findings::default());
        assert_eq!(said, "; this version words 1 of its sentences otherwise");
        assert_eq!(found, others);
    }
}
