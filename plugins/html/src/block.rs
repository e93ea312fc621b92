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
        self.open("table", table.id.as_deref(), table.class.map(|c| c.name()));
        self.out.push('\n');
        if !table.caption.is_empty() {
            self.line("caption", None, None, &table.caption);
        }
        for (element, rows) in [("thead", &table.head), ("tbody", &table.body)] {
            if !rows.is_empty() {
                self.open(element, None, None);
                self.out.push('\n');
                rows.iter().for_each(|row| self.row(row));
                self.close(element);
            }
        }
        self.out.push_str("</table>");
        self.close("div");
    }

    fn row(&mut self, row: &Row) {
        self.open("tr", None, row.class.map(|c| c.name()));
        row.cells.iter().for_each(|cell| self.cell(cell));
        self.close("tr");
    }

    fn cell(&mut self, cell: &Cell) {
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
        if cell.columns > 1 {
            let _ = write!(self.out, " colspan=\"{}\"", cell.columns);
        }
        if let Some(class) = cell.class {
            let _ = write!(self.out, " class=\"{}\"", class.name());
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
                let svg = svg(drawing, &format!("figure-{}", self.figures), alternative);
                self.out.push_str(&svg);
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
        self.out.push_str(&escape(text));
        close.iter().rev().for_each(|end| self.out.push_str(end));
    }
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
