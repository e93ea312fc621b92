//! The summary read back by another library equals the projection that was written.

#![allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]
#[path = "../../../crates/plugin-api/tests/sample/mod.rs"]
mod sample;

use crate::NAMESPACE;
use crate::project::summary;
use crate::sheet::Sheet;
use crate::sink::{Sink, XmlSink};
use crate::write::about;
use proptest::prelude::*;
use record::{Finding, Record};

/// An element of the projection, or of the XML read back.
#[derive(Debug, PartialEq, Default)]
struct Element {
    name: String,
    attributes: Vec<(String, String)>,
    text: String,
    children: Vec<Element>,
}

/// Keeps the projection as a tree.
#[derive(Default)]
struct Tree {
    open: Vec<Element>,
    root: Option<Element>,
}

impl Sink for Tree {
    fn start(&mut self, name: &'static str, attributes: &[(&'static str, String)]) {
        let attributes = attributes.iter().map(|(key, value)| ((*key).to_owned(), value.clone())).collect();
        self.open.push(Element { name: name.to_owned(), attributes, ..Element::default() });
    }
    fn text(&mut self, text: &str) {
        self.open.last_mut().unwrap().text += text;
    }
    fn end(&mut self, name: &'static str) {
        let done = self.open.pop().unwrap();
        assert_eq!(done.name, name);
        match self.open.last_mut() {
            Some(parent) => parent.children.push(done),
            None => self.root = Some(done),
        }
    }
}

/// The projection, its XML and the findings.
fn projected(record: &Record) -> (Element, String, Vec<Finding>) {
    let assessment = sample::assessment_of(record);
    let (mut tree, mut xml) = (Tree::default(), XmlSink::new());
    let findings = sample::with_input(record, &assessment, |input| {
        summary(&mut Sheet::new(record, &mut tree), &about(input));
        let mut sheet = Sheet::new(record, &mut xml);
        summary(&mut sheet, &about(input));
        sheet.into_findings()
    });
    (tree.root.unwrap(), String::from_utf8(xml.into_bytes()).unwrap(), findings)
}

fn read(node: roxmltree::Node<'_, '_>) -> Element {
    assert_eq!(node.tag_name().namespace(), Some(NAMESPACE));
    let children: Vec<Element> = node.children().filter(|n| n.is_element()).map(read).collect();
    let texts = node.children().filter(|n| n.is_text()).map(|n| n.text().unwrap());
    let text: String = if children.is_empty() { texts.collect() } else { String::new() };
    let name_of = |attribute: &roxmltree::Attribute<'_, '_>| match attribute.namespace() {
        None => attribute.name().to_owned(),
        Some(roxmltree::NS_XML_URI) => format!("xml:{}", attribute.name()),
        Some(other) => panic!("attribute in {other}"),
    };
    Element {
        name: node.tag_name().name().to_owned(),
        attributes: node.attributes().map(|a| (name_of(&a), a.value().to_owned())).collect(),
        text,
        children,
    }
}

fn equals(record: &Record) -> Vec<Finding> {
    let (projection, xml, findings) = projected(record);
    let document = roxmltree::Document::parse(&xml).unwrap();
    assert_eq!(read(document.root_element()), projection);
    findings
}

#[test]
fn the_demo_is_read_back_as_projected() {
    let record = sample::record_of(include_str!("../fixtures/lock-gate/input.json"));
    assert_eq!(equals(&record), []);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, ..ProptestConfig::default() })]

    #[test]
    fn a_made_up_record_is_read_back_as_projected(bytes in prop::collection::vec(any::<u8>(), 0..6000)) {
        let record = record::check(sample::draft(&bytes)).unwrap();
        let findings = equals(&record);
        let codes = [crate::codes::CHARACTER_REPLACED, crate::codes::VALUE_LEFT_OUT];
        prop_assert!(findings.iter().all(|f| codes.contains(&f.code.as_str()) && !f.help.is_empty()));
    }
}

#[test]
fn a_character_is_replaced_and_said_with_its_place() {
    let text = r#"{"schema": 1, "facts": {"item": {"serial": "a\u0000b", "name": "x\u0007\ufffe\u000b\u001f\ud83d\udd0c\t\r\n\u0085"}}}"#;
    let (projection, _, findings) = projected(&sample::record_of(text));
    let item = projection.children.iter().find(|e| e.name == "item").unwrap();
    assert!(item.attributes.contains(&("serial".into(), "a\u{fffd}b".into())));
    assert_eq!(item.children[0].text, "x\u{fffd}\u{fffd}\u{fffd}\u{fffd}🔌\t\r\n\u{85}");
    let said: Vec<&str> = findings.iter().map(|f| f.message.as_str()).collect();
    let wanted = [
        "U+0000 can't stand in XML; U+FFFD stands in its place in summary/item/@serial",
        "U+0007 can't stand in XML; U+FFFD stands in its place in summary/item/name",
        "U+FFFE can't stand in XML; U+FFFD stands in its place in summary/item/name",
        "U+000B can't stand in XML; U+FFFD stands in its place in summary/item/name",
        "U+001F can't stand in XML; U+FFFD stands in its place in summary/item/name",
    ];
    assert_eq!(said, wanted);
}

#[test]
fn a_value_beyond_the_types_is_left_out_and_said() {
    let text = r#"{"schema": 1, "facts": {
        "item": {"length_mm": "180.1234567890123456789", "width_mm": "123456.789012345678"},
        "climate": [{"at": "0000-01-01T00:00"}, {"at": "2026-01-01T00:00:00+15:00"}, {"at": "1890-01-01T00:00:00+00:17:30"},
                    {"at": "2026-01-01T00:00:00.5-14:00"}],
        "work_started": "0000-12-31", "work_ended": "0001-01-01"}}"#;
    let (projection, _, findings) = projected(&sample::record_of(text));
    let said: Vec<&str> = findings.iter().map(|f| f.message.as_str()).collect();
    let wanted = [
        "`0000-12-31` is beyond what XML Schema readers must accept; summary/work/@started was left out",
        "`180.1234567890123456789` is beyond what XML Schema readers must accept; summary/item/@length-mm was left out",
        "`0000-01-01T00:00:00` is beyond what XML Schema readers must accept; summary/climate/@at was left out",
        "`2026-01-01T00:00:00+15:00` is beyond what XML Schema readers must accept; summary/climate/@at was left out",
        "`1890-01-01T00:00:00+00:17:30` is beyond what XML Schema readers must accept; summary/climate/@at was left out",
    ];
    assert_eq!(said, wanted);
    let item = projection.children.iter().find(|e| e.name == "item").unwrap();
    assert_eq!(item.attributes, [("width-mm".to_owned(), "123456.789012345678".to_owned())]);
    let times: Vec<_> =
        projection.children.iter().filter(|e| e.name == "climate").map(|e| &e.attributes).collect();
    assert!(times[..3].iter().all(|attributes| attributes.is_empty()), "{times:?}");
    assert_eq!(times[3][0].1, "2026-01-01T00:00:00.5-14:00");
}
