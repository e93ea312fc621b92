//! What may differ in a pack that another version of the program made, without its contradicting itself.
//!
//! A later version may check more and word a sentence of its own better. Neither changes what was found: facts, counts,
//! outcomes and verdicts are compared all the same, and what differs is shown to whoever verifies the pack. A change of
//! what a record comes to is a change of the rules, which have their own version.

use crate::bag_write::Contents;
use crate::report::{Findings, Problem};
use plugin_api::wire::Difference;
use record::{Finding, Record, Severity};
use serde_json::Value;

/// The program of this build, as packs name it.
const THIS: &str = concat!("fulgurite ", env!("CARGO_PKG_VERSION"));

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
    let gained = |finding: &Finding| finding.severity != Severity::Error && !stored.contains(finding);
    for finding in record.findings.iter().filter(|finding| gained(finding)) {
        let at = finding.place.as_ref().map(|place| format!("{place}: ")).unwrap_or_default();
        let what = format!("this version's checks find more: {at}{} ({})", finding.message, finding.code);
        findings.note(Problem::new(place, what));
    }
    record.findings.retain(|finding| !gained(finding));
}

/// Sorts the differences of two assessments: those that are only in the wording of the program's own sentences, and
/// those in what they say.
pub(crate) fn wordings(found: Vec<Difference>) -> (Vec<Difference>, Vec<Difference>) {
    found.into_iter().partition(only_worded_otherwise)
}

fn only_worded_otherwise(difference: &Difference) -> bool {
    let (Some(Value::String(one)), Some(Value::String(two))) = (&difference.first, &difference.second) else {
        return false;
    };
    is_sentence(&difference.path) && numbers(one) == numbers(two)
}

/// Whether the program's own words stand there, in sentences whose values stand beside them or nowhere else.
fn is_sentence(path: &str) -> bool {
    const SENTENCES: [&str; 4] = ["text", "what", "message", "help"];
    const LISTS: [&str; 4] = ["method", "stated", "missing", "not-applicable"];
    let mut parts = path.rsplit('/');
    let last = parts.next().unwrap_or_default();
    let in_list =
        last.bytes().all(|b| b.is_ascii_digit()) && parts.next().is_some_and(|of| LISTS.contains(&of));
    SENTENCES.contains(&last) || in_list
}

/// The numbers in a sentence with their signs, in order: a better wording has the same.
fn numbers(sentence: &str) -> Vec<&str> {
    let runs = sentence.split(|c: char| !c.is_ascii_digit() && !matches!(c, '.' | '+' | '-' | '\u{2212}'));
    let bare = runs.map(|run| run.trim_end_matches(|c: char| !c.is_ascii_digit()).trim_start_matches('.'));
    bare.filter(|number| !number.is_empty()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn differs(path: &str, first: &str, second: &str) -> Difference {
        Difference {
            path: path.to_owned(),
            first: Some(Value::String(first.to_owned())),
            second: Some(Value::String(second.to_owned())),
        }
    }

    #[test]
    fn words_may_change_and_what_they_say_may_not() {
        let words = [
            differs(
                "/states/0/evidence/3/text",
                "lengthens it by 0.6 %.",
                "lengthens the rise time by 0.6 %",
            ),
            differs("/completeness/IEC/stated/12", "8.3 P1 plan (memory)", "8.3 P1: plan (memory)"),
            differs("/waveforms/0/method/2", "the step", "the time step"),
        ];
        let facts = [
            differs("/states/0/evidence/3/text", "lengthens it by 0.6 %", "lengthens it by 0.7 %"),
            differs("/observations/0/text", "at \u{2212}8 kV", "at +8 kV"),
            differs("/states/0/evidence/3/state", "shown", "violated"),
            differs("/states/0/reasons/0/values/seen", "lost", "dropped"),
            differs("/states/0/verdict", "pass", "fail"),
            differs("/waveforms/0/figures/0/name", "peak", "first peak"),
        ];
        let missing = Difference { second: None, ..differs("/findings/0/message", "a", "") };
        let all: Vec<Difference> = words.iter().chain(&facts).chain([&missing]).cloned().collect();
        let (only_words, rest) = wordings(all);
        assert_eq!(only_words, words);
        assert_eq!(rest.len(), facts.len() + 1);
    }
}
