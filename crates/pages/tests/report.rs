//! The report's template over records from nothing to much.
#![allow(clippy::unwrap_used)] // what is not there in a test is a failed test

use pages::view::{Subject, document};
use pages::{Engine, TemplateSet, Words};
use record::{Draft, Finding, Record, check};

fn report(record: &Record) -> pages::Document {
    let assessment = assess::assess(record, None);
    let subject = Subject { record, assessment: &assessment, standard: None, program: "test 1" };
    let set = TemplateSet::built_in("report").unwrap();
    let mut open = |_| Err("not here".to_owned());
    document(&Engine::new(&set, "en").unwrap(), &subject, &mut open).map_err(|f| format!("{f:?}")).unwrap().0
}

fn words() -> Words {
    TemplateSet::built_in("report").unwrap().words("en").unwrap()
}

#[test]
fn a_record_of_nothing_is_bench_data_without_a_verdict() {
    let record = check(Draft::default()).unwrap();
    let text = format!("{:?}", report(&record));
    assert!(text.contains("Bench data, not a test report"));
    for verdict in ["VerdictPass", "VerdictFail", "VerdictUndetermined"] {
        assert!(!text.contains(verdict), "{verdict}");
    }
}

#[test]
fn what_is_recorded_stands_in_the_report() {
    let mut draft = Draft::default();
    let f = &mut draft.facts;
    f.invented = Some("invented for this test".into());
    f.laboratory.name = Some("Old Pumphouse Laboratory".into());
    f.item.name = Some("Lock-gate level sensor <7> & more".into());
    f.item.serial = Some("0017".into());
    f.method.standard = Some("no-such-standard".into());
    f.report.number = Some("R-1".into());
    f.opinions.push(record::Opinion { text: "It should hold".into(), by: "T. Sedge".into(), basis: None });
    draft.findings.push(Finding::warning("x/y", "something odd").help("look again"));
    draft.passed_through.insert("/weather".into(), "\"dry\"".into());
    let record = check(draft).unwrap();
    let text = format!("{:?}", report(&record));
    for part in [
        "invented for this test",
        "Lock-gate level sensor <7> & more",
        "0017",
        "no-such-standard",
        "R-1",
        "It should hold",
        "something odd",
        "look again",
        "/weather",
        "VerdictUndetermined",
    ] {
        assert!(text.contains(part), "{part}");
    }
}

/// Every word of the closed sets that reach a template has its words.
#[test]
fn closed_sets_have_words() {
    let words = words();
    let sets: &[(&str, &[&str])] = &[
        ("application", record::Application::WORDS),
        ("arrangement", record::Arrangement::WORDS),
        ("attachment_kind", record::AttachmentKind::WORDS),
        ("affected", record::Affected::WORDS),
        ("restored", record::Restoration::WORDS),
        ("monitoring", record::Monitoring::WORDS),
        ("run_kind", record::RunKind::WORDS),
        ("polarity", record::PolarityRule::WORDS),
        ("tip", record::Tip::WORDS),
        ("role", record::EquipmentRole::WORDS),
        ("setup_kind", record::SetupCheckKind::WORDS),
        ("source_role", record::SourceRole::WORDS),
        ("part", record::PartPlayed::WORDS),
        ("supplier", record::Supplier::WORDS),
        ("severity", record::Severity::WORDS),
        ("verdict", assess::Verdict::WORDS),
        ("verdict_title", assess::Verdict::WORDS),
        ("verdict", record::JudgedVerdict::WORDS),
        ("inside", assess::Verdict::WORDS),
        ("evidence_kind", assess::EvidenceKind::WORDS),
        ("evidence_state", assess::EvidenceState::WORDS),
    ];
    for (table, set) in sets {
        for word in *set {
            assert!(words.get(&format!("{table}.{word}")).is_some(), "{table}.{word}");
        }
    }
    for status in assess::standard::Status::ALL.iter().filter(|s| !s.is_sound()) {
        assert!(words.get(&format!("status_mark.{status}")).is_some(), "{status}");
    }
    for identity in ["item", "laboratory", "method"] {
        assert!(words.get(&format!("identity.{identity}")).is_some(), "{identity}");
    }
}

/// Words that no template asks for are left over from something; they would be translated for nothing.
#[test]
fn no_words_are_left_over() {
    let set = TemplateSet::built_in("report").unwrap();
    let templates: String = set
        .files()
        .filter(|(path, _)| path.ends_with(".hbs"))
        .map(|(_, bytes)| String::from_utf8(bytes.to_vec()).unwrap())
        .collect();
    // Tables whose keys are words of closed sets, looked up by value, and those that code asks for.
    let by_value = [
        "format",
        "plot",
        "application",
        "arrangement",
        "attachment_kind",
        "affected",
        "restored",
        "monitoring",
        "run_kind",
        "polarity",
        "tip",
        "role",
        "setup_kind",
        "source_role",
        "part",
        "supplier",
        "severity",
        "verdict",
        "verdict_title",
        "inside",
        "evidence_kind",
        "evidence_state",
        "status_mark",
        "identity",
        "yes_no",
        "scope",
        "accredited",
        "in_tolerance",
        "fact",
    ];
    let words = words();
    let left: Vec<&str> = words
        .keys()
        .filter(|k| !by_value.contains(&k.split('.').next().unwrap()))
        .filter(|k| !templates.contains(&format!("\"{k}\"")))
        .collect();
    assert!(left.is_empty(), "{left:?}");
}

/// Readers that jump from heading to heading meet no gaps (PDF/UA-1, 7.4.2).
#[test]
fn heading_levels_are_never_skipped() {
    fn levels(blocks: &[pages::model::Block], out: &mut Vec<u8>) {
        for block in blocks {
            match block {
                pages::model::Block::Heading { level, .. } => out.push(*level),
                pages::model::Block::Section { blocks, .. } | pages::model::Block::Aside { blocks, .. } => {
                    levels(blocks, out);
                }
                _ => {}
            }
        }
    }
    let mut draft = Draft::default();
    draft.facts.states.push(record::ItemState {
        id: record::StateId::new("AR").unwrap(),
        description: None,
        reason: None,
        since: None,
        by: None,
    });
    for draft in [Draft::default(), draft] {
        let mut found = Vec::new();
        levels(&report(&check(draft).unwrap()).blocks, &mut found);
        assert_eq!(found.first(), Some(&1));
        for pair in found.windows(2) {
            assert!(pair[1] <= pair[0] + 1, "{found:?}");
        }
    }
}
