//! From elements to blocks: checks what may stand where, and resolves classes and names.

use crate::classes::{
    AsideClass, CellClass, FactsClass, ListClass, ParagraphClass, RowClass, SectionClass, SpanClass,
    TableClass,
};
use crate::control::visible;
use crate::decimals;
use crate::elements::Element;
use crate::joins::{joined, name, stretch};
use crate::model::*;
use crate::xhtml::{At, Child, Markup, Node, propose, refuse};
use crate::{Refusal, codes};
use record::Finding;
use std::collections::BTreeSet;
use std::sync::Arc;

pub(crate) fn lower(markup: &Markup, root: &Node<'_>, pictures: &Pictures) -> Result<Document, Refusal> {
    let mut l = Lower { markup, pictures, ids: BTreeSet::new(), links: Vec::new(), english: false };
    let document = l.document(root)?;
    for (target, at) in &l.links {
        if !l.ids.contains(target.as_ref()) {
            let mut finding = refuse(markup, *at, format!("nothing here has the id `{target}`"));
            finding.code = codes::NAME.to_owned();
            return Err(propose(finding, "id", target, l.ids.iter().map(String::as_str)));
        }
    }
    Ok(document)
}

struct Lower<'a> {
    markup: &'a Markup,
    pictures: &'a Pictures,
    ids: BTreeSet<String>,
    links: Vec<(Arc<str>, At)>,
    /// Whether words marked as English came before.
    english: bool,
}

impl Lower<'_> {
    fn misplaced(&self, node: &Node<'_>, parent: Element, allowed: &[Element]) -> Refusal {
        let message = format!("`<{}>` can't stand in `<{}>`", node.element.name(), parent.name());
        let list = allowed.iter().map(|e| format!("`<{}>`", e.name())).collect::<Vec<_>>().join(", ");
        Box::new(refuse(self.markup, node.at, message).help(format!("here may stand {list}")))
    }

    fn class<T: Copy + 'static>(
        &self,
        node: &Node<'_>,
        all: &'static [T],
        name: fn(T) -> &'static str,
    ) -> Result<Option<T>, Refusal> {
        let Some(text) = node.attribute("class") else { return Ok(None) };
        if let Some(class) = all.iter().copied().find(|c| name(*c) == text) {
            return Ok(Some(class));
        }
        let message = format!("`<{}>` has no class `{text}`", node.element.name());
        Err(propose(refuse(self.markup, node.at, message), "class", text, all.iter().map(|c| name(*c))))
    }

    fn id(&mut self, node: &Node<'_>) -> Result<Option<String>, Refusal> {
        let Some(id) = node.attribute("id") else { return Ok(None) };
        let good = id.chars().all(|c| c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.'));
        if !good || id.is_empty() {
            let finding = refuse(self.markup, node.at, format!("`{id}` can't be an id"));
            return Err(Box::new(finding.help("use letters, digits, `-`, `_` and `.`")));
        }
        if !self.ids.insert(id.to_owned()) {
            let finding = refuse(self.markup, node.at, format!("the id `{id}` is given twice"));
            return Err(Box::new(finding.help("give each place its own id")));
        }
        Ok(Some(id.to_owned()))
    }

    fn document(&mut self, root: &Node<'_>) -> Result<Document, Refusal> {
        if root.element != Element::Html {
            let message = format!("the markup starts with `<{}>`", root.element.name());
            return Err(Box::new(
                refuse(self.markup, root.at, message).help("start with `<html lang=\"en\">`"),
            ));
        }
        let mut doc =
            Document { language: root.attribute("lang").unwrap_or("en").to_owned(), ..Document::default() };
        for node in root.elements() {
            match node.element {
                Element::Head => self.head(node, &mut doc)?,
                Element::Body => self.body(node, &mut doc)?,
                _ => return Err(self.misplaced(node, Element::Html, &[Element::Head, Element::Body])),
            }
        }
        if doc.title.is_empty() {
            let finding = refuse(self.markup, root.at, "the document has no title");
            return Err(Box::new(finding.help("put `<title>` into `<head>`")));
        }
        Ok(doc)
    }

    fn head(&mut self, head: &Node<'_>, doc: &mut Document) -> Result<(), Refusal> {
        for node in head.elements() {
            match node.element {
                Element::Title => doc.title = plain(&self.runs(node)?),
                Element::Meta => {
                    let name = node.attribute("name").unwrap_or("");
                    let content = visible(node.attribute("content").unwrap_or("")).into_owned();
                    match name {
                        "author" => doc.author = content,
                        "subject" => doc.subject = content,
                        _ => {
                            let finding =
                                refuse(self.markup, node.at, format!("there is no meta name `{name}`"));
                            return Err(propose(finding, "name", name, ["author", "subject"].into_iter()));
                        }
                    }
                }
                _ => return Err(self.misplaced(node, Element::Head, &[Element::Title, Element::Meta])),
            }
        }
        Ok(())
    }

    fn body(&mut self, body: &Node<'_>, doc: &mut Document) -> Result<(), Refusal> {
        for node in body.elements() {
            match node.element {
                Element::Header => doc.head = self.running(node)?,
                Element::Footer => doc.foot = self.running(node)?,
                _ => {
                    let block = self.block(node, Element::Body)?;
                    doc.blocks.extend(Some(block).filter(says));
                }
            }
        }
        Ok(())
    }

    /// A running line: one paragraph at the left, a second at the right.
    fn running(&mut self, node: &Node<'_>) -> Result<Running, Refusal> {
        let mut sides = Vec::new();
        for p in node.elements() {
            if p.element != Element::P || sides.len() == 2 {
                return Err(self.misplaced(p, node.element, &[Element::P]));
            }
            sides.push(self.inline(p, true)?);
        }
        let mut sides = sides.into_iter();
        Ok(Running { left: sides.next().unwrap_or_default(), right: sides.next().unwrap_or_default() })
    }

    fn blocks(&mut self, node: &Node<'_>) -> Result<Vec<Block>, Refusal> {
        let blocks = node.elements().map(|child| self.block(child, node.element));
        blocks.filter(|block| block.as_ref().map_or(true, says)).collect()
    }

    fn block(&mut self, node: &Node<'_>, parent: Element) -> Result<Block, Refusal> {
        if let Some(level) = node.element.level() {
            return Ok(Block::Heading { level, id: self.id(node)?, runs: self.runs(node)? });
        }
        Ok(match node.element {
            Element::Section => {
                let id = self.id(node)?;
                let class = self.class(node, SectionClass::ALL, SectionClass::name)?;
                Block::Section { id, class, blocks: self.blocks(node)? }
            }
            Element::Aside => {
                let Some(class) = self.class(node, AsideClass::ALL, AsideClass::name)? else {
                    let finding = refuse(self.markup, node.at, "`<aside>` has no class");
                    return Err(propose(finding, "class", "", AsideClass::ALL.iter().map(|c| c.name())));
                };
                Block::Aside { class, blocks: self.blocks(node)? }
            }
            Element::P => {
                let class = self.class(node, ParagraphClass::ALL, ParagraphClass::name)?;
                Block::Paragraph { class, runs: self.runs(node)? }
            }
            Element::Ul | Element::Ol => self.list(node)?,
            Element::Dl => self.facts(node)?,
            Element::Table => Block::Table(self.table(node)?),
            Element::Figure => self.figure(node)?,
            _ => {
                let allowed = [
                    Element::Section,
                    Element::H1,
                    Element::H2,
                    Element::H3,
                    Element::H4,
                    Element::P,
                    Element::Ul,
                    Element::Ol,
                    Element::Dl,
                    Element::Table,
                    Element::Figure,
                    Element::Aside,
                ];
                return Err(self.misplaced(node, parent, &allowed));
            }
        })
    }

    fn list(&mut self, node: &Node<'_>) -> Result<Block, Refusal> {
        let class = self.class(node, ListClass::ALL, ListClass::name)?;
        let mut items = Vec::new();
        for li in node.elements() {
            if li.element != Element::Li {
                return Err(self.misplaced(li, node.element, &[Element::Li]));
            }
            let mut lists = Vec::new();
            for inner in li.elements().filter(|n| matches!(n.element, Element::Ul | Element::Ol)) {
                lists.push(self.list(inner)?);
            }
            items.push(ListItem { runs: self.runs(li)?, lists });
        }
        Ok(Block::List { ordered: node.element == Element::Ol, class, items })
    }

    fn facts(&mut self, node: &Node<'_>) -> Result<Block, Refusal> {
        let class = self.class(node, FactsClass::ALL, FactsClass::name)?;
        let mut entries: Vec<Fact> = Vec::new();
        let mut open = false;
        for child in node.elements() {
            match (child.element, open) {
                (Element::Dt, false) => {
                    entries.push(Fact { name: self.runs(child)?, value: Vec::new() });
                    open = true;
                }
                (Element::Dd, true) => {
                    let value = self.runs(child)?;
                    if let Some(fact) = entries.last_mut() {
                        fact.value = value;
                    }
                    open = false;
                }
                (_, true) => return Err(self.misplaced(child, Element::Dl, &[Element::Dd])),
                (_, false) => return Err(self.misplaced(child, Element::Dl, &[Element::Dt])),
            }
        }
        Ok(Block::Facts { class, entries })
    }

    fn table(&mut self, node: &Node<'_>) -> Result<Table, Refusal> {
        let mut table = Table {
            id: self.id(node)?,
            class: self.class(node, TableClass::ALL, TableClass::name)?,
            ..Table::default()
        };
        for part in node.elements() {
            match part.element {
                Element::Caption => table.caption = self.runs(part)?,
                Element::Thead => table.head.extend(self.rows(part)?),
                Element::Tbody => table.body.extend(self.rows(part)?),
                _ => {
                    let allowed = [Element::Caption, Element::Thead, Element::Tbody];
                    return Err(self.misplaced(part, Element::Table, &allowed));
                }
            }
        }
        let columns = |row: &Row| row.cells.iter().map(|c| u32::from(c.columns)).sum::<u32>();
        let first = table.head.first().or(table.body.first()).map(columns);
        for (row, tr) in table.head.iter().chain(&table.body).zip(rows_of(node)) {
            if Some(columns(row)) != first {
                let (has, wants) = (columns(row), first.unwrap_or(0));
                let finding =
                    refuse(self.markup, tr.at, format!("the row has {has} columns, the first one {wants}"));
                return Err(Box::new(finding.help("add or remove cells, or set `colspan`")));
            }
        }
        decimals::align(&mut table, &self.markup.decimal);
        Ok(table)
    }

    fn rows(&mut self, part: &Node<'_>) -> Result<Vec<Row>, Refusal> {
        let mut rows = Vec::new();
        for tr in part.elements() {
            if tr.element != Element::Tr {
                return Err(self.misplaced(tr, part.element, &[Element::Tr]));
            }
            let class = self.class(tr, RowClass::ALL, RowClass::name)?;
            let mut cells = Vec::new();
            for cell in tr.elements() {
                cells.push(self.cell(cell, tr.element)?);
            }
            if cells.is_empty() {
                return Err(Box::new(refuse(self.markup, tr.at, "the row has no cells").help("add `<td>`")));
            }
            rows.push(Row { class, cells });
        }
        Ok(rows)
    }

    fn cell(&mut self, node: &Node<'_>, parent: Element) -> Result<Cell, Refusal> {
        let scope = match (node.element, node.attribute("scope")) {
            (Element::Td, _) => None,
            (Element::Th, Some("row")) => Some(Scope::Row),
            (Element::Th, Some("col") | None) => Some(Scope::Column),
            (Element::Th, Some(other)) => {
                let finding = refuse(self.markup, node.at, format!("`scope` can't be `{other}`"));
                return Err(propose(finding, "scope", other, ["row", "col"].into_iter()));
            }
            _ => return Err(self.misplaced(node, parent, &[Element::Th, Element::Td])),
        };
        let number = |name: &str, most: u16| match node.attribute(name) {
            None => Ok(None),
            Some(text) => match text.parse::<u16>() {
                Ok(n) if n >= 1 && n <= most => Ok(Some(n)),
                _ => {
                    let finding = refuse(self.markup, node.at, format!("`{name}` can't be `{text}`"));
                    Err(Box::new(finding.help(format!("write a whole number from 1 to {most}"))))
                }
            },
        };
        Ok(Cell {
            scope,
            columns: number("colspan", 40)?.unwrap_or(1),
            width: number("width", 100)?.map(|n| n as u8),
            class: self.class(node, CellClass::ALL, CellClass::name)?,
            runs: self.runs(node)?,
            free: String::new(),
        })
    }

    fn figure(&mut self, node: &Node<'_>) -> Result<Block, Refusal> {
        let id = self.id(node)?;
        let (mut picture, mut caption) = (None, Vec::new());
        for child in node.elements() {
            match child.element {
                Element::Img if picture.is_none() => picture = Some(child),
                Element::Figcaption => caption = self.runs(child)?,
                _ => {
                    return Err(self.misplaced(child, Element::Figure, &[Element::Img, Element::Figcaption]));
                }
            }
        }
        let Some(img) = picture else {
            return Err(Box::new(
                refuse(self.markup, node.at, "the figure has no picture")
                    .help("add `<img name=\"...\" alt=\"...\"/>`"),
            ));
        };
        let name = img.attribute("name").unwrap_or("");
        if !self.pictures.contains_key(name) {
            let mut finding: Finding = refuse(self.markup, img.at, format!("there is no picture `{name}`"));
            finding.code = codes::NAME.to_owned();
            return Err(propose(finding, "picture", name, self.pictures.keys().map(String::as_str)));
        }
        let alternative = visible(img.attribute("alt").unwrap_or("")).trim().to_owned();
        if alternative.is_empty() {
            let finding = refuse(
                self.markup,
                img.at,
                format!("the picture `{name}` has no words for those who can't see it"),
            );
            return Err(Box::new(finding.help("add `alt=\"...\"`")));
        }
        Ok(Block::Figure { id, picture: name.to_owned(), alternative, caption })
    }

    fn runs(&mut self, node: &Node<'_>) -> Result<Vec<Run>, Refusal> {
        self.inline(node, false)
    }

    fn inline(&mut self, node: &Node<'_>, running: bool) -> Result<Vec<Run>, Refusal> {
        let mut out = Runs::default();
        self.collect(node, &RunStyle::default(), running, &mut out)?;
        Ok(out.finish())
    }

    fn collect(
        &mut self,
        node: &Node<'_>,
        style: &RunStyle,
        running: bool,
        out: &mut Runs,
    ) -> Result<(), Refusal> {
        for child in &node.children {
            let inner = match child {
                Child::Text(text) => {
                    out.text(&visible(text), style);
                    continue;
                }
                Child::Node(inner) => inner,
            };
            let mut style = style.clone();
            match inner.element {
                Element::Strong => style.strong = true,
                Element::Em => style.emphasis = true,
                Element::Code => style.code = true,
                Element::Br => {
                    out.push(RunKind::Break, &style);
                    continue;
                }
                Element::Span if inner.attribute("class") == Some(WHERE_ENGLISH) => {
                    if !self.english {
                        continue;
                    }
                }
                Element::Span => {
                    let page = match inner.attribute("class") {
                        Some("page-number") => Some(RunKind::PageNumber),
                        Some("page-count") => Some(RunKind::PageCount),
                        _ => None,
                    };
                    match page {
                        Some(kind) if running => {
                            out.push(kind, &style);
                            continue;
                        }
                        Some(_) => {
                            let finding =
                                refuse(self.markup, inner.at, "page numbers can't stand in the text");
                            return Err(Box::new(finding.help("put them into `<header>` or `<footer>`")));
                        }
                        None => {}
                    }
                    if let Some(class) = self.class(inner, SpanClass::ALL, SpanClass::name)? {
                        style.class = Some(class);
                        self.english |= class == SpanClass::English;
                    }
                }
                Element::A => {
                    let href = inner.attribute("href").unwrap_or("");
                    let Some(target) = href.strip_prefix('#') else {
                        let finding =
                            refuse(self.markup, inner.at, format!("a link to `{href}` leaves the document"));
                        return Err(Box::new(finding.help("link to a place in it: `href=\"#id\"`")));
                    };
                    let target: Arc<str> = target.into();
                    self.links.push((Arc::clone(&target), inner.at));
                    style.link = Some(target);
                }
                Element::Ul | Element::Ol if node.element == Element::Li => continue,
                _ => {
                    let allowed =
                        [Element::Strong, Element::Em, Element::Code, Element::Span, Element::A, Element::Br];
                    return Err(self.misplaced(inner, node.element, &allowed));
                }
            }
            self.collect(inner, &style, running, out)?;
        }
        Ok(())
    }
}

/// Class of a span about the mark behind English words: it is left out where none were printed before it.
const WHERE_ENGLISH: &str = "where-english";

/// Whether a block says anything: a paragraph that has nothing to say in a paper leaves no gap in it.
fn says(block: &Block) -> bool {
    !matches!(block, Block::Paragraph { runs, .. } if runs.is_empty())
}

fn rows_of<'n, 'm>(table: &'n Node<'m>) -> impl Iterator<Item = &'n Node<'m>> {
    let part =
        |wanted: Element| table.elements().filter(move |n| n.element == wanted).flat_map(Node::elements);
    part(Element::Thead).chain(part(Element::Tbody))
}

/// Runs as they are gathered: white space becomes single spaces, none at the ends of a line.
#[derive(Default)]
struct Runs {
    out: Vec<Run>,
    space: Option<RunStyle>,
}

impl Runs {
    fn text(&mut self, text: &str, style: &RunStyle) {
        let white = |c: char| matches!(c, ' ' | '\t' | '\n' | '\r');
        let mut rest = text;
        while !rest.is_empty() {
            let word = rest.trim_start_matches(white);
            if word.len() < rest.len() {
                let at_start = !matches!(self.out.last(), Some(run) if run.kind != RunKind::Break);
                if !at_start && self.space.is_none() {
                    self.space = Some(style.clone());
                }
            }
            let end = word.find(white).unwrap_or(word.len());
            let (word, after) = word.split_at(end);
            if !word.is_empty() {
                if let Some(of) = self.space.take()
                    && !self.wide_before()
                    && !word.starts_with(['（', '「'])
                {
                    let firm = !of.code && !style.code && joined(self.before(), word);
                    self.add(if firm { "\u{a0}" } else { " " }, &of);
                }
                self.word(word, style);
            }
            rest = after;
        }
    }

    /// Adds a word, with what of it is never broken.
    fn word(&mut self, word: &str, style: &RunStyle) {
        let whole = || RunStyle { whole: true, ..style.clone() };
        if style.code {
            return self.add(word, style);
        }
        if name(word) {
            return self.add(word, &whole());
        }
        let mut rest = word;
        while let Some(at) = stretch(rest) {
            let (before, of) = rest.split_at(at.start);
            let (of, after) = of.split_at(at.len());
            if !before.is_empty() {
                self.add(before, style);
            }
            self.add(of, &whole());
            rest = after;
        }
        if !rest.is_empty() {
            self.add(rest, style);
        }
    }

    /// Adds text to the last run, where that has the same style.
    fn add(&mut self, text: &str, style: &RunStyle) {
        match self.out.last_mut() {
            Some(Run { kind: RunKind::Text(last), style: s }) if s == style => last.push_str(text),
            _ => self.out.push(Run { kind: RunKind::Text(text.to_owned()), style: style.clone() }),
        }
    }

    /// What stands before, as far as it has one style.
    fn before(&self) -> &str {
        match self.out.last().map(|run| &run.kind) {
            Some(RunKind::Text(text)) => text,
            _ => "",
        }
    }

    /// Whether what stands before is a full-width sign that brings its own space: a template that parts two
    /// words by a space does it in every language.
    fn wide_before(&self) -> bool {
        let last = self.before().chars().next_back();
        matches!(last, Some('、' | '。' | '：' | '；' | '）' | '」'))
    }

    fn push(&mut self, kind: RunKind, style: &RunStyle) {
        if let Some(of) = self.space.take()
            && kind != RunKind::Break
            && !self.wide_before()
        {
            self.out.push(Run { kind: RunKind::Text(" ".to_owned()), style: of });
        }
        self.out.push(Run { kind, style: style.clone() });
    }

    fn finish(self) -> Vec<Run> {
        self.out
    }
}
