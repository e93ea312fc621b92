//! Two implementations of the table of verdicts, written apart, on the same random records.

use crate::node::{node, told};
use crate::random_record::record;
use crate::random_standard::variant;
use assess::standard::{Standard, built_in};
use assess::{Rule, Verdict, assess};
use plugin_api::wire::v1::{assessment_to_value, draft_from_value, record_to_value};
use serde_json::json;
use std::collections::BTreeMap;
use std::io::Write;

/// Variants of the standard's data.
const VARIANTS: u64 = 24;

/// `FULGURITE_RANDOM_RECORDS` asks for another number, `FULGURITE_RANDOM_SEED` for other records.
#[test]
fn the_viewer_comes_to_the_same_verdicts() {
    let asked = |name: &str, usual: u64| std::env::var(name).ok().map_or(usual, |text| text.parse().unwrap());
    let count = asked("FULGURITE_RANDOM_RECORDS", 2000);
    let first = asked("FULGURITE_RANDOM_SEED", 1) << 32;
    let folder = tempfile::tempdir().unwrap();
    let (id, text) = *built_in().iter().find(|(id, _)| *id == "iec-61000-4-2-ed2").unwrap();
    let texts: Vec<String> = (0..VARIANTS).map(|number| variant(text, number)).collect();
    let standards: Vec<Standard> = texts.iter().map(|text| Standard::parse(id, text).unwrap()).collect();
    for (number, text) in texts.iter().enumerate() {
        std::fs::write(folder.path().join(format!("standard-{number}.toml")), text).unwrap();
    }
    let path = folder.path().join("records.jsonl");
    let mut lines = std::io::BufWriter::new(std::fs::File::create(&path).unwrap());
    let mut verdicts: BTreeMap<Verdict, u64> = BTreeMap::new();
    let mut rules: BTreeMap<Rule, u64> = BTreeMap::new();
    for number in 0..count {
        let draft = draft_from_value(record(first + number)).unwrap().0;
        let record = record::check(draft).unwrap();
        let at = number % (VARIANTS + 1);
        let standard = standards.get(usize::try_from(at).unwrap());
        let assessment = assess(&record, standard);
        *verdicts.entry(assessment.verdict()).or_default() += 1;
        for reason in assessment.states.iter().flat_map(|state| &state.reasons) {
            *rules.entry(reason.rule).or_default() += 1;
        }
        let line = json!({
            "seed": first + number,
            "standard": standard.map(|_| at),
            "record": record_to_value(&record),
            "assessment": assessment_to_value(&assessment),
        });
        writeln!(lines, "{line}").unwrap();
    }
    lines.flush().unwrap();
    // Agreement means nothing on records that never get as far as a rule.
    for verdict in Verdict::ALL {
        let share = verdicts.get(verdict).copied().unwrap_or_default();
        assert!(share * 20 > count, "{verdict} on {share} of {count} records only: {verdicts:?}");
    }
    let unmet: Vec<&Rule> = Rule::ALL.iter().filter(|rule| !rules.contains_key(rule)).collect();
    assert!(count < 1000 || unmet.is_empty(), "no record met the rules {unmet:?}");
    let Some(output) = node(&["../tests/viewer/agreement.mjs", &path.to_string_lossy(), &count.to_string()])
    else {
        return;
    };
    assert!(output.status.success(), "{}", told(&output));
    eprintln!("{}verdicts: {verdicts:?}\nrules: {rules:?}", told(&output));
}
