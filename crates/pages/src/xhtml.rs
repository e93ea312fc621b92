//! Reading the strict subset of XHTML that templates make.

use crate::elements::Element;
use crate::lower::lower;
use crate::model::{Document, Pictures};
use crate::{Refusal, codes, nearest};
use quick_xml::events::{BytesStart, Event};
use quick_xml::{Reader, XmlVersion};
use record::{Finding, Place};
use std::borrow::Cow;

/// Markup as a template made it, with the names of the template's files that its marks point into.
#[derive(Clone, Debug, Default)]
pub struct Markup {
    /// The markup.
    pub text: String,
    /// Files by the number used in marks.
    pub files: Vec<String>,
    /// The sign before decimals in the language of the words; empty where none is known.
    pub decimal: String,
}

/// A place in a template.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct At {
    pub(crate) file: usize,
    pub(crate) line: u32,
    pub(crate) column: u32,
}

/// An element with its content.
#[derive(Debug)]
pub(crate) struct Node<'m> {
    pub(crate) element: Element,
    pub(crate) attributes: Vec<(&'static str, Cow<'m, str>)>,
    pub(crate) children: Vec<Child<'m>>,
    pub(crate) at: At,
}

impl<'m> Node<'m> {
    pub(crate) fn attribute(&self, name: &str) -> Option<&str> {
        self.attributes.iter().find(|(n, _)| *n == name).map(|(_, v)| &**v)
    }
    pub(crate) fn elements(&self) -> impl Iterator<Item = &Node<'m>> {
        self.children.iter().filter_map(|c| match c {
            Child::Node(node) => Some(node),
            Child::Text(_) => None,
        })
    }
}

/// What stands in an element.
#[derive(Debug)]
pub(crate) enum Child<'m> {
    Text(Cow<'m, str>),
    Node(Node<'m>),
}

/// Deeper nesting than this is a slip in the template, and would only make trouble for writers.
const DEEPEST: usize = 32;

/// Reads markup into a document.
///
/// # Errors
/// When it is not well formed, leaves the subset, or names a picture or place that does not exist.
pub fn read(markup: &Markup, pictures: &Pictures) -> Result<Document, Refusal> {
    let root = Parser { markup, at: At::default(), stack: Vec::new(), root: None }.run()?;
    lower(markup, &root, pictures)
}

/// A finding at a place.
pub(crate) fn refuse(markup: &Markup, at: At, message: impl Into<String>) -> Finding {
    let file = markup.files.get(at.file).cloned().unwrap_or_else(|| "markup".to_owned());
    let place = Place {
        file,
        row: (at.line > 0).then_some(u64::from(at.line)),
        column: (at.column > 0).then_some(at.column),
        label: None,
    };
    Finding::error(codes::MARKUP, message).at(place)
}

/// The same with a proposal, or with the list of what there is.
pub(crate) fn propose<'a>(
    finding: Finding,
    what: &str,
    word: &str,
    names: impl Iterator<Item = &'a str> + Clone,
) -> Refusal {
    Box::new(match nearest(word, names.clone()) {
        Some(near) => finding.help(format!("the nearest {what} is `{near}`")),
        None => {
            let list = names.collect::<Vec<_>>().join(", ");
            finding.help(if list.is_empty() {
                format!("there is no {what} here")
            } else {
                format!("use {list}")
            })
        }
    })
}

struct Parser<'a> {
    markup: &'a Markup,
    at: At,
    stack: Vec<Node<'a>>,
    root: Option<Node<'a>>,
}

impl<'a> Parser<'a> {
    fn run(mut self) -> Result<Node<'a>, Refusal> {
        let markup = self.markup;
        let mut reader = Reader::from_str(&markup.text);
        let config = reader.config_mut();
        config.expand_empty_elements = false;
        config.check_end_names = false;
        config.allow_unmatched_ends = true;
        loop {
            let event = match reader.read_event() {
                Ok(event) => event,
                Err(e) => {
                    return Err(
                        self.no(format!("the markup can't be read: {e}"), "mend the tag at this place")
                    );
                }
            };
            match event {
                Event::PI(mark) => self.mark(mark.content()),
                Event::Start(tag) => {
                    let node = self.open(&tag)?;
                    if self.stack.len() >= DEEPEST {
                        return Err(self.no(
                            format!("elements are nested more than {DEEPEST} deep"),
                            "close what was opened before",
                        ));
                    }
                    self.stack.push(node);
                }
                Event::Empty(tag) => {
                    let node = self.open(&tag)?;
                    self.put(node)?;
                }
                Event::End(tag) => {
                    let name = tag.name().0;
                    match self.stack.pop() {
                        Some(node) if node.element.name() == name => self.put(node)?,
                        Some(node) => {
                            let open = node.element.name();
                            let message = format!("`</{name}>` stands where `</{open}>` was expected");
                            let finding = refuse(markup, self.at, message);
                            let first = refuse(markup, node.at, "").place.unwrap_or_default();
                            return Err(Box::new(
                                finding
                                    .with_related(first, format!("`<{open}>` was opened here"))
                                    .help(format!("close `<{open}>` first")),
                            ));
                        }
                        None => {
                            let message = format!("`</{name}>` closes nothing");
                            return Err(self.no(message, "remove it, or open the element before"));
                        }
                    }
                }
                Event::Text(text) => self.text(text.into_inner())?,
                Event::CData(text) => self.text(text.into_inner())?,
                Event::GeneralRef(name) => {
                    let c = if name.is_char_ref() {
                        name.resolve_char_ref().ok().flatten()
                    } else {
                        match name.clone().into_inner().as_ref() {
                            "amp" => Some('&'),
                            "lt" => Some('<'),
                            "gt" => Some('>'),
                            "quot" => Some('"'),
                            "apos" => Some('\''),
                            "nbsp" => Some('\u{a0}'),
                            _ => None,
                        }
                    };
                    match c {
                        Some(c) => self.text(c.to_string().into())?,
                        None => {
                            let message = format!("`&{};` is unknown", name.into_inner());
                            return Err(
                                self.no(message, "write the character itself, or `&#160;` and its like")
                            );
                        }
                    }
                }
                Event::Comment(_) | Event::Decl(_) => {}
                Event::DocType(_) => {
                    return Err(self.no("a document type can't stand here".into(), "remove it"));
                }
                Event::Eof => break,
            }
        }
        if let Some(node) = self.stack.pop() {
            let finding = refuse(markup, node.at, format!("`<{}>` is never closed", node.element.name()));
            return Err(Box::new(finding.help(format!("add `</{}>`", node.element.name()))));
        }
        self.root.take().ok_or_else(|| self.no("the template makes nothing".into(), "start with `<html>`"))
    }

    fn no(&self, message: String, help: &str) -> Refusal {
        Box::new(refuse(self.markup, self.at, message).help(help))
    }

    /// Takes the place from a mark; other processing instructions mean nothing.
    fn mark(&mut self, content: &str) {
        let mut numbers = content.split_ascii_whitespace().filter_map(|n| n.parse::<u32>().ok());
        if let (Some(file), Some(line), Some(column)) = (numbers.next(), numbers.next(), numbers.next()) {
            self.at = At { file: file as usize, line, column };
        }
    }

    fn open(&self, tag: &BytesStart<'_>) -> Result<Node<'a>, Refusal> {
        let name = tag.name().0;
        let Some(element) = Element::parse(name) else {
            let finding = refuse(self.markup, self.at, format!("`<{name}>` is not in the subset"));
            return Err(propose(finding, "element", name, Element::ALL.iter().map(|e| e.name())));
        };
        let mut attributes = Vec::new();
        for attribute in tag.attributes() {
            let attribute = attribute.map_err(|e| {
                self.no(format!("an attribute of `<{name}>` can't be read: {e}"), "write `name=\"value\"`")
            })?;
            let key = attribute.key.0;
            let Some(known) = element.attributes().iter().find(|a| **a == key) else {
                let finding = refuse(self.markup, self.at, format!("`<{name}>` has no attribute `{key}`"));
                return Err(propose(finding, "attribute", key, element.attributes().iter().copied()));
            };
            let value = attribute.normalized_value(XmlVersion::Explicit1_0).map_err(|e| {
                self.no(format!("`{key}` of `<{name}>` can't be read: {e}"), "mend its value")
            })?;
            attributes.push((*known, Cow::Owned(value.into_owned())));
        }
        Ok(Node { element, attributes, children: Vec::new(), at: self.at })
    }

    fn put(&mut self, node: Node<'a>) -> Result<(), Refusal> {
        match self.stack.last_mut() {
            Some(parent) => parent.children.push(Child::Node(node)),
            None if self.root.is_none() => self.root = Some(node),
            None => {
                return Err(self.no("a second root stands after the first".into(), "put it inside `<html>`"));
            }
        }
        Ok(())
    }

    fn text(&mut self, text: Cow<'a, str>) -> Result<(), Refusal> {
        let blank = text.bytes().all(|b| b.is_ascii_whitespace());
        let Some(parent) = self.stack.last_mut() else {
            return if blank {
                Ok(())
            } else {
                Err(self.no("text stands outside `<html>`".into(), "put it in a `<p>`"))
            };
        };
        if parent.element.holds_text() {
            match parent.children.last_mut() {
                Some(Child::Text(last)) => last.to_mut().push_str(&text),
                _ => parent.children.push(Child::Text(text)),
            }
        } else if !blank {
            let name = parent.element.name();
            let at = parent.at;
            let start: String = text.trim().chars().take(30).collect();
            let finding = refuse(self.markup, at, format!("text stands directly in `<{name}>`: `{start}`"));
            return Err(Box::new(finding.help("put it in a `<p>`")));
        }
        Ok(())
    }
}
