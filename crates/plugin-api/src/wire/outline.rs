//! Where each value of a JSON text stands, and whether a key stands twice.
//!
//! The grammar is the JSON library's business: the outline is made of text that it has accepted. It is what
//! lets a finding name row and column, a number keep its digits and an unknown value its form.

use serde_json::Value;
use std::collections::BTreeMap;
use std::ops::Range;

/// A value and where it stands, in bytes.
#[derive(Debug)]
pub struct Node {
    /// From its first byte to the one behind its last.
    pub span: Range<usize>,
    /// What it is.
    pub kind: Kind,
}

/// What kind of value it is, with what it holds.
#[derive(Debug)]
pub enum Kind {
    /// A number.
    Number,
    /// Text, true, false, null.
    Other,
    /// A list with its values.
    List(Vec<Node>),
    /// An object with its members, in the order of the text.
    Object(Vec<Member>),
}

/// A key with its value.
#[derive(Debug)]
pub struct Member {
    /// The key, its escapes undone.
    pub key: String,
    /// Where the key begins.
    pub key_at: usize,
    /// The value.
    pub value: Node,
}

/// Why there is no outline.
#[derive(Debug, PartialEq, Eq)]
pub enum Fault {
    /// A key stands twice.
    DuplicateKey {
        /// The key.
        key: String,
        /// Where it stands first.
        first: usize,
        /// Where it stands again.
        again: usize,
    },
    /// The text is not JSON after all.
    Broken(usize),
}

/// The first place where lists and objects are nested deeper than `most`.
pub fn too_deep(text: &str, most: usize) -> Option<usize> {
    let (mut depth, mut in_text, mut escaped) = (0usize, false, false);
    for (at, byte) in text.bytes().enumerate() {
        match byte {
            _ if escaped => escaped = false,
            b'\\' if in_text => escaped = true,
            b'"' => in_text = !in_text,
            _ if in_text => {}
            b'[' | b'{' => {
                depth += 1;
                if depth > most {
                    return Some(at);
                }
            }
            b']' | b'}' => depth = depth.saturating_sub(1),
            _ => {}
        }
    }
    None
}

impl Node {
    /// The outline of a text that is JSON and not nested deeply.
    ///
    /// # Errors
    /// The first key that stands twice in one object.
    pub fn of(text: &str) -> Result<Self, Fault> {
        let mut scan = Scan { text, at: 0 };
        scan.blank();
        scan.value()
    }

    /// The node at a JSON pointer, and the offset of its key where it has one; for a pointer that leads
    /// nowhere, the last node on the way.
    pub fn find(&self, pointer: &str) -> Found<'_> {
        let mut found = Found { node: self, key_at: None, whole_way: true };
        for step in pointer.split('/').skip(1) {
            let step = step.replace("~1", "/").replace("~0", "~");
            let next = match &found.node.kind {
                Kind::List(nodes) => {
                    step.parse::<usize>().ok().and_then(|index| nodes.get(index)).map(|node| (node, None))
                }
                Kind::Object(members) => {
                    members.iter().find(|m| m.key == step).map(|m| (&m.value, Some(m.key_at)))
                }
                Kind::Number | Kind::Other => None,
            };
            match next {
                Some((node, key_at)) => found = Found { node, key_at, whole_way: true },
                None => return Found { whole_way: false, ..found },
            }
        }
        found
    }
}

/// Puts the text of each number that is not a plain integer in its place: a double would lose digits.
pub fn keep_digits(value: &mut Value, node: &Node, text: &str) {
    match (value, &node.kind) {
        (value @ Value::Number(_), Kind::Number) => {
            let digits = text.get(node.span.clone()).unwrap_or_default();
            if digits.parse::<i64>().is_err() && digits.parse::<u64>().is_err() {
                *value = Value::String(digits.to_owned());
            }
        }
        (Value::Array(values), Kind::List(nodes)) => {
            for (value, node) in values.iter_mut().zip(nodes) {
                keep_digits(value, node, text);
            }
        }
        (Value::Object(values), Kind::Object(members)) => {
            for member in members {
                if let Some(value) = values.get_mut(&member.key) {
                    keep_digits(value, &member.value, text);
                }
            }
        }
        _ => {}
    }
}

/// What a pointer leads to.
#[derive(Debug)]
pub struct Found<'a> {
    /// The node.
    pub node: &'a Node,
    /// Where its key begins; none for an entry of a list.
    pub key_at: Option<usize>,
    /// Whether the pointer was followed to its end.
    pub whole_way: bool,
}

struct Scan<'a> {
    text: &'a str,
    at: usize,
}

impl Scan<'_> {
    fn byte(&self) -> Option<u8> {
        self.text.as_bytes().get(self.at).copied()
    }

    fn blank(&mut self) {
        while matches!(self.byte(), Some(b' ' | b'\t' | b'\n' | b'\r')) {
            self.at += 1;
        }
    }

    fn broken<T>(&self) -> Result<T, Fault> {
        Err(Fault::Broken(self.at))
    }

    fn expect(&mut self, byte: u8) -> Result<(), Fault> {
        if self.byte() != Some(byte) {
            return self.broken();
        }
        self.at += 1;
        self.blank();
        Ok(())
    }

    fn value(&mut self) -> Result<Node, Fault> {
        let start = self.at;
        let kind = match self.byte() {
            Some(b'{') => Kind::Object(self.object()?),
            Some(b'[') => Kind::List(self.list()?),
            Some(b'"') => {
                self.quoted()?;
                Kind::Other
            }
            Some(b'-' | b'0'..=b'9') => {
                self.word();
                Kind::Number
            }
            Some(b't' | b'f' | b'n') => {
                self.word();
                Kind::Other
            }
            _ => return self.broken(),
        };
        let span = start..self.at;
        self.blank();
        Ok(Node { span, kind })
    }

    fn word(&mut self) {
        while matches!(self.byte(), Some(b'a'..=b'z' | b'0'..=b'9' | b'E' | b'+' | b'-' | b'.')) {
            self.at += 1;
        }
    }

    fn quoted(&mut self) -> Result<Range<usize>, Fault> {
        let start = self.at;
        self.at += 1;
        loop {
            match self.byte() {
                None => return self.broken(),
                Some(b'\\') => self.at += 2,
                Some(b'"') => break,
                Some(_) => self.at += 1,
            }
        }
        self.at += 1;
        Ok(start..self.at)
    }

    fn list(&mut self) -> Result<Vec<Node>, Fault> {
        self.expect(b'[')?;
        let mut nodes = Vec::new();
        while self.byte() != Some(b']') {
            if !nodes.is_empty() {
                self.expect(b',')?;
            }
            nodes.push(self.value()?);
        }
        self.at += 1;
        Ok(nodes)
    }

    fn object(&mut self) -> Result<Vec<Member>, Fault> {
        self.expect(b'{')?;
        let mut members = Vec::new();
        let mut first: BTreeMap<String, usize> = BTreeMap::new();
        while self.byte() != Some(b'}') {
            if !members.is_empty() {
                self.expect(b',')?;
            }
            if self.byte() != Some(b'"') {
                return self.broken();
            }
            let span = self.quoted()?;
            let key_at = span.start;
            let Some(key) = self.text.get(span).and_then(|t| serde_json::from_str::<String>(t).ok()) else {
                return self.broken();
            };
            if let Some(first) = first.insert(key.clone(), key_at) {
                return Err(Fault::DuplicateKey { key, first, again: key_at });
            }
            self.blank();
            self.expect(b':')?;
            let value = self.value()?;
            members.push(Member { key, key_at, value });
        }
        self.at += 1;
        Ok(members)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pointers_lead_to_values_and_keys() {
        let text = r#" {"a/b": [1, {"c~d": "x\"]"}], "e": -1.50e1 } "#;
        let outline = Node::of(text).unwrap();
        let found = outline.find("/a~1b/1/c~0d");
        assert_eq!(&text[found.node.span.clone()], r#""x\"]""#);
        assert!(text[found.key_at.unwrap()..].starts_with(r#""c~d""#));
        assert_eq!(&text[outline.find("/e").node.span.clone()], "-1.50e1");
        let lost = outline.find("/a~1b/7/x");
        assert!(!lost.whole_way);
        assert_eq!(&text[lost.node.span.clone()][..2], "[1");
        assert!(outline.find("").whole_way);
    }

    #[test]
    fn a_key_in_two_spellings_is_the_same_key() {
        let text = r#"{"x": [{"kv": 4, "k\u0076": 8}]}"#;
        let fault = Node::of(text).unwrap_err();
        assert_eq!(fault, Fault::DuplicateKey { key: "kv".into(), first: 8, again: 17 });
    }

    #[test]
    fn depth_does_not_count_brackets_in_text() {
        assert_eq!(too_deep(r#"["[[[[\"[["]"#, 1), None);
        assert_eq!(too_deep("[[]]", 1), Some(1));
    }
}
