//! The list of allowed signers, in the form that `ssh-keygen` reads (ALLOWED SIGNERS in its manual).

use crate::report::Problem;
use ssh_key::PublicKey;

/// One line of the list.
#[derive(Clone, Debug)]
pub(crate) struct Signer {
    pub(crate) line: usize,
    /// Patterns of the identities that the key stands for.
    pub(crate) principals: String,
    /// Patterns of the namespaces that it may sign in; none for any.
    pub(crate) namespaces: Option<String>,
    /// First moment, as seconds since 1970-01-01 UTC.
    pub(crate) after: Option<i64>,
    /// Last moment.
    pub(crate) before: Option<i64>,
    pub(crate) key: PublicKey,
}

/// Who may sign, given from outside the pack.
#[derive(Clone, Debug, Default)]
pub struct Signers {
    pub(crate) list: Vec<Signer>,
}

impl Signers {
    /// Reads a list. Times without `Z` are taken as UTC, too.
    ///
    /// # Errors
    /// Every line that can't be used.
    pub fn parse(text: &str) -> Result<Self, Vec<Problem>> {
        let mut list = Vec::new();
        let mut problems = Vec::new();
        for (at, text) in text.lines().enumerate() {
            let line = at + 1;
            let text = text.trim();
            if text.is_empty() || text.starts_with('#') {
                continue;
            }
            match signer(line, text) {
                Ok(signer) => list.push(signer),
                Err(what) => problems.push(Problem::new(&format!("line {line}"), what)),
            }
        }
        if problems.is_empty() { Ok(Self { list }) } else { Err(problems) }
    }
}

fn signer(line: usize, text: &str) -> Result<Signer, String> {
    let (principals, rest) = word(text)?;
    let mut signer_options = (None, None, None);
    let (first, _) = word(rest)?;
    let key = if is_key_type(&first) {
        rest
    } else {
        let (options, key) = word(rest)?;
        signer_options = read_options(&options)?;
        key
    };
    let key = PublicKey::from_openssh(key.trim()).map_err(|_| "holds no public key that can be read")?;
    let (namespaces, after, before) = signer_options;
    Ok(Signer { line, principals: principals.trim_matches('"').to_owned(), namespaces, after, before, key })
}

fn is_key_type(word: &str) -> bool {
    ["ssh-", "ecdsa-", "sk-"].iter().any(|start| word.starts_with(start))
}

/// The first word and what follows; blanks within double quotes belong to a word.
fn word(text: &str) -> Result<(String, &str), String> {
    let text = text.trim_start();
    let mut quoted = false;
    for (at, c) in text.char_indices() {
        match c {
            '"' => quoted = !quoted,
            ' ' | '\t' if !quoted => {
                return Ok((
                    text.get(..at).unwrap_or_default().to_owned(),
                    text.get(at..).unwrap_or_default(),
                ));
            }
            _ => {}
        }
    }
    if quoted { Err("a double quote is not closed".to_owned()) } else { Ok((text.to_owned(), "")) }
}

type Options = (Option<String>, Option<i64>, Option<i64>);

fn read_options(text: &str) -> Result<Options, String> {
    let (mut namespaces, mut after, mut before) = (None, None, None);
    let mut quoted = false;
    let parts = text.split(|c: char| {
        quoted ^= c == '"';
        c == ',' && !quoted
    });
    for part in parts.collect::<Vec<_>>() {
        let (name, value) = part.split_once('=').unwrap_or((part, ""));
        let value = value.trim_matches('"');
        match name.to_ascii_lowercase().as_str() {
            "namespaces" if !value.is_empty() => namespaces = Some(value.to_owned()),
            "valid-after" => after = Some(moment(value)?),
            "valid-before" => before = Some(moment(value)?),
            "cert-authority" => {
                return Err("certificates are not supported; list the signers' own keys".to_owned());
            }
            other => return Err(format!("the option `{}` is not known", crate::names::shown(other))),
        }
    }
    Ok((namespaces, after, before))
}

/// `YYYYMMDD[HHMM[SS]][Z]` as seconds since 1970-01-01.
fn moment(text: &str) -> Result<i64, String> {
    let bad = || format!("`{}` is no time of the form YYYYMMDD[HHMM[SS]][Z]", crate::names::shown(text));
    let digits = text.strip_suffix(['Z', 'z']).unwrap_or(text);
    if !matches!(digits.len(), 8 | 12 | 14) || !digits.bytes().all(|b| b.is_ascii_digit()) {
        return Err(bad());
    }
    let part = |from: usize, to: usize| digits.get(from..to).and_then(|d| d.parse::<i16>().ok()).unwrap_or(0);
    let small = |from: usize| i8::try_from(part(from, from + 2)).unwrap_or(i8::MAX);
    let time = jiff::civil::DateTime::new(part(0, 4), small(4), small(6), small(8), small(10), small(12), 0);
    let time = time.ok().and_then(|time| jiff::tz::Offset::UTC.to_timestamp(time).ok());
    time.map(|time| time.as_second()).ok_or_else(bad)
}

/// Whether a text fits a list of patterns separated by commas: `*` and `?` stand for any signs and any one sign; a
/// pattern with `!` before it excludes.
pub(crate) fn fits(patterns: &str, text: &str) -> bool {
    let mut found = false;
    for pattern in patterns.split(',') {
        match pattern.strip_prefix('!') {
            Some(pattern) if fits_one(pattern.as_bytes(), text.as_bytes()) => return false,
            Some(_) => {}
            None => found |= fits_one(pattern.as_bytes(), text.as_bytes()),
        }
    }
    found
}

fn fits_one(pattern: &[u8], text: &[u8]) -> bool {
    let (mut p, mut t) = (0, 0);
    let mut star: Option<(usize, usize)> = None;
    while t < text.len() {
        match pattern.get(p) {
            Some(b'*') => {
                star = Some((p, t));
                p += 1;
            }
            Some(c) if *c == b'?' || Some(c) == text.get(t) => {
                p += 1;
                t += 1;
            }
            _ => match star {
                Some((at, taken)) => {
                    star = Some((at, taken + 1));
                    p = at + 1;
                    t = taken + 1;
                }
                None => return false,
            },
        }
    }
    pattern.get(p..).unwrap_or_default().iter().all(|c| *c == b'*')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn patterns_fit_as_in_the_manual() {
        // PATTERNS in ssh_config(5).
        for (patterns, text, expected) in [
            ("*", "anything", true),
            ("t.sedge@example.invalid", "t.sedge@example.invalid", true),
            ("t.sedge@*", "t.sedge@example.invalid", true),
            ("?.sedge@*", "tt.sedge@example.invalid", false),
            ("fulgurite-pack-*", "fulgurite-pack-checked", true),
            ("fulgurite-pack-*,!fulgurite-pack-authorised", "fulgurite-pack-authorised", false),
            ("a,b", "b", true),
            ("", "b", false),
            ("*b*c", "aabbcc", true),
            ("*b*d", "aabbcc", false),
        ] {
            assert_eq!(fits(patterns, text), expected, "{patterns} {text}");
        }
    }

    #[test]
    fn times_are_seconds_since_1970() {
        // date -u -d '2020-01-01 12:30:15' +%s
        assert_eq!(moment("20200101123015Z"), Ok(1_577_881_815));
        assert_eq!(moment("20200101"), Ok(1_577_836_800));
        for bad in ["2020", "20201301", "20200101T", "", "2020010112301"] {
            assert!(moment(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn a_line_that_cannot_be_used_is_named() {
        let text = "# comment\n\nsomebody\nx cert-authority ssh-ed25519 AAAA\ny \"open ssh-ed25519 AAAA\n";
        let problems = Signers::parse(text).unwrap_err();
        let places: Vec<&str> = problems.iter().map(|problem| problem.place.as_str()).collect();
        assert_eq!(places, ["line 3", "line 4", "line 5"], "{problems:?}");
    }
}
