//! The text files of a bag: their encoding, lines, the declaration and the metadata (RFC 8493 section 2).

use encoding_rs::Encoding;

/// Version of BagIt that a bag declares.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Version {
    pub(crate) major: u32,
    pub(crate) minor: u32,
}

impl Version {
    pub(crate) const ONE: Self = Self { major: 1, minor: 0 };
    const OLDEST: Self = Self { major: 0, minor: 93 };
    const LAST_DRAFT: Self = Self { major: 0, minor: 97 };

    fn read(text: &str) -> Option<Self> {
        let (major, minor) = text.split_once('.')?;
        let number = |digits: &str| {
            digits.bytes().all(|byte| byte.is_ascii_digit()).then(|| digits.parse().ok()).flatten()
        };
        Some(Self { major: number(major)?, minor: number(minor)? })
    }

    fn is_known(self) -> bool {
        self == Self::ONE || (Self::OLDEST..=Self::LAST_DRAFT).contains(&self)
    }

    /// Rules of RFC 8493; the drafts before it were milder.
    pub(crate) fn is_strict(self) -> bool {
        self >= Self::ONE
    }
}

/// What `bagit.txt` says.
#[derive(Debug)]
pub(crate) struct Declaration {
    pub(crate) version: Version,
    pub(crate) encoding: &'static Encoding,
}

/// Reads `bagit.txt` (RFC 8493 section 2.1.1).
pub(crate) fn declaration(bytes: &[u8]) -> Result<Declaration, String> {
    if bytes.starts_with(&[0xEF, 0xBB, 0xBF]) {
        return Err("begins with a byte order mark".to_owned());
    }
    let text = std::str::from_utf8(bytes).map_err(|_| "is not UTF-8".to_owned())?;
    let lines: Vec<&str> = lines(text).collect();
    let [first, second] = lines.as_slice() else {
        return Err(format!("must have exactly two lines, it has {}", lines.len()));
    };
    let version_text = value(first, "BagIt-Version")
        .ok_or_else(|| "its first line must be `BagIt-Version: M.N`".to_owned())?;
    let encoding_text = value(second, "Tag-File-Character-Encoding")
        .ok_or_else(|| "its second line must be `Tag-File-Character-Encoding: ENCODING`".to_owned())?;
    let version = Version::read(version_text)
        .filter(|version| version.is_known())
        .ok_or_else(|| format!("BagIt version `{version_text}` is not known (0.93 to 0.97 and 1.0 are)"))?;
    if version.is_strict() && (exact(first) != Some(version_text) || exact(second) != Some(encoding_text)) {
        return Err("in BagIt 1.0 one space must follow the colon, and nothing the value".to_owned());
    }
    let encoding = Encoding::for_label_no_replacement(encoding_text.as_bytes())
        .ok_or_else(|| format!("character encoding `{encoding_text}` is not known"))?;
    Ok(Declaration { version, encoding })
}

fn value<'a>(line: &'a str, label: &str) -> Option<&'a str> {
    let (found, value) = line.split_once(':')?;
    found.trim().eq_ignore_ascii_case(label).then(|| value.trim())
}

fn exact(line: &str) -> Option<&str> {
    line.split_once(": ").map(|(_, value)| value)
}

/// The lines of a tag file, ended by LF, CR or CRLF; the last one may lack its end.
pub(crate) fn lines(text: &str) -> impl Iterator<Item = &str> {
    let mut rest = text;
    std::iter::from_fn(move || {
        if rest.is_empty() {
            return None;
        }
        let Some(at) = rest.find(['\n', '\r']) else {
            return Some(std::mem::take(&mut rest));
        };
        let (line, tail) = rest.split_at(at);
        rest = tail.strip_prefix("\r\n").or_else(|| tail.get(1..)).unwrap_or_default();
        Some(line)
    })
}

/// The text of a tag file in the declared encoding; `Err` says what is wrong with it.
pub(crate) fn decode(bytes: &[u8], encoding: &'static Encoding, version: Version) -> Result<String, String> {
    let mut bytes = bytes;
    if encoding == encoding_rs::UTF_8
        && let Some(rest) = bytes.strip_prefix(&[0xEF, 0xBB, 0xBF])
    {
        if version.is_strict() {
            return Err("begins with a byte order mark, which UTF-8 tag files must not".to_owned());
        }
        bytes = rest;
    }
    let (text, _, damaged) = encoding.decode(bytes);
    if damaged {
        return Err(format!("is not in the declared encoding ({})", encoding.name()));
    }
    Ok(text.into_owned())
}

/// The elements of `bag-info.txt` in order, and the lines that are none.
pub(crate) struct Metadata {
    pub(crate) elements: Vec<(String, String)>,
    /// Line number from 1, and what is wrong with it.
    pub(crate) odd_lines: Vec<(usize, &'static str)>,
}

impl Metadata {
    /// Reads `bag-info.txt` (RFC 8493 section 2.2.2).
    pub(crate) fn read(text: &str, version: Version) -> Self {
        let mut elements: Vec<(String, String)> = Vec::new();
        let mut odd_lines = Vec::new();
        for (at, line) in lines(text).enumerate() {
            let number = at + 1;
            if line.trim().is_empty() {
                continue;
            }
            if line.starts_with([' ', '\t']) {
                match elements.last_mut() {
                    Some((_, value)) => {
                        value.push(' ');
                        value.push_str(line.trim());
                    }
                    None => odd_lines.push((number, "continues a line, but none stands before it")),
                }
                continue;
            }
            let Some((label, value)) = line.split_once(':') else {
                odd_lines.push((number, "has no colon"));
                continue;
            };
            if version.is_strict() && label.ends_with([' ', '\t']) {
                odd_lines.push((number, "has space between the label and the colon"));
            }
            if label.trim().is_empty() {
                odd_lines.push((number, "has no label"));
            }
            elements.push((label.trim().to_owned(), value.trim().to_owned()));
        }
        Self { elements, odd_lines }
    }

    /// All values of a label; labels are compared without regard to case.
    pub(crate) fn values<'a>(&'a self, label: &'a str) -> impl Iterator<Item = &'a str> {
        self.elements
            .iter()
            .filter(move |(found, _)| found.eq_ignore_ascii_case(label))
            .map(|(_, value)| value.as_str())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_end_at_lf_cr_and_crlf() {
        let found: Vec<&str> = lines("a\nb\rc\r\nd\n\ne").collect();
        assert_eq!(found, ["a", "b", "c", "d", "", "e"]);
        assert_eq!(lines("").count(), 0);
        assert_eq!(lines("a\n").count(), 1);
    }

    #[test]
    fn a_folded_value_is_one_value() {
        let metadata = Metadata::read("A: one\n  two\n\tthree\nB: x\na: y\n", Version::ONE);
        assert_eq!(metadata.values("a").collect::<Vec<_>>(), ["one two three", "y"]);
        assert!(metadata.odd_lines.is_empty());
    }
}
