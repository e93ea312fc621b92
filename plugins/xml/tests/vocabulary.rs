//! The words that the schema allows are those of the program, no more and no fewer.

#![allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]

use std::collections::BTreeSet;

fn schema() -> String {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../shared/schemas/summary-1.xsd");
    std::fs::read_to_string(path).unwrap()
}

#[test]
fn every_enumeration_has_the_words_of_the_program() {
    let text = schema();
    let document = roxmltree::Document::parse(&text).unwrap();
    let words = |name: &str| -> BTreeSet<String> {
        let found = document.descendants().find(|n| {
            n.has_tag_name(("http://www.w3.org/2001/XMLSchema", "simpleType"))
                && n.attribute("name") == Some(name)
        });
        let node = found.unwrap_or_else(|| panic!("no type `{name}`"));
        node.descendants()
            .filter(|n| n.tag_name().name() == "enumeration")
            .map(|n| n.attribute("value").unwrap().to_owned())
            .collect()
    };
    for (name, wanted) in [
        ("verdict", assess::Verdict::WORDS),
        ("verdict", record::JudgedVerdict::WORDS),
        ("application", record::Application::WORDS),
        ("polarity", record::Polarity::WORDS),
        ("polarity-rule", record::PolarityRule::WORDS),
        ("class", record::Class::WORDS),
        ("run-kind", record::RunKind::WORDS),
        ("monitoring", record::Monitoring::WORDS),
        ("tip", record::Tip::WORDS),
        ("issue-state", record::IssueState::WORDS),
        ("supplier", record::Supplier::WORDS),
        ("arrangement", record::Arrangement::WORDS),
        ("part-played", record::PartPlayed::WORDS),
        ("equipment-role", record::EquipmentRole::WORDS),
        ("setup-check-kind", record::SetupCheckKind::WORDS),
        ("restoration", record::Restoration::WORDS),
        ("affected", record::Affected::WORDS),
        ("coverage-state", assess::CoverageState::WORDS),
        ("evidence-state", assess::EvidenceState::WORDS),
        ("status", assess::standard::Status::WORDS),
        ("attachment-kind", record::AttachmentKind::WORDS),
        ("source-role", record::SourceRole::WORDS),
    ] {
        let wanted: BTreeSet<String> = wanted.iter().map(|word| (*word).to_owned()).collect();
        assert_eq!(words(name), wanted, "type `{name}`");
    }
    // These lists may grow without a change of form; their words have a pattern.
    for word in assess::Rule::WORDS.iter().chain(assess::EvidenceKind::WORDS) {
        assert!(word.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-'), "{word}");
    }
    assert!(text.contains(plugin_xml::NAMESPACE));
}

#[test]
fn every_type_and_the_document_are_explained() {
    let text = schema();
    let document = roxmltree::Document::parse(&text).unwrap();
    let named =
        document.descendants().filter(|n| n.tag_name().name() == "complexType" && n.has_attribute("name"));
    let used: Vec<&str> = document.descendants().filter_map(|n| n.attribute("type")).collect();
    for node in named {
        let name = node.attribute("name").unwrap();
        let base = document.descendants().any(|n| n.attribute("base") == Some(name));
        assert!(used.contains(&name) || base, "type `{name}` is not used");
    }
}
