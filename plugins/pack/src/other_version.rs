//! What may differ in a pack that another version of the program made, without its contradicting itself.
//!
//! A later version may check more and word a sentence of its own better. Neither changes what was found. Each such
//! change is a line in a table here, so that nobody else's words pass for the program's former ones; what differs is
//! shown to whoever verifies the pack. A change of what a record comes to is a change of the rules, which have their
//! own version.

use crate::bag_write::Contents;
use crate::report::{Findings, Problem};
use plugin_api::wire::Difference;
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

/// Sorts the differences of two assessments: those that are only in the wording of the program's own sentences, and
/// all others.
pub(crate) fn wordings(found: Vec<Difference>) -> (Vec<Difference>, Vec<Difference>) {
    found.into_iter().partition(only_worded_otherwise)
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
        let (words, rest) = wordings(known.iter().chain(&others).cloned().collect());
        assert_eq!(words, known);
        assert_eq!(rest, others);
    }
}
