//! The validation paper: every figure beside its source, as one HTML file that needs nothing else.

use assess::reference::{Held, sources_by_function};
use std::fmt::Write;

/// Every check, by function.
pub(super) fn page(all: &[Held]) -> String {
    let mut page = String::with_capacity(all.len() * 320 + 16_384);
    let failed = all.iter().filter(|held| !held.agrees).count();
    page += "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
        <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
        <title>Validation of the computations of fulgurite</title>\n<style>\n";
    page += STYLE;
    page += "</style>\n</head>\n<body>\n<main>\n<h1>Validation of the computations of fulgurite</h1>\n";
    let verdict = if failed == 0 { "all agree" } else { "not all agree" };
    let _ = writeln!(
        page,
        "<p class=\"lead\">{} figures held against their sources: <strong>{verdict}</strong>, {failed} differ.</p>",
        all.len()
    );
    page += "<p>The program ran these cases itself, on the machine named below. The paper supports the validation of \
        software that ISO/IEC 17025:2017 7.11.2 asks for. It covers the functions listed, for the inputs \
        listed; it does not cover a laboratory's own settings, files or use.</p>\n";
    identity(&mut page);
    summary(&mut page, all);
    for (function, _) in sources_by_function(all) {
        let mut held = all.iter().filter(|one| one.function == function).peekable();
        if held.peek().is_some() {
            section(&mut page, function, held);
        }
    }
    page += "</main>\n</body>\n</html>\n";
    page
}

fn identity(page: &mut String) {
    let digest = host::program_sha256().unwrap_or_else(|| "not known".to_owned());
    let rows = [
        ("Program", format!("fulgurite {}", env!("CARGO_PKG_VERSION"))),
        ("SHA-256 of the program's file", digest),
        ("Rules of assessment", assess::RULES_VERSION.to_string()),
        ("Platform", format!("{}, {}", std::env::consts::OS, std::env::consts::ARCH)),
    ];
    *page += "<table class=\"facts\">\n<caption>What was validated</caption>\n<tbody>\n";
    for (head, value) in rows {
        let _ = writeln!(page, "<tr><th scope=\"row\">{head}</th><td>{}</td></tr>", escaped(&value));
    }
    for head in ["Machine", "Run on (date)", "Run by", "Accepted by"] {
        let _ = writeln!(page, "<tr><th scope=\"row\">{head}</th><td class=\"fill\"></td></tr>");
    }
    *page += "</tbody>\n</table>\n";
}

fn summary(page: &mut String, all: &[Held]) {
    *page += "<h2>Functions and their sources</h2>\n\
        <p>Status: <em>seen</em>, the source or an open copy of its figures was read; <em>memory</em>, the figures \
        are quoted from memory; <em>computed</em>, another program or exact arithmetic gave them.</p>\n\
        <table>\n<caption>Figures held, by function and source</caption>\n<thead><tr><th scope=\"col\">Function</th>\
        <th scope=\"col\">Source</th><th scope=\"col\">Status</th><th scope=\"col\">Figures</th>\
        <th scope=\"col\">Differ</th></tr></thead>\n<tbody>\n";
    for (function, sources) in sources_by_function(all) {
        if sources.is_empty() {
            let _ = writeln!(
                page,
                "<tr><th scope=\"row\">{function}</th><td colspan=\"4\">no source outside the project</td></tr>"
            );
        }
        for source in sources {
            let _ = writeln!(
                page,
                "<tr><th scope=\"row\"><a href=\"#{0}\">{0}</a></th><td>{1}</td><td>{2}</td><td class=\"n\">{3}</td>\
                 <td class=\"n\">{4}</td></tr>",
                function,
                escaped(&source.source),
                escaped(&source.status),
                source.checks,
                source.differ
            );
        }
    }
    *page += "</tbody>\n</table>\n";
}

fn section<'a>(page: &mut String, function: &str, held: impl Iterator<Item = &'a Held>) {
    let _ = write!(
        page,
        "<h2 id=\"{function}\">{function}</h2>\n<table>\n<caption>Figures of {function}</caption>\n<thead><tr>\
         <th scope=\"col\">Source</th><th scope=\"col\">Status</th><th scope=\"col\">Case</th>\
         <th scope=\"col\">Figure</th><th scope=\"col\">Expected</th><th scope=\"col\">Tolerance</th>\
         <th scope=\"col\">Computed</th><th scope=\"col\">Result</th></tr></thead>\n<tbody>\n"
    );
    let mut last_note = None;
    for one in held {
        let clause = one.clause.as_deref().map(|clause| format!(", {clause}")).unwrap_or_default();
        let note = one.note.as_deref().filter(|note| last_note != Some((one.case.as_str(), *note)));
        let said = note.map(|note| format!("<br><small>{}</small>", escaped(note))).unwrap_or_default();
        last_note = one.note.as_deref().map(|note| (one.case.as_str(), note));
        let result = if one.agrees { "agrees" } else { "<strong>differs</strong>" };
        let _ = writeln!(
            page,
            "<tr><td>{}{}</td><td>{}</td><td>{}{said}</td><td>{}</td><td class=\"n\">{}</td><td>{}</td>\
             <td class=\"n\">{}</td><td>{result}</td></tr>",
            escaped(&one.source),
            escaped(&clause),
            escaped(&one.status),
            escaped(&one.case),
            escaped(&one.figure),
            escaped(&one.expected),
            escaped(&one.tolerance),
            escaped(&one.got),
        );
    }
    *page += "</tbody>\n</table>\n";
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

const STYLE: &str = "\
:root { color-scheme: light; }
body { font: 16px/1.5 system-ui, sans-serif; color: #1b1b1b; background: #fff; margin: 0; }
main { max-width: 76rem; margin: 0 auto; padding: 1.5rem; }
h1 { font-size: 1.7rem; line-height: 1.25; }
h2 { font-size: 1.15rem; margin-top: 2rem; }
.lead { font-size: 1.15rem; }
table { border-collapse: collapse; width: 100%; font-size: 0.85rem; }
caption { text-align: left; color: #4a4a4a; padding: 0.4rem 0; }
th, td { text-align: left; vertical-align: top; padding: 0.25rem 0.6rem 0.25rem 0; border-bottom: 1px solid #d0d0d0; }
td { overflow-wrap: anywhere; }
tbody th { font-weight: 500; }
.n { font-variant-numeric: tabular-nums; }
.facts { width: auto; min-width: 30rem; }
.facts .fill { border-bottom: 1px solid #1b1b1b; min-width: 18rem; height: 1.8rem; }
a { color: #0b4f8a; }
@media print { body { font-size: 9pt; } main { max-width: none; padding: 0; } thead { display: table-header-group; } tr { break-inside: avoid; } }
";
