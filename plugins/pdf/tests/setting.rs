//! Documents of every size and content: set, or refused with a finding, never a panic.
#![allow(clippy::unwrap_used)] // what is not there in a test is a failed test

use pages::model::{Block, Cell, Document, Pictures, Row, Run, Running, Scope, Table};
use pages::{Markup, TemplateSet, read};
use plugin_pdf::{Attached, Book, Relation, Settings, pdf};
use proptest::prelude::*;
use std::sync::{Arc, OnceLock};

fn set() -> &'static (TemplateSet, Book) {
    static SET: OnceLock<(TemplateSet, Book)> = OnceLock::new();
    SET.get_or_init(|| {
        let set = TemplateSet::built_in("report").unwrap();
        let book = Book::load(&set).unwrap();
        (set, book)
    })
}

fn made(document: &Document) -> Result<Vec<u8>, String> {
    let (set, book) = set();
    let attached = [Attached {
        name: "record.json".into(),
        media_type: "application/json".into(),
        about: "The record".into(),
        relation: Relation::Source,
        bytes: Arc::new(b"{}".to_vec()),
    }];
    let settings = Settings {
        look: &set.manifest().look,
        issued: Some((2026, 3, 20)),
        identity: "OPL-1/A",
        producer: "test",
        attached: &attached,
    };
    pdf(document, &Pictures::new(), book, &settings).map_err(|f| format!("{}: {}", f.code, f.message))
}

fn document(blocks: Vec<Block>) -> Document {
    Document { title: "T".into(), language: "en".into(), blocks, ..Document::default() }
}

fn paragraph(text: &str) -> Block {
    Block::Paragraph { class: None, runs: vec![Run::text(text)] }
}

fn cell(text: &str, scope: Option<Scope>) -> Cell {
    Cell { scope, columns: 1, class: None, width: None, runs: vec![Run::text(text)], free: String::new() }
}

fn table(rows: usize, text: &str) -> Block {
    let row =
        |texts: [&str; 3], scope| Row { class: None, cells: texts.iter().map(|t| cell(t, scope)).collect() };
    Block::Table(Table {
        head: vec![row(["No.", "Point", "Observation"], Some(Scope::Column))],
        body: (0..rows).map(|i| row([&i.to_string(), "P", text], None)).collect(),
        ..Table::default()
    })
}

/// Pages of a PDF, by the count that its page tree gives.
fn pages_of(bytes: &[u8]) -> usize {
    let text = String::from_utf8_lossy(bytes);
    let at = text.find("/Type/Pages").or_else(|| text.find("/Type /Pages")).unwrap();
    let rest = &text[at..at + text[at..].find(">>").unwrap()];
    let count = rest.split("/Count").nth(1).unwrap();
    count.trim_start().chars().take_while(char::is_ascii_digit).collect::<String>().parse().unwrap()
}

#[test]
fn conforms_by_its_own_words_and_is_the_same_twice() {
    let d = document(vec![paragraph("one"), table(3, "no effect")]);
    let bytes = made(&d).unwrap();
    assert_eq!(bytes, made(&d).unwrap());
    let text = String::from_utf8_lossy(&bytes);
    for part in ["%PDF-1.7", "<pdfaid:part>3", "<pdfaid:conformance>A", "<pdfuaid:part>1", "/AFRelationship"]
    {
        assert!(text.contains(part), "{part}");
    }
}

#[test]
fn few_and_many_rows() {
    assert_eq!(pages_of(&made(&document(vec![])).unwrap()), 1);
    assert_eq!(pages_of(&made(&document(vec![table(0, "")])).unwrap()), 1);
    assert_eq!(pages_of(&made(&document(vec![table(1, "x")])).unwrap()), 1);
    let pages = pages_of(&made(&document(vec![table(5000, "no effect")])).unwrap());
    assert!((100..250).contains(&pages), "{pages}");
}

/// Short passages below headings of their own are no chain that moves to the next page as one.
#[test]
fn passages_of_a_line_go_where_there_is_room() {
    let passages = |blocks: &mut Vec<Block>| {
        for _ in 0..7 {
            blocks.push(Block::Heading { level: 3, id: None, runs: vec![Run::text("Findings")] });
            blocks.push(paragraph("Nothing was found."));
        }
    };
    let mut blocks: Vec<Block> = (0..20).map(|_| paragraph("A line.")).collect();
    passages(&mut blocks);
    blocks.push(table(1, "a word"));
    passages(&mut blocks);
    let pages = pages_of(&made(&document(blocks)).unwrap());
    assert_eq!(pages, 2);
}

#[test]
fn long_words_and_cells() {
    let word = "w".repeat(400);
    made(&document(vec![paragraph(&word), table(2, &word)])).unwrap();
    // A cell taller than a page goes over pages.
    let tall = "word ".repeat(6000);
    assert!(pages_of(&made(&document(vec![table(1, &tall)])).unwrap()) > 5);
    let d = Document {
        head: Running { left: vec![Run::text("name ".repeat(120))], right: vec![Run::text("r")] },
        ..document(vec![paragraph("x")])
    };
    made(&d).unwrap();
}

#[test]
fn scripts_signs_and_directions() {
    made(&document(vec![paragraph(
        "дребезг σφάλμα Ω µ ± ≤ → ✓ ⚡ ⏚ e\u{301}\u{323} a\u{304} naïve fi ﬁ ½ ⌁ 静電気放電 アイウ「、」",
    )]))
    .unwrap();
}

#[test]
fn a_sign_without_a_font_is_named() {
    assert_eq!(
        made(&document(vec![paragraph("the display said 한 and went dark")])).unwrap_err(),
        "pdf/no-glyph: no font has the sign `한` (U+D55C), which stands in `the display said 한 and went dark`"
    );
    let private = made(&document(vec![paragraph("a\u{e000}b")])).unwrap_err();
    assert!(private.starts_with("pdf/no-glyph"), "{private}");
}

#[test]
fn a_damaged_photo_is_refused() {
    let photo = pages::model::Photo {
        name: "front.jpg".to_owned(),
        format: pages::model::PhotoFormat::Jpeg,
        bytes: std::sync::Arc::new(vec![0xff, 0xd8, 0xff, 0xe0, 0, 2, 0xff, 0xc0]),
        width: 10,
        height: 10,
    };
    let pictures: Pictures = [("p".to_owned(), pages::Picture::Photo(photo))].into();
    let text =
        "<html><head><title>T</title></head><body><figure><img name=\"p\" alt=\"a\"/></figure></body></html>";
    let d = read(&Markup { text: text.into(), ..Markup::default() }, &pictures).unwrap();
    let (set, book) = set();
    let settings =
        Settings { look: &set.manifest().look, issued: None, identity: "x", producer: "t", attached: &[] };
    assert_eq!(pdf(&d, &pictures, book, &settings).unwrap_err().code, "pdf/picture-unreadable");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    /// Any text is set or refused for a sign; what is set conforms, since the PDF library checks it.
    #[test]
    fn any_text(text in "\\PC{0,120}") {
        if let Err(why) = made(&document(vec![paragraph(&text), table(2, &text)])) {
            prop_assert!(why.starts_with("pdf/no-glyph"), "{why}");
        }
    }

    /// Text of the signs that the fonts have is always set.
    #[test]
    fn any_european_text(text in "[ -~\u{a0}-\u{17f}\u{390}-\u{3a1}\u{3a3}-\u{3ce}\u{400}-\u{45f}\u{2013}\u{2014}\u{2018}-\u{201d}\u{2212}\u{2264}\u{2265}\u{200b}\u{ad}]{0,200}", rows in 0usize..60) {
        made(&document(vec![paragraph(&text), table(rows, &text)])).map_err(TestCaseError::fail)?;
    }

    /// Words right to left and marks in any order come through or are refused.
    #[test]
    fn any_order(text in "[a-z \u{5d0}-\u{5ea}\u{627}-\u{64a}\u{300}-\u{310}\u{202a}-\u{202e}\u{2066}-\u{2069}\u{fffc}\u{feff}]{0,60}") {
        if let Err(why) = made(&document(vec![paragraph(&text)])) {
            prop_assert!(why.starts_with("pdf/no-glyph"), "{why}");
        }
    }
}

/// Every word of every language file can be set: the bundled fonts have its glyphs.
#[test]
fn every_word_of_every_language_is_set() {
    let (set, _) = set();
    for language in &set.manifest().languages {
        let words = set.words(language).unwrap();
        let blocks: Vec<Block> = words
            .keys()
            .map(|key| paragraph(words.get(key).unwrap()))
            .filter(|p| *p != paragraph(""))
            .collect();
        assert!(blocks.len() > 400, "{language}");
        let all = Document { language: language.clone(), ..document(blocks) };
        let bytes = made(&all).unwrap_or_else(|finding| panic!("{language}: {finding}"));
        assert!(pages_of(&bytes) > 5, "{language}");
    }
}
