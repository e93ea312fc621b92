//! The report's template over records from nothing to much.
#![allow(clippy::unwrap_used)] // what is not there in a test is a failed test

use pages::view::{Subject, document};
use pages::{Engine, TemplateSet, Words};
use record::{Draft, Finding, Record, check};

fn report(record: &Record) -> pages::Document {
    let assessment = assess::assess(record, None);
    let subject =
        Subject { record, changes: None, assessment: &assessment, standard: None, program: "test 1" };
    let set = TemplateSet::built_in("report").unwrap();
    let mut open = |_| Err("not here".to_owned());
    document(&Engine::new(&set, "en").unwrap(), &subject, &mut open).map_err(|f| format!("{f:?}")).unwrap().0
}

fn words() -> Words {
    TemplateSet::built_in("report").unwrap().words("en").unwrap()
}

/// The keys that words for set-up limits of the built-in standards have.
fn limits_of_built_in_standards() -> Vec<String> {
    let texts = assess::standard::built_in().iter().map(|(_, text)| *text);
    keys_of(texts, "what = \"")
}

/// Keys of what the built-in lists ask for.
fn asked_of_built_in_lists() -> Vec<String> {
    let texts = assess::standard::built_in().iter().map(|(_, text)| *text);
    keys_of(texts.chain([assess::completeness::Checklist::built_in().1]), "asks = \"")
}

/// Keys of what the words of demands mean in built-in standards.
fn meanings_of_built_in_standards() -> Vec<String> {
    keys_of(assess::standard::built_in().iter().map(|(_, text)| *text), "meaning = \"")
}

/// Keys of the words that stand behind a mark in texts.
fn keys_of<'a>(texts: impl Iterator<Item = &'a str>, mark: &str) -> Vec<String> {
    let said = texts.flat_map(str::lines).filter_map(|line| line.strip_prefix(mark));
    let keys: Vec<String> = said
        .map(|said| {
            let small = said.to_ascii_lowercase();
            let words: Vec<&str> =
                small.split(|c: char| !c.is_ascii_alphanumeric()).filter(|w| !w.is_empty()).collect();
            words.join("-")
        })
        .collect();
    assert!(keys.len() > 10, "{keys:?}");
    keys
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
    let sets: Vec<TemplateSet> = TemplateSet::names().map(|n| TemplateSet::built_in(n).unwrap()).collect();
    let templates: String = sets
        .iter()
        .flat_map(TemplateSet::files)
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
        "status",
        "status_mark",
        "identity",
        "yes_no",
        "in_order",
        "discharge",
        "scope",
        "accredited",
        "in_tolerance",
        "fact",
        "figure",
        "control",
        "rule",
        "class_phrase",
        "open_fact",
        "kept_what",
        "reference_kind",
        "fact_of",
        "field",
        "issue_state",
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

/// Every language has the same keys with the same places as English, a sentence for each rule, and is marked as
/// long as nobody who tests in it has read it.
#[test]
fn languages_have_the_same_words() {
    let set = TemplateSet::built_in("report").unwrap();
    let places = |text: &str| {
        let mut names: Vec<String> =
            text.split('{').skip(1).filter_map(|p| p.split_once('}')).map(|p| p.0.to_owned()).collect();
        names.sort();
        names
    };
    let english = words();
    // Sentences of rules are the program's own in English.
    let tables = [
        "rule.",
        "class_phrase.",
        "open_fact.",
        "said.",
        "discharge.",
        "quantity.",
        "status.",
        "setup_end.",
        "setup_limit.",
        "asked.",
        "meaning.",
        "clause.",
    ];
    let own = |key: &str| tables.iter().any(|t| key.starts_with(t));
    let german = set.words("de").unwrap();
    let limits = limits_of_built_in_standards();
    assert!(english.review().is_none());
    for language in set.manifest().languages.iter().filter(|l| *l != "en") {
        let words = set.words(language).unwrap();
        for key in english.keys() {
            let other = words.get(key).unwrap_or_else(|| panic!("{language}: {key}"));
            if !key.starts_with("format.") {
                assert_eq!(places(english.get(key).unwrap()), places(other), "{language}: {key}");
            }
        }
        let extra: Vec<&str> = words.keys().filter(|k| english.get(k).is_none() && !own(k)).collect();
        assert!(extra.is_empty(), "{language}: {extra:?}");
        for rule in assess::Rule::WORDS {
            let key = format!("rule.{rule}");
            assert!(words.keys().any(|k| k == key || k.starts_with(&format!("{key}."))), "{language}: {key}");
        }
        for saying in assess::Saying::WORDS {
            let key = format!("said.{saying}");
            let of = |words: &Words| places(words.get(&key).unwrap_or_else(|| panic!("{language}: {key}")));
            assert_eq!(of(&words), of(&german), "{language}: {key}");
        }
        let own_tables: Vec<&str> = words.keys().filter(|k| own(k) && german.get(k).is_none()).collect();
        assert!(own_tables.is_empty(), "{language}: {own_tables:?}");
        for status in assess::standard::Status::WORDS {
            assert!(words.get(&format!("status.{status}")).is_some(), "{language}: {status}");
        }
        for limit in &limits {
            assert!(words.get(&format!("setup_limit.{limit}")).is_some(), "{language}: {limit}");
        }
        for asks in asked_of_built_in_lists() {
            assert!(words.get(&format!("asked.{asks}")).is_some(), "{language}: {asks}");
        }
        for meaning in meanings_of_built_in_standards() {
            assert!(words.get(&format!("meaning.{meaning}")).is_some(), "{language}: {meaning}");
        }
        let review = words.review().expect("words from memory are marked");
        for term in &review.terms {
            assert!(words.get(term).is_some(), "{language}: review of {term}");
        }
    }
}

/// Each template in each language over a record of nothing: every field and word that it asks for is there.
#[test]
fn every_template_in_every_language_over_nothing() {
    let record = check(Draft::default()).unwrap();
    let assessment = assess::assess(&record, None);
    let subject = Subject {
        record: &record,
        changes: None,
        assessment: &assessment,
        standard: None,
        program: "test 1",
    };
    for name in TemplateSet::names() {
        let set = TemplateSet::built_in(name).unwrap();
        assert_eq!(set.suffix(), if name == "report" { String::new() } else { format!(".{name}") });
        for language in &set.manifest().languages {
            let engine = Engine::new(&set, language).unwrap();
            let mut open = |_| Err("not here".to_owned());
            let made = document(&engine, &subject, &mut open);
            let (made, _) = made.unwrap_or_else(|f| panic!("{name} ({language}): {f:?}"));
            assert_eq!(made.language, *language);
        }
    }
}

/// A laboratory's folder says which built-in template it lies over, and brings only what differs.
#[test]
fn a_folder_brings_only_what_differs() {
    let files = vec![
        (
            "template.toml".to_owned(),
            b"name = \"ours\"\nbase = \"summary\"\n[look]\naccent = \"#102030\"\n".to_vec(),
        ),
        (
            "languages/de.toml".to_owned(),
            b"[title]\nsummary = \"Kurzfassung\"\n[review]\nwhat = \"\"\n".to_vec(),
        ),
    ];
    let set = TemplateSet::chosen("report", &files).unwrap();
    assert_eq!((set.manifest().name.as_str(), set.manifest().look.accent.0), ("ours", [0x10, 0x20, 0x30]));
    assert_eq!((set.manifest().document.as_str(), set.suffix().as_str()), ("summary.hbs", ".summary"));
    let words = set.words("de").unwrap();
    assert_eq!(words.get("title.summary"), Some("Kurzfassung"));
    assert_eq!(words.get("title.report"), Some("Prüfbericht"));
    assert!(words.review().is_none());
    assert!(
        TemplateSet::chosen("report", &[("template.toml".to_owned(), b"base = \"sumary\"".to_vec())])
            .is_err()
    );
}
