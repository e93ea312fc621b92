//! JSON with the place of every value: keys that stand twice and deep nesting are refused, numbers keep their text.

use std::collections::BTreeSet;

/// Lists and objects may be nested so deep.
const MOST_DEPTH: usize = 64;

/// A value and where it begins, in bytes.
#[derive(Debug, PartialEq)]
pub(super) struct Node {
    pub(super) at: usize,
    pub(super) end: usize,
    pub(super) kind: Kind,
}

#[derive(Debug, PartialEq)]
pub(super) enum Kind {
    Null,
    /// A text, decoded; a number or truth value as it is written.
    Scalar(String),
    List(Vec<Node>),
    Object(Vec<(String, Node)>),
}

/// Why a text is not JSON that can be read.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum Fault {
    Broken { at: usize, what: &'static str },
    DuplicateKey { at: usize, key: String },
    TooDeep { at: usize },
}

impl Fault {
    pub(super) fn at(&self) -> usize {
        match self {
            Self::Broken { at, .. } | Self::DuplicateKey { at, .. } | Self::TooDeep { at } => *at,
        }
    }
}

/// Reads one value that starts at or after `at`, with nothing but blanks after it.
pub(super) fn whole(text: &str) -> Result<Node, Fault> {
    let mut parser = Parser { text, at: 0 };
    parser.blanks();
    let node = parser.value(0)?;
    parser.blanks();
    if parser.at < text.len() { Err(parser.broken("something stands after the value")) } else { Ok(node) }
}

/// The value at a JSON pointer.
pub(super) fn find<'n>(node: &'n Node, pointer: &str) -> Option<&'n Node> {
    let mut node = node;
    for step in pointer.split('/').skip(1) {
        let step = step.replace("~1", "/").replace("~0", "~");
        node = match &node.kind {
            Kind::Object(members) => &members.iter().find(|(key, _)| *key == step)?.1,
            Kind::List(items) => items.get(step.parse::<usize>().ok()?)?,
            Kind::Null | Kind::Scalar(_) => return None,
        };
    }
    Some(node)
}

struct Parser<'t> {
    text: &'t str,
    at: usize,
}

impl Parser<'_> {
    fn byte(&self) -> Option<u8> {
        self.text.as_bytes().get(self.at).copied()
    }

    fn broken(&self, what: &'static str) -> Fault {
        Fault::Broken { at: self.at, what }
    }

    fn blanks(&mut self) {
        while matches!(self.byte(), Some(b' ' | b'\t' | b'\n' | b'\r')) {
            self.at += 1;
        }
    }

    fn value(&mut self, depth: usize) -> Result<Node, Fault> {
        if depth > MOST_DEPTH {
            return Err(Fault::TooDeep { at: self.at });
        }
        let at = self.at;
        let kind = match self.byte() {
            Some(b'{') => self.object(depth)?,
            Some(b'[') => self.list(depth)?,
            Some(b'"') => Kind::Scalar(self.string()?),
            Some(b'-' | b'0'..=b'9') => Kind::Scalar(self.number()?),
            _ => self.word()?,
        };
        Ok(Node { at, end: self.at, kind })
    }

    fn word(&mut self) -> Result<Kind, Fault> {
        let rest = self.text.get(self.at..).unwrap_or_default();
        for word in ["true", "false", "null"] {
            if rest.starts_with(word) {
                self.at += word.len();
                return Ok(if word == "null" { Kind::Null } else { Kind::Scalar(word.to_owned()) });
            }
        }
        Err(self.broken(if rest.is_empty() { "the text ends too early" } else { "no value stands here" }))
    }

    fn object(&mut self, depth: usize) -> Result<Kind, Fault> {
        let mut members = Vec::new();
        let mut keys = BTreeSet::new();
        self.at += 1;
        self.blanks();
        if self.byte() == Some(b'}') {
            self.at += 1;
            return Ok(Kind::Object(members));
        }
        loop {
            let at = self.at;
            if self.byte() != Some(b'"') {
                return Err(self.broken("a key in quotes is expected"));
            }
            let key = self.string()?;
            if !keys.insert(key.clone()) {
                return Err(Fault::DuplicateKey { at, key });
            }
            self.blanks();
            if self.byte() != Some(b':') {
                return Err(self.broken("a colon is expected"));
            }
            self.at += 1;
            self.blanks();
            let value = self.value(depth + 1)?;
            members.push((key, value));
            self.blanks();
            match self.byte() {
                Some(b',') => self.at += 1,
                Some(b'}') => {
                    self.at += 1;
                    return Ok(Kind::Object(members));
                }
                _ => return Err(self.broken("a comma or a closing brace is expected")),
            }
            self.blanks();
        }
    }

    fn list(&mut self, depth: usize) -> Result<Kind, Fault> {
        let mut items = Vec::new();
        self.at += 1;
        self.blanks();
        if self.byte() == Some(b']') {
            self.at += 1;
            return Ok(Kind::List(items));
        }
        loop {
            items.push(self.value(depth + 1)?);
            self.blanks();
            match self.byte() {
                Some(b',') => self.at += 1,
                Some(b']') => {
                    self.at += 1;
                    return Ok(Kind::List(items));
                }
                _ => return Err(self.broken("a comma or a closing bracket is expected")),
            }
            self.blanks();
        }
    }

    /// RFC 8259, section 6.
    fn number(&mut self) -> Result<String, Fault> {
        let start = self.at;
        if self.byte() == Some(b'-') {
            self.at += 1;
        }
        match self.byte() {
            Some(b'0') => self.at += 1,
            Some(b'1'..=b'9') => self.digits()?,
            _ => return Err(self.broken("a digit is expected")),
        }
        if self.byte() == Some(b'.') {
            self.at += 1;
            self.digits()?;
        }
        if matches!(self.byte(), Some(b'e' | b'E')) {
            self.at += 1;
            if matches!(self.byte(), Some(b'+' | b'-')) {
                self.at += 1;
            }
            self.digits()?;
        }
        Ok(self.text.get(start..self.at).unwrap_or_default().to_owned())
    }

    fn digits(&mut self) -> Result<(), Fault> {
        let start = self.at;
        while matches!(self.byte(), Some(b'0'..=b'9')) {
            self.at += 1;
        }
        if self.at == start { Err(self.broken("a digit is expected")) } else { Ok(()) }
    }

    /// RFC 8259, section 7.
    fn string(&mut self) -> Result<String, Fault> {
        self.at += 1;
        let mut out = String::new();
        loop {
            let rest = self.text.get(self.at..).unwrap_or_default();
            let Some(stop) = rest.find(|c: char| matches!(c, '"' | '\\') || u32::from(c) < 0x20) else {
                self.at = self.text.len();
                return Err(self.broken("the text ends within quotes"));
            };
            out.push_str(rest.get(..stop).unwrap_or_default());
            self.at += stop;
            match self.byte() {
                Some(b'"') => {
                    self.at += 1;
                    return Ok(out);
                }
                Some(b'\\') => out.push(self.escape()?),
                _ => return Err(self.broken("a control character within quotes")),
            }
        }
    }

    fn escape(&mut self) -> Result<char, Fault> {
        self.at += 1;
        let c = match self.byte() {
            Some(b'"') => '"',
            Some(b'\\') => '\\',
            Some(b'/') => '/',
            Some(b'b') => '\u{8}',
            Some(b'f') => '\u{c}',
            Some(b'n') => '\n',
            Some(b'r') => '\r',
            Some(b't') => '\t',
            Some(b'u') => {
                self.at += 1;
                return self.unicode();
            }
            _ => return Err(self.broken("not an escape")),
        };
        self.at += 1;
        Ok(c)
    }

    fn unicode(&mut self) -> Result<char, Fault> {
        let high = self.hex()?;
        if !(0xd800..0xe000).contains(&high) {
            return char::from_u32(high).ok_or_else(|| self.broken("not a character"));
        }
        let rest = self.text.get(self.at..).unwrap_or_default();
        if high < 0xdc00 && rest.starts_with("\\u") {
            self.at += 2;
            let low = self.hex()?;
            if (0xdc00..0xe000).contains(&low) {
                let code = 0x10000 + ((high - 0xd800) << 10) + (low - 0xdc00);
                return char::from_u32(code).ok_or_else(|| self.broken("not a character"));
            }
        }
        Err(self.broken("half of a surrogate pair"))
    }

    fn hex(&mut self) -> Result<u32, Fault> {
        let digits = self.text.get(self.at..self.at + 4).filter(|d| d.bytes().all(|b| b.is_ascii_hexdigit()));
        let code = digits.and_then(|d| u32::from_str_radix(d, 16).ok());
        let code = code.ok_or_else(|| self.broken("four hexadecimal digits are expected"))?;
        self.at += 4;
        Ok(code)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_keep_their_text_and_texts_are_decoded() {
        let node =
            whole(r#" {"kV": 8.00, "n": 1e1, "t": "\u00b5\ud83d\ude00\n", "x": [true, null]} "#).unwrap();
        assert_eq!(find(&node, "/kV").unwrap().kind, Kind::Scalar("8.00".into()));
        assert_eq!(find(&node, "/t").unwrap().kind, Kind::Scalar("µ😀\n".into()));
        assert_eq!(find(&node, "/x/0").unwrap().kind, Kind::Scalar("true".into()));
        assert_eq!(find(&node, "/x/1").unwrap().kind, Kind::Null);
        assert!(find(&node, "/x/2").is_none());
    }

    #[test]
    fn what_is_no_json_or_says_a_thing_twice_is_refused() {
        for bad in
            ["", "{", "[1,]", "{\"a\":1,}", "01", "1.", "+1", "NaN", "'a'", "\"\\ud800\"", "\"\\x\"", "1 2"]
        {
            assert!(matches!(whole(bad), Err(Fault::Broken { .. })), "{bad}");
        }
        assert!(matches!(whole(r#"{"a":1,"\u0061":2}"#), Err(Fault::DuplicateKey { at: 7, .. })));
        assert!(matches!(whole(&"[".repeat(100_000)), Err(Fault::TooDeep { at: 65 })));
    }
}
