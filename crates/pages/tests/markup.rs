//! What templates may make, and what they are told when they make something else.
#![allow(clippy::unwrap_used)] // what is not there in a test is a failed test

use pages::{Document, Engine, Markup, Pictures, TemplateSet, read};
use proptest::prelude::*;
use serde_json::{Value, json};

fn doc(body: &str) -> Result<Document, String> {
    let text = format!("<html lang=\"en\"><head><title>T</title></head><body>{body}</body></html>");
    read(&Markup { text, ..Markup::default() }, &Pictures::new()).map_err(|f| short(&f))
}

fn short(finding: &record::Finding) -> String {
    let place = finding.place.as_ref().map(ToString::to_string).unwrap_or_default();
    format!("{place}: {}: {} | {}", finding.code, finding.message, finding.help.join(" | "))
}

/// Renders a one-file template over a view and reads the result.
fn made(template: &str, view: &Value) -> Result<Document, String> {
    let set = TemplateSet::built_in("report").unwrap();
    let set = set.overlay([("report.hbs".to_owned(), template.as_bytes().to_vec())]).unwrap();
    let markup = Engine::new(&set, "en").and_then(|e| e.render(view)).map_err(|f| short(&f))?;
    read(&markup, &Pictures::new()).map_err(|f| short(&f))
}

#[track_caller]
fn refused(template: &str, view: &Value, expected: &str) {
    assert_eq!(made(template, view).unwrap_err(), expected);
}

const HEAD: &str = "<html><head><title>T</title></head><body>\n";

#[test]
fn blocks_and_runs() {
    let d = doc("<section class=\"title\"><h1 id=\"a\">A &amp; <em>b</em></h1></section>\
                 <p>one\n  <strong> two</strong>&#160;three <br/> four </p><ul><li>x<ul><li>y</li></ul></li></ul>");
    assert_eq!(
        format!("{:?}", d.unwrap().blocks).replace(
            "style: RunStyle { strong: false, emphasis: false, code: false, class: None, whole: false, link: None }",
            "-"
        ),
        "[Section { id: None, class: Some(Title), blocks: [Heading { level: 1, id: Some(\"a\"), runs: \
         [Run { kind: Text(\"A & \"), - }, Run { kind: Text(\"b\"), style: RunStyle { strong: false, emphasis: true, \
         code: false, class: None, whole: false, link: None } }] }] }, Paragraph { class: None, runs: [Run { kind: Text(\"one \"), - }, \
         Run { kind: Text(\"two\"), style: RunStyle { strong: true, emphasis: false, code: false, class: None, whole: false, link: None } }, \
         Run { kind: Text(\"\\u{a0}three\"), - }, Run { kind: Break, - }, Run { kind: Text(\"four\"), - }] }, \
         List { ordered: false, class: None, items: [ListItem { runs: [Run { kind: Text(\"x\"), - }], lists: [List { \
         ordered: false, class: None, items: [ListItem { runs: [Run { kind: Text(\"y\"), - }], lists: [] }] }] }] }]"
    );
}

/// No line ends between a number and its unit, wherever the text came from; what is code stays as it was typed.
#[test]
fn numbers_keep_their_units() {
    let text = |body: &str| match doc(body).unwrap().blocks.first() {
        Some(pages::model::Block::Paragraph { runs, .. }) => pages::model::plain(runs),
        other => panic!("{other:?}"),
    };
    assert_eq!(
        text("<p>from a 24\n V supply, <strong>8</strong> kV in 5 steps; 23 ± 2 °C, 10 %</p>"),
        "from a 24\u{a0}V supply, 8\u{a0}kV in 5 steps; 23 ±\u{a0}2\u{a0}°C, 10\u{a0}%"
    );
    assert_eq!(text("<p>row <code>8 kV</code> in 3 s</p>"), "row 8 kV in 3\u{a0}s");
}

#[test]
fn control_characters_are_seen() {
    let d = doc("<p>a\u{1b}b\u{7f}c\u{85}</p>").unwrap();
    assert!(format!("{d:?}").contains("a\u{241b}b\u{2421}c\u{fffd}"));
}

#[test]
fn outside_the_subset() {
    for (body, expected) in [
        (
            "<div>x</div>",
            "markup: pages/markup: `<div>` is not in the subset | use html, head, title, meta, body, header, footer, section, h1, h2, h3, h4, p, strong, em, code, span, a, br, ul, ol, li, dl, dt, dd, table, caption, thead, tbody, tr, th, td, figure, img, figcaption, aside",
        ),
        ("<p style=\"x\">x</p>", "markup: pages/markup: `<p>` has no attribute `style` | use class"),
        (
            "<p><span class=\"verdict-pas\">x</span></p>",
            "markup: pages/markup: `<span>` has no class `verdict-pas` | the nearest class is `verdict-pass`",
        ),
        (
            "<p><p>x</p></p>",
            "markup: pages/markup: `<p>` can't stand in `<p>` | here may stand `<strong>`, `<em>`, `<code>`, `<span>`, `<a>`, `<br>`",
        ),
        (
            "<section>x</section>",
            "markup: pages/markup: text stands directly in `<section>`: `x` | put it in a `<p>`",
        ),
        (
            "<p><a href=\"#nowhere\">x</a></p>",
            "markup: pages/unknown-name: nothing here has the id `nowhere` | there is no id here",
        ),
        (
            "<p><a href=\"https://example.org\">x</a></p>",
            "markup: pages/markup: a link to `https://example.org` leaves the document | link to a place in it: `href=\"#id\"`",
        ),
        (
            "<figure><img name=\"map\" alt=\"m\"/></figure>",
            "markup: pages/unknown-name: there is no picture `map` | there is no picture here",
        ),
        (
            "<p>a &copy; b</p>",
            "markup: pages/markup: `&copy;` is unknown | write the character itself, or `&#160;` and its like",
        ),
        (
            "<table><tbody><tr><td>a</td></tr><tr><td>a</td><td>b</td></tr></tbody></table>",
            "markup: pages/markup: the row has 2 columns, the first one 1 | add or remove cells, or set `colspan`",
        ),
        ("<p>x", "markup: pages/markup: `</body>` stands where `</p>` was expected | close `<p>` first"),
    ] {
        assert_eq!(doc(body).unwrap_err(), expected);
    }
}

#[test]
fn the_place_in_the_template_is_named() {
    let view = json!({"item": {"serial": "0017", "none": null}, "rows": [{"a": 1}, {"a": 2}]});
    refused(
        &format!("{HEAD}<p>x</p>{{{{#each rows}}}}<p>{{{{a}}}}</p><q>y</q>{{{{/each}}}}</body></html>"),
        &view,
        "report.hbs:2:35: pages/markup: `<q>` is not in the subset | the nearest element is `p`",
    );
    refused(
        &format!("{HEAD}<p>x</p> <p>{{{{item.serail}}}}</p></body></html>"),
        &view,
        "report.hbs:2:13: pages/unknown-field: there is no field `item.serail` here | the nearest name is `serial`",
    );
    refused(
        &format!("{HEAD}<p>{{{{#if item.nonne}}}}x{{{{/if}}}}</p></body></html>"),
        &view,
        "report.hbs:2:4: pages/unknown-field: there is no field `item.nonne` here | the nearest name is `none`",
    );
    refused(
        &format!("{HEAD}<p>{{{{word \"format.decimol\"}}}}</p></body></html>"),
        &view,
        "report.hbs:2:4: pages/missing-word: there are no words for `format.decimol` | the nearest key of languages/en.toml is `format.decimal`",
    );
    refused(
        &format!("{HEAD}<p>{{{{num item.none}}}}</p></body></html>"),
        &view,
        "report.hbs:2:4: pages/helper-misused: `num` was given `null`, which is no number | guard values that may be absent with `{{#if}}`",
    );
    refused(
        &format!("{HEAD}<p>{{{{{{item.serial}}}}}}</p></body></html>"),
        &view,
        "report.hbs:2:4: pages/template-syntax: text must not pass unescaped | write `{{` and `}}`; use `{{lines ...}}` for text of several lines",
    );
    refused(
        &format!("{HEAD}<p>{{{{> titel}}}}</p></body></html>"),
        &view,
        "report.hbs:2:4: pages/template-syntax: there is no part `titel` | add the file `titel.hbs`",
    );
    let unclosed = made(&format!("{HEAD}<p>{{{{#if item}}}}x</p></body></html>"), &view).unwrap_err();
    assert!(unclosed.starts_with("report.hbs:") && unclosed.contains("pages/template-syntax"), "{unclosed}");
}

#[test]
fn data_are_never_markup() {
    let view = json!({"x": "<b>&amp; {{y}} <?m 9 9 9?>\"", "two": "a\nb"});
    let d = made(&format!("{HEAD}<p>{{{{x}}}}</p><p>{{{{lines two}}}}</p></body></html>"), &view).unwrap();
    let text = format!("{:?}", d.blocks);
    assert!(text.contains("<b>&amp; {{y}} <?m 9 9 9?>\\\""), "{text}");
    assert!(text.contains("Text(\"a\")") && text.contains("Break") && text.contains("Text(\"b\")"));
}

#[test]
fn an_overlay_must_be_usable() {
    let set = || TemplateSet::built_in("report").unwrap();
    let bad = |path: &str, text: &str| {
        short(&set().overlay([(path.to_owned(), text.as_bytes().to_vec())]).unwrap_err())
    };
    let manifest = String::from_utf8(set().file("template.toml").unwrap().to_vec()).unwrap();
    let said = bad("template.toml", &manifest.replace("#1f5a6b", "teal"));
    assert!(said.contains("template.toml:10:10: pages/template-settings: `teal` is no colour"), "{said}");
    let said = bad("template.toml", &manifest.replace("fonts/noto-sans-regular.ttf", "fonts/absent.ttf"));
    assert_eq!(
        said,
        ": pages/template-settings: the template has no file `fonts/absent.ttf` | add it".replacen(
            "",
            "fonts/absent.ttf",
            1
        )
    );
    assert_eq!(
        short(&TemplateSet::built_in("raport").unwrap_err()),
        ": pages/template-settings: there is no built-in template `raport` | the nearest name is `report`"
    );
}

proptest! {
    #[test]
    fn any_bytes_give_a_document_or_a_finding(text in "\\PC{0,200}") {
        let _ = read(&Markup { text: text.clone(), ..Markup::default() }, &Pictures::new());
        let _ = doc(&text);
    }

    #[test]
    fn any_tags_give_a_document_or_a_finding(parts in prop::collection::vec("(<(/?)(p|table|tr|td|th|ul|li|dl|dt|dd|section|aside|figure|img|span|a|br)( (class|id|href|scope|colspan)=\"[a-z#0-9-]{0,8}\")?(/?)>|[a-z &;\u{0}-\u{20}]{0,6})", 0..40)) {
        let _ = doc(&parts.concat());
    }

    #[test]
    fn any_text_comes_through(text in "\\PC{0,80}") {
        let view = json!({"x": text.clone()});
        static ENGINE: std::sync::OnceLock<Engine> = std::sync::OnceLock::new();
        let engine = ENGINE.get_or_init(|| {
            let template = format!("{HEAD}<p>{{{{x}}}}</p></body></html>");
            let set = TemplateSet::built_in("report").unwrap();
            let set = set.overlay([("report.hbs".to_owned(), template.into_bytes())]).unwrap();
            Engine::new(&set, "en").unwrap()
        });
        let d = read(&engine.render(&view).unwrap(), &Pictures::new()).unwrap();
        let runs = match d.blocks.first() { Some(pages::model::Block::Paragraph { runs, .. }) => runs.clone(), _ => vec![] };
        let squeezed = text.split([' ', '\t', '\n', '\r']).filter(|w| !w.is_empty()).collect::<Vec<_>>().join(" ");
        // Which words stay together is another matter.
        let plain = |text: &str| text.replace('\u{a0}', " ");
        prop_assert_eq!(plain(&pages::model::plain(&runs)), plain(&squeezed));
    }
}
