//! The file around the content: head, style, running words.

use crate::block::{Writer, css_string};
use crate::filter::{Controls, HASH, LONG, SCRIPT};
use pages::Look;
use pages::drawing::Ink;
use pages::model::{Block, Document, Pictures, Run, RunKind};
use pages::svg::escape;
use std::fmt::Write;

/// Inks that style sheets and drawings name.
const INKS: [Ink; 9] = [
    Ink::Text,
    Ink::Quiet,
    Ink::Rule,
    Ink::Accent,
    Ink::Tint,
    Ink::Paper,
    Ink::Pass,
    Ink::Fail,
    Ink::Undetermined,
];

/// Colour of an ink on dark ground; the accent is lightened until it can be read there.
fn on_dark(ink: Ink, accent: [u8; 3]) -> [u8; 3] {
    match ink {
        Ink::Text => [0xe6, 0xe9, 0xec],
        Ink::Quiet => [0xa9, 0xb2, 0xbb],
        Ink::Rule => [0x48, 0x51, 0x5a],
        Ink::Accent => brightened(accent),
        Ink::Tint => [0x22, 0x29, 0x30],
        Ink::Paper => [0x15, 0x1a, 0x1f],
        Ink::Pass => [0x7f, 0xcf, 0xa4],
        Ink::Fail => [0xff, 0xa0, 0x97],
        Ink::Undetermined => [0xe9, 0xc0, 0x6a],
    }
}

/// A colour of the same hue that can be read on dark ground: as bright as it goes, then mixed with white where its hue
/// is too dark for that.
fn brightened(colour: [u8; 3]) -> [u8; 3] {
    let most = colour.iter().copied().max().unwrap_or_default();
    let scale = if most == 0 { 0.0 } else { 205.0 / f32::from(most) };
    let bright = colour.map(|c| f32::from(c) * scale);
    let mixed = |white: f32| bright.map(|c| c + (255.0 - c) * white);
    // The exponent of the eye taken as 2, which makes the figure too small for a light colour and never too large.
    let light = |c: [f32; 3]| {
        let [r, g, b] = c.map(|v| v / 255.0 * (v / 255.0));
        0.2126 * r + 0.7152 * g + 0.0722 * b
    };
    let mut steps = (0..=10).map(|tenths| mixed(tenths as f32 / 10.0));
    steps.find(|c| light(*c) >= 0.36).unwrap_or([255.0; 3]).map(|c| c as u8)
}

/// Head and foot of each printed page, for browsers that know margin boxes; the head stands on the first page anyway.
fn margin_boxes(document: &Document, quiet: [u8; 3]) -> String {
    let content = |runs: &[Run]| {
        let mut out = String::new();
        for run in runs {
            match &run.kind {
                RunKind::Text(text) => out.push_str(&css_string(text)),
                RunKind::Break => out.push_str("' '"),
                RunKind::PageNumber => out.push_str("counter(page)"),
                RunKind::PageCount => out.push_str("counter(pages)"),
            }
            out.push(' ');
        }
        out
    };
    let (head, foot) = (&document.head, &document.foot);
    let boxes = [
        ("top-left", &head.left),
        ("top-right", &head.right),
        ("bottom-left", &foot.left),
        ("bottom-right", &foot.right),
    ];
    let [r, g, b] = quiet;
    let mut out = String::from("@page{");
    for (name, runs) in boxes.iter().filter(|(_, runs)| !runs.is_empty()) {
        let _ = write!(
            out,
            "@{name}{{content:{};font:7.5pt \"Source Sans 3\",\"Noto Sans\",\"Noto Sans JP\",Arial,sans-serif;color:#{r:02x}{g:02x}{b:02x}}}",
            content(runs)
        );
    }
    out.push_str("}@page:first{@top-left{content:none}@top-right{content:none}}");
    out
}

/// Sets a document as one HTML file. `style` is the template's style sheet.
pub fn html(
    document: &Document,
    pictures: &Pictures,
    look: &Look,
    style: &str,
    controls: &Controls,
) -> String {
    let mut out = String::with_capacity(64 * 1024);
    let accent = look.accent.0;
    let variables = |colour: &dyn Fn(Ink) -> [u8; 3]| {
        INKS.iter().fold(String::new(), |mut all, ink| {
            let [r, g, b] = colour(*ink);
            let _ = write!(all, "--{}:#{r:02x}{g:02x}{b:02x};", ink.name());
            all
        })
    };
    let light = variables(&|ink| ink.colour(accent));
    let dark = variables(&|ink| on_dark(ink, accent));
    let _ = write!(
        out,
        "<!DOCTYPE html>\n<html lang=\"{}\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <meta name=\"color-scheme\" content=\"light dark\">\n<title>{}</title>\n",
        escape(&document.language),
        escape(&document.title)
    );
    for (name, value) in [("author", &document.author), ("description", &document.subject)] {
        if !value.is_empty() {
            let _ = writeln!(out, "<meta name=\"{name}\" content=\"{}\">", escape(value));
        }
    }
    // A page that asks for nothing also forbids itself to; the one script that may run is known by its hash.
    let filters = !controls.filter.is_empty() && has_long_table(&document.blocks);
    let script = if filters { format!("; script-src 'sha256-{HASH}'") } else { String::new() };
    let _ = writeln!(
        out,
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; img-src data:{script}\">"
    );
    let words = match filters {
        true => format!(
            " data-filter=\"{}\" data-shown=\"{}\"",
            escape(&controls.filter),
            escape(&controls.shown)
        ),
        false => String::new(),
    };
    let _ = write!(
        out,
        "<style>\n:root{{{light}color-scheme:light dark}}\n\
         @media screen and (prefers-color-scheme:dark){{:root{{{dark}}}}}\n{}\n{}\n</style>\n</head>\n<body{words}>\n",
        // A style sheet can't close its own element.
        style.trim().replace("</", "<\\/"),
        margin_boxes(document, Ink::Quiet.colour(accent))
    );
    let mut writer = Writer { pictures, colon: &controls.colon, out: &mut out, figures: 0, tables: 0 };
    let running = |w: &mut Writer<'_>, element: &str, sides: [&[Run]; 2]| {
        let sides: Vec<&[Run]> =
            sides.into_iter().filter(|s| !s.is_empty() && !has_page_numbers(s)).collect();
        if sides.is_empty() {
            return;
        }
        let _ = write!(w.out, "<{element} class=\"running\">");
        for side in sides {
            w.out.push_str("<p>");
            w.runs(side);
            w.out.push_str("</p>");
        }
        let _ = writeln!(w.out, "</{element}>");
    };
    running(&mut writer, "header", [&document.head.left, &document.head.right]);
    writer.out.push_str("<main>\n");
    writer.blocks(&document.blocks);
    writer.out.push_str("</main>\n");
    running(&mut writer, "footer", [&document.foot.left, &document.foot.right]);
    if filters {
        let _ = writeln!(out, "<script>{SCRIPT}</script>");
    }
    out.push_str("</body>\n</html>\n");
    out
}

fn has_long_table(blocks: &[Block]) -> bool {
    blocks.iter().any(|block| match block {
        Block::Table(table) => table.body.len() >= LONG,
        Block::Section { blocks, .. } | Block::Aside { blocks, .. } => has_long_table(blocks),
        _ => false,
    })
}

/// A page on a screen has no pages.
fn has_page_numbers(runs: &[Run]) -> bool {
    runs.iter().any(|r| matches!(r.kind, RunKind::PageNumber | RunKind::PageCount))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance and contrast as WCAG 2.2 defines them.
    fn contrast(a: [u8; 3], b: [u8; 3]) -> f64 {
        let luminance = |c: [u8; 3]| {
            let [r, g, b] = c.map(|v| {
                let v = f64::from(v) / 255.0;
                if v <= 0.04045 { v / 12.92 } else { libm::pow((v + 0.055) / 1.055, 2.4) }
            });
            0.2126 * r + 0.7152 * g + 0.0722 * b
        };
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    #[test]
    fn inks_can_be_read_on_dark_ground() {
        for accent in [[0x1f, 0x5a, 0x6b], [0, 0, 0], [0x60, 0x10, 0x50]] {
            for ink in [Ink::Text, Ink::Quiet, Ink::Accent, Ink::Pass, Ink::Fail, Ink::Undetermined] {
                for ground in [Ink::Paper, Ink::Tint] {
                    let c = contrast(on_dark(ink, accent), on_dark(ground, accent));
                    assert!(c >= 4.5, "{ink:?} on {ground:?}: {c:.2}");
                }
            }
        }
    }
}
