//! XML as a small tree, within bounds: no document type, no entities, limited depth and number of elements.

use crate::codes;
use quick_xml::NsReader;
use quick_xml::escape::{resolve_predefined_entity, unescape};
use quick_xml::events::Event;
use quick_xml::name::ResolveResult;

/// The namespace of certificates.
pub(crate) const DCC: &str = "https://ptb.de/dcc";
/// The namespace of quantities.
const SI: &str = "https://ptb.de/si";

/// No certificate needs more, pictures and all.
pub(crate) const MOST_BYTES: u64 = 64 << 20;
const MOST_DEPTH: usize = 64;
const MOST_ELEMENTS: usize = 200_000;

/// What an element belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Space {
    Dcc,
    Si,
    Other,
}

/// An element.
#[derive(Debug)]
pub(crate) struct Node {
    pub(crate) space: Space,
    pub(crate) name: String,
    pub(crate) attributes: Vec<(String, String)>,
    pub(crate) text: String,
    pub(crate) row: u64,
    pub(crate) children: Vec<Node>,
}

/// Why a certificate is refused.
#[derive(Debug)]
pub(crate) struct Refusal {
    pub(crate) code: &'static str,
    pub(crate) message: String,
    pub(crate) row: Option<u64>,
    pub(crate) help: String,
}

impl Refusal {
    pub(crate) fn new(code: &'static str, message: impl Into<String>, row: Option<u64>, help: &str) -> Self {
        Self { code, message: message.into(), row, help: help.to_owned() }
    }
}

impl Node {
    /// Children of a certificate's element of that name.
    pub(crate) fn all<'a>(&'a self, name: &'a str) -> impl Iterator<Item = &'a Node> {
        self.children.iter().filter(move |child| child.space == Space::Dcc && child.name == name)
    }

    /// The first of them.
    pub(crate) fn first(&self, name: &str) -> Option<&Node> {
        self.children.iter().find(|child| child.space == Space::Dcc && child.name == name)
    }

    /// The first child among quantities' elements.
    pub(crate) fn si(&self, name: &str) -> Option<&Node> {
        self.children.iter().find(|child| child.space == Space::Si && child.name == name)
    }

    /// Along a path of first children.
    pub(crate) fn at(&self, path: &[&str]) -> Option<&Node> {
        path.iter().try_fold(self, |node, name| node.first(name))
    }

    pub(crate) fn attribute(&self, name: &str) -> Option<&str> {
        self.attributes.iter().find(|(key, _)| key == name).map(|(_, value)| value.as_str())
    }

    /// Its text without blanks around it; none where there is none.
    pub(crate) fn said(&self) -> Option<&str> {
        Some(self.text.trim()).filter(|text| !text.is_empty())
    }

    /// The words of a text in several languages: the English ones, else the first.
    pub(crate) fn words(&self) -> Option<&str> {
        let english = self.all("content").find(|content| content.attribute("lang") == Some("en"));
        english.or_else(|| self.first("content")).and_then(Node::said)
    }
}

/// Counts rows up to a place in the text, which only moves forwards.
struct Rows<'a> {
    text: &'a str,
    at: usize,
    row: u64,
}

impl Rows<'_> {
    fn to(&mut self, place: u64) -> u64 {
        let place = usize::try_from(place).unwrap_or(usize::MAX).min(self.text.len());
        if let Some(passed) = self.text.as_bytes().get(self.at..place) {
            self.row += passed.iter().filter(|byte| **byte == b'\n').count() as u64;
            self.at = place;
        }
        self.row
    }
}

/// Parses a whole file.
pub(crate) fn parse(bytes: &[u8]) -> Result<Node, Refusal> {
    let again = "fetch the certificate again";
    let text = std::str::from_utf8(bytes).map_err(|error| {
        let before = bytes.get(..error.valid_up_to()).unwrap_or_default();
        let row = before.iter().filter(|byte| **byte == b'\n').count() as u64 + 1;
        Refusal::new(codes::BROKEN, "the file is not UTF-8", Some(row), "ask the laboratory for it in UTF-8")
    })?;
    let text = text.trim_start_matches('\u{feff}');
    let mut reader = NsReader::from_str(text);
    reader.config_mut().expand_empty_elements = true;
    let mut rows = Rows { text, at: 0, row: 1 };
    let (mut open, mut root, mut elements): (Vec<Node>, Option<Node>, usize) = (Vec::new(), None, 0);
    loop {
        let row = rows.to(reader.buffer_position());
        let broken = |what: String| Refusal::new(codes::BROKEN, what, Some(row), again);
        let (space, event) = match reader.read_resolved_event() {
            Ok((ResolveResult::Bound(space), event)) => (space_of(space.as_ref()), event),
            Ok((_, event)) => (Space::Other, event),
            Err(error) => return Err(broken(format!("the XML is broken: {error}"))),
        };
        match event {
            Event::Start(start) => {
                elements += 1;
                if open.len() >= MOST_DEPTH || elements > MOST_ELEMENTS {
                    let what = format!("more than {MOST_DEPTH} levels or {MOST_ELEMENTS} elements");
                    return Err(Refusal::new(
                        codes::TOO_LARGE,
                        what,
                        Some(row),
                        "no certificate needs so many",
                    ));
                }
                if root.is_some() {
                    return Err(broken("a second element stands beside the first".into()));
                }
                let mut attributes = Vec::new();
                for attribute in start.attributes() {
                    let attribute =
                        attribute.map_err(|error| broken(format!("an attribute is broken: {error}")))?;
                    let value: &str = attribute.value.as_ref();
                    let value = unescape(value)
                        .map_err(|error| broken(format!("an attribute is broken: {error}")))?;
                    attributes.push((attribute.key.local_name().as_ref().to_owned(), value.into_owned()));
                }
                let name = start.local_name().as_ref().to_owned();
                open.push(Node { space, name, attributes, text: String::new(), row, children: Vec::new() });
            }
            Event::End(_) => {
                let Some(node) = open.pop() else {
                    return Err(broken("an element ends that did not begin".into()));
                };
                match open.last_mut() {
                    Some(parent) => parent.children.push(node),
                    None => root = Some(node),
                }
            }
            Event::Text(text) => add(&mut open, &text.xml10_content()),
            Event::CData(text) => add(&mut open, &text.xml10_content()),
            Event::GeneralRef(name) => {
                let name: &str = &name.into_inner();
                let letter = match name.strip_prefix('#') {
                    Some(_) => unescape(&format!("&{name};")).ok().map(std::borrow::Cow::into_owned),
                    None => resolve_predefined_entity(name).map(str::to_owned),
                };
                match letter {
                    Some(letter) => add(&mut open, &letter),
                    None => {
                        let what = format!("the entity `{name}` is none of XML's own");
                        return Err(Refusal::new(
                            codes::FORBIDDEN,
                            what,
                            Some(row),
                            "ask for a certificate without it",
                        ));
                    }
                }
            }
            Event::DocType(_) => {
                let what = "the file brings a document type of its own";
                return Err(Refusal::new(
                    codes::FORBIDDEN,
                    what,
                    Some(row),
                    "ask for a certificate without it",
                ));
            }
            Event::Eof => break,
            Event::Comment(_) | Event::Decl(_) | Event::PI(_) | Event::Empty(_) => {}
        }
    }
    match (root, open.is_empty()) {
        (Some(root), true) => Ok(root),
        _ => {
            let row = text.lines().count() as u64;
            Err(Refusal::new(codes::BROKEN, "the file ends before its elements do", Some(row), again))
        }
    }
}

fn add(open: &mut [Node], text: &str) {
    if let Some(node) = open.last_mut()
        // Pictures and documents stay in the file.
        && !matches!(node.name.as_str(), "dataBase64" | "fileBase64" | "stringBase64")
    {
        node.text.push_str(text);
    }
}

fn space_of(name: &str) -> Space {
    match name {
        DCC => Space::Dcc,
        SI => Space::Si,
        _ => Space::Other,
    }
}
