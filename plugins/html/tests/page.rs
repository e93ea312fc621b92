//! What a page says, tag by tag.
#![allow(clippy::unwrap_used)] // what is not there in a test is a failed test

use pages::drawing::Drawing;
use pages::{Markup, Picture, Pictures, TemplateSet, read};
use plugin_html::{Controls, html};

fn page(body: &str) -> String {
    let pictures: Pictures = [("d".to_owned(), Picture::Drawing(Drawing::new(10.0, 10.0)))].into();
    let text = format!("<html lang=\"en\"><head><title>A &amp; B</title></head><body>{body}</body></html>");
    let document = read(&Markup { text, ..Markup::default() }, &pictures).unwrap();
    let set = TemplateSet::built_in("report").unwrap();
    html(
        &document,
        &pictures,
        &set.manifest().look,
        "p { color: red; } </style><script>",
        &Controls { colon: ":".to_owned(), ..Controls::default() },
    )
}

fn main_of(page: &str) -> &str {
    let from = page.find("<main>").unwrap() + "<main>\n".len();
    &page[from..page.find("</main>").unwrap()]
}

#[test]
fn blocks_and_runs() {
    let made = page(
        "<section id=\"s\" class=\"title\"><h1>T</h1><p class=\"lead\">a <strong>b</strong> &lt;c&gt;<br/>d <a href=\"#s\">e</a></p>\
         <ul><li>x<ul><li>y</li></ul></li></ul><dl><dt>n</dt><dd>v</dd></dl></section>",
    );
    assert_eq!(
        main_of(&made),
        "<section id=\"s\" class=\"title\">\n<h1>T</h1>\n<p class=\"lead\">a <strong>b</strong> &lt;c&gt;<br>d \
         <a href=\"#s\">e</a></p>\n<ul>\n<li>x<ul>\n<li>y</li>\n</ul>\n</li>\n</ul>\n<dl>\n<div><dt>n</dt>\n<dd>v</dd>\n\
         </div>\n</dl>\n</section>\n"
    );
}

#[test]
fn tables_have_names_scopes_and_a_way_in_for_the_keyboard() {
    let made = page(
        "<table><thead><tr><th>A</th><th class=\"number\">B</th><th></th></tr></thead>\
         <tbody><tr><th scope=\"row\" colspan=\"2\">x</th><td><span class=\"verdict-fail\">fail</span></td></tr></tbody></table>",
    );
    let main = main_of(&made);
    assert!(
        main.starts_with(
            "<div class=\"scroll\" role=\"region\" tabindex=\"0\" aria-label=\"1: A, B\"><table>"
        )
    );
    for part in [
        "<th scope=\"col\">A</th><th scope=\"col\" class=\"number\">B</th><td></td>",
        "<th scope=\"row\" colspan=\"2\">x</th>",
        "<span class=\"verdict-fail\"><svg class=\"mark\" aria-hidden=\"true\"",
        "fail</span></td>",
    ] {
        assert!(main.contains(part), "{part}\n{main}");
    }
}

#[test]
fn rows_that_become_cards_know_their_columns_and_stay_a_table() {
    let made = page(
        "<table><thead><tr><th>A</th><th class=\"number\">B\\'s &lt;\"&gt;</th><th></th></tr></thead>\
         <tbody><tr class=\"group\"><th colspan=\"3\">all</th></tr>\
         <tr><th scope=\"row\">x</th><td class=\"number\">1</td><td>y</td></tr></tbody></table>",
    );
    let main = main_of(&made);
    for part in [
        "<table class=\"cards\" role=\"table\" style=\"--c1:'A:';--c2:'B\\5c \\27 s \\3c \\22 \\3e :';\">",
        "<thead role=\"rowgroup\">",
        "<tr role=\"row\"><th scope=\"row\" role=\"rowheader\">x</th><td role=\"cell\" class=\"number\">1</td>",
    ] {
        assert!(main.contains(part), "{part}\n{main}");
    }
    // A grid's columns mean nothing one by one.
    let grid = page(
        "<table><thead><tr><th></th><th colspan=\"2\">contact</th></tr></thead>\
         <tbody><tr><th scope=\"row\">x</th><td>1</td><td>2</td></tr></tbody></table>",
    );
    assert!(!main_of(&grid).contains("cards"));
}

#[test]
fn pictures_are_named_for_the_ear() {
    let made = page("<figure><img name=\"d\" alt=\"a &lt; b\"/><figcaption>c</figcaption></figure>");
    assert!(main_of(&made).starts_with("<figure><div class=\"scroll\" role=\"region\" tabindex=\"0\" aria-label=\"1: c\"><svg role=\"img\" aria-labelledby=\"figure-1\""));
    assert!(main_of(&made).contains("<title id=\"figure-1\">a &lt; b</title>"));
}

#[test]
fn nothing_is_loaded_and_nothing_runs() {
    let made = page("<p>x</p>");
    assert!(made.contains("default-src 'none'"));
    assert!(!made.contains("<script") || made.contains("<\\/style><script>"));
    for bad in ["http:", "https:", "<link", "@import", "url("] {
        assert!(!made.contains(bad), "{bad}");
    }
    // A style sheet can't end its element and start another.
    assert_eq!(made.matches("</style>").count(), 1);
}

/// A long table is marked for the script, whose hash the page's policy names; a short one brings no script.
#[test]
fn long_tables_bring_the_one_script() {
    let table = |rows: usize| {
        let rows: String = (0..rows).map(|i| format!("<tr><td>{i}</td></tr>")).collect();
        let text = format!(
            "<html lang=\"en\"><head><title>T</title></head><body><table><tbody>{rows}</tbody></table></body></html>"
        );
        let document = read(&Markup { text, ..Markup::default() }, &Pictures::new()).unwrap();
        let set = TemplateSet::built_in("report").unwrap();
        let controls = Controls::of(&set.words("de").unwrap());
        html(&document, &Pictures::new(), &set.manifest().look, "", &controls)
    };
    let (short, long) = (table(12), table(13));
    assert!(!short.contains("<script") && !short.contains("script-src") && !short.contains("data-rows"));
    assert_eq!(long.matches("<script>").count(), 1);
    for part in ["script-src 'sha256-", "<div class=\"scroll\" data-rows", "data-filter=\"Zeilen filtern\""] {
        assert!(long.contains(part), "{part}");
    }
}
