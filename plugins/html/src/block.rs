//! Blocks and runs as HTML.

use crate::filter::LONG;
use pages::classes::{AsideClass, SpanClass};
use pages::drawing::{Drawing, at};
use pages::model::{
    Block, Cell, Fact, ListItem, Picture, Pictures, Row, Run, RunKind, RunStyle, Scope, Table, plain,
};
use pages::plot::{Outcome, mark};
use pages::svg::{data_uri, escape, svg};
use std::fmt::Write;

/// Writes content.
pub(crate) struct Writer<'a> {
    pub(crate) pictures: &'a Pictures,
    /// Stands behind the name of a column in a card.
    pub(crate) colon: &'a str,
    pub(crate) out: &'a mut String,
    pub(crate) figures: u32,
    pub(crate) tables: u32,
}

impl Writer<'_> {
    pub(crate) fn blocks(&mut self, blocks: &[Block]) {
        blocks.iter().for_each(|b| self.block(b));
    }

    fn open(&mut self, element: &str, id: Option<&str>, class: Option<&str>) {
        let _ = write!(self.out, "<{element}");
        if let Some(id) = id {
            let _ = write!(self.out, " id=\"{}\"", escape(id));
        }
        if let Some(class) = class {
            let _ = write!(self.out, " class=\"{class}\"");
        }
        self.out.push('>');
    }

    fn close(&mut self, element: &str) {
        let _ = writeln!(self.out, "</{element}>");
    }

    /// An element with text.
    fn line(&mut self, element: &str, id: Option<&str>, class: Option<&str>, runs: &[Run]) {
        self.open(element, id, class);
        self.runs(runs);
        self.close(element);
    }

    fn block(&mut self, block: &Block) {
        match block {
            Block::Section { id, class, blocks } => {
                self.open("section", id.as_deref(), class.map(|c| c.name()));
                self.out.push('\n');
                self.blocks(blocks);
                self.close("section");
            }
            Block::Heading { level, id, runs } => {
                let element =
                    ["h1", "h2", "h3", "h4"].get(usize::from(level.saturating_sub(1))).unwrap_or(&"h4");
                self.line(element, id.as_deref(), None, runs);
            }
            Block::Paragraph { runs, .. } if runs.is_empty() => {}
            Block::Paragraph { class, runs } => self.line("p", None, class.map(|c| c.name()), runs),
            Block::List { ordered, class, items } => self.list(*ordered, class.map(|c| c.name()), items),
            Block::Facts { class, entries } => self.facts(class.map(|c| c.name()), entries),
            Block::Table(table) => self.table(table),
            Block::Figure { id, picture, alternative, caption } => {
                self.figure(id.as_deref(), picture, alternative, caption);
            }
            Block::Aside { class, blocks } => {
                // Only a verdict's panel is more than a note beside the text; all are announced as notes.
                let role = if *class == AsideClass::Caution { "note\" data-sign=\"!" } else { "note" };
                let _ = writeln!(self.out, "<div role=\"{role}\" class=\"aside {}\">", class.name());
                self.blocks(blocks);
                self.close("div");
            }
        }
    }

    fn list(&mut self, ordered: bool, class: Option<&str>, items: &[ListItem]) {
        let element = if ordered { "ol" } else { "ul" };
        self.open(element, None, class);
        self.out.push('\n');
        for item in items {
            self.out.push_str("<li>");
            self.runs(&item.runs);
            self.blocks(&item.lists);
            self.close("li");
        }
        self.close(element);
    }

    fn facts(&mut self, class: Option<&str>, entries: &[Fact]) {
        self.open("dl", None, class);
        self.out.push('\n');
        for fact in entries {
            self.out.push_str("<div>");
            self.line("dt", None, None, &fact.name);
            self.line("dd", None, None, &fact.value);
            self.close("div");
        }
        self.close("dl");
    }

    fn table(&mut self, table: &Table) {
        self.tables += 1;
        let caption = plain(&table.caption);
        let number = self.tables;
        // A wide table scrolls in a region of its own, which the keyboard can reach.
        let label = match caption.is_empty() {
            true => head_words(table),
            false => caption,
        };
        let long = if table.body.len() >= LONG { " data-rows" } else { "" };
        let _ = write!(
            self.out,
            "<div class=\"scroll\"{long} role=\"region\" tabindex=\"0\" aria-label=\"{}\">",
            escape(&format!("{number}: {label}"))
        );
        // On a narrow screen a row becomes a card, each value behind its column's name; roles keep saying that it
        // is a table when it does not look like one.
        let names = card_names(table, self.colon);
        let cards = names.is_some();
        match names {
            None => self.open("table", table.id.as_deref(), table.class.map(|c| c.name())),
            Some(names) => {
                let class = table.class.map(|c| format!(" {}", c.name())).unwrap_or_default();
                let id = table.id.as_ref().map(|id| format!(" id=\"{}\"", escape(id))).unwrap_or_default();
                let _ = write!(
                    self.out,
                    "<table{id} class=\"cards{class}\" role=\"table\" style=\"{}\">",
                    escape(&names)
                );
            }
        }
        self.out.push('\n');
        if !table.caption.is_empty() {
            self.line("caption", None, None, &table.caption);
        }
        for (element, rows) in [("thead", &table.head), ("tbody", &table.body)] {
            if !rows.is_empty() {
                let role = if cards { " role=\"rowgroup\"" } else { "" };
                let _ = writeln!(self.out, "<{element}{role}>");
                rows.iter().for_each(|row| self.row(row, cards));
                self.close(element);
            }
        }
        self.out.push_str("</table>");
        self.close("div");
    }

    fn row(&mut self, row: &Row, cards: bool) {
        let class = row.class.map(|c| format!(" class=\"{}\"", c.name())).unwrap_or_default();
        let role = if cards { " role=\"row\"" } else { "" };
        let _ = write!(self.out, "<tr{class}{role}>");
        row.cells.iter().for_each(|cell| self.cell(cell, cards));
        self.close("tr");
    }

    fn cell(&mut self, cell: &Cell, cards: bool) {
        // An empty heading cell would be announced as a heading of nothing.
        let (element, scope) = match cell.scope {
            Some(scope) if !cell.runs.is_empty() => ("th", Some(scope)),
            _ => ("td", None),
        };
        let _ = write!(self.out, "<{element}");
        match scope {
            Some(Scope::Row) => self.out.push_str(" scope=\"row\""),
            Some(Scope::Column) if cell.columns > 1 => self.out.push_str(" scope=\"colgroup\""),
            Some(Scope::Column) => self.out.push_str(" scope=\"col\""),
            None => {}
        }
        if cards {
            self.out.push_str(match scope {
                Some(Scope::Row) => " role=\"rowheader\"",
                Some(Scope::Column) => " role=\"columnheader\"",
                None => " role=\"cell\"",
            });
        }
        if cell.columns > 1 {
            let _ = write!(self.out, " colspan=\"{}\"", cell.columns);
        }
        if let Some(class) = cell.class {
            let _ = write!(self.out, " class=\"{}\"", class.name());
        }
        if let Some(width) = cell.width {
            let _ = write!(self.out, " style=\"width:{width}%\"");
        }
        if !cell.free.is_empty() {
            let _ = write!(self.out, " data-free=\"{}\"", cell.free);
        }
        self.out.push('>');
        self.runs(&cell.runs);
        let _ = write!(self.out, "</{element}>");
    }

    fn figure(&mut self, id: Option<&str>, name: &str, alternative: &str, caption: &[Run]) {
        self.figures += 1;
        self.open("figure", id, None);
        match self.pictures.get(name) {
            Some(Picture::Drawing(drawing)) => {
                // Its words would be too small on a narrow screen: there it keeps its size and scrolls.
                let label = plain(caption);
                let label = if label.is_empty() { alternative } else { &label };
                let svg = svg(drawing, &format!("figure-{}", self.figures), alternative);
                let _ = write!(
                    self.out,
                    "<div class=\"scroll\" role=\"region\" tabindex=\"0\" aria-label=\"{}\">{svg}</div>",
                    escape(&format!("{}: {label}", self.figures))
                );
            }
            Some(Picture::Photo(photo)) => {
                let _ = write!(
                    self.out,
                    "<img src=\"{}\" alt=\"{}\" width=\"{}\" height=\"{}\">",
                    data_uri(photo),
                    escape(alternative),
                    photo.width,
                    photo.height
                );
            }
            None => {}
        }
        if !caption.is_empty() {
            self.line("figcaption", None, None, caption);
        }
        self.close("figure");
    }

    pub(crate) fn runs(&mut self, runs: &[Run]) {
        let mut verdict: Option<SpanClass> = None;
        for run in runs {
            let text = match &run.kind {
                RunKind::Text(text) => text,
                RunKind::Break => {
                    self.out.push_str("<br>");
                    verdict = None;
                    continue;
                }
                RunKind::PageNumber | RunKind::PageCount => continue,
            };
            let class = run.style.class;
            let again = class.is_some() && class == verdict;
            verdict = class;
            self.run(text, &run.style, again);
        }
    }

    fn run(&mut self, text: &str, style: &RunStyle, again: bool) {
        let mut close: Vec<&str> = Vec::new();
        if let Some(link) = &style.link {
            let _ = write!(self.out, "<a href=\"#{}\">", escape(link));
            close.push("</a>");
        }
        if let Some(class) = style.class {
            let language = if class == SpanClass::English { " lang=\"en\"" } else { "" };
            let _ = write!(self.out, "<span class=\"{}\"{language}>", class.name());
            close.push("</span>");
            if let (Some(outcome), false) = (outcome(class), again) {
                self.out.push_str(&mark_svg(outcome));
            }
        }
        for (on, start, end) in [
            (style.strong, "<strong>", "</strong>"),
            (style.emphasis, "<em>", "</em>"),
            (style.code, "<code>", "</code>"),
        ] {
            if on {
                self.out.push_str(start);
                close.push(end);
            }
        }
        if style.whole {
            self.out.push_str("<span class=\"together\">");
            close.push("</span>");
        }
        self.out.push_str(&escape(text));
        close.iter().rev().for_each(|end| self.out.push_str(end));
    }
}

/// Most columns of a table whose rows can become cards; the style sheet has as many names.
const CARD_COLUMNS: usize = 11;

/// The names of a table's columns as properties of its style, for rows shown as cards; none for a table that has no
/// single head row, or whose columns mean nothing without the whole (a grid).
fn card_names(table: &Table, colon: &str) -> Option<String> {
    let [head] = table.head.as_slice() else { return None };
    let plain_head = head.cells.iter().all(|cell| cell.columns <= 1);
    let whole = |row: &Row| match row.cells.as_slice() {
        [only] => usize::from(only.columns) == head.cells.len(),
        cells => cells.len() == head.cells.len() && cells.iter().all(|cell| cell.columns <= 1),
    };
    if !plain_head || !(2..=CARD_COLUMNS).contains(&head.cells.len()) || !table.body.iter().all(whole) {
        return None;
    }
    let mut names = String::new();
    for (index, cell) in head.cells.iter().enumerate() {
        let words = plain(&cell.runs);
        if !words.is_empty() {
            // Without the colon a name that ends in a number would run into its value.
            let _ = write!(names, "--c{}:{};", index + 1, css_string(&format!("{words}{colon}")));
        }
    }
    Some(names)
}

/// A text as a string of a style sheet.
pub(crate) fn css_string(text: &str) -> String {
    let mut out = String::from("'");
    for c in text.chars() {
        match c {
            '\'' | '\\' | '"' | '<' | '>' | '&' => {
                let _ = write!(out, "\\{:x} ", u32::from(c));
            }
            c if c.is_control() => out.push(' '),
            c => out.push(c),
        }
    }
    out.push('\'');
    out
}

/// The words of a table's first head row, which name a table that has no caption.
fn head_words(table: &Table) -> String {
    let cells = table.head.first().map_or(&[][..], |row| &row.cells);
    cells.iter().map(|c| plain(&c.runs)).filter(|w| !w.is_empty()).collect::<Vec<_>>().join(", ")
}

fn outcome(class: SpanClass) -> Option<Outcome> {
    match class {
        SpanClass::VerdictPass => Some(Outcome::Pass),
        SpanClass::VerdictFail => Some(Outcome::Fail),
        SpanClass::VerdictUndetermined => Some(Outcome::Undetermined),
        _ => None,
    }
}

/// The mark before a verdict: a shape for the eye, nothing for the ear, since the word says it.
fn mark_svg(outcome: Outcome) -> String {
    let mut d = Drawing::new(10.0, 10.0);
    mark(&mut d, outcome, at(5.0, 5.0), 4.6);
    svg(&d, "", "")
        .replace("role=\"img\" aria-labelledby=\"\"", "class=\"mark\" aria-hidden=\"true\"")
        .replace("<title id=\"\"></title>", "")
}
