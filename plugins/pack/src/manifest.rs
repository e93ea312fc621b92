//! Manifests and the fetch list of a bag (RFC 8493 sections 2.1.3, 2.2.1 and 2.2.3).

use crate::algorithms::Algorithm;
use crate::tag_text::{Version, lines};

/// What a manifest or fetch list says about one line that is not as it should be.
#[derive(Debug)]
pub(crate) struct OddLine {
    /// Line number from 1.
    pub(crate) line: usize,
    pub(crate) what: String,
    /// The line breaks a rule of the bag's version; otherwise it is only worth a note.
    pub(crate) wrong: bool,
}

/// One line of a manifest.
#[derive(Debug)]
pub(crate) struct ManifestLine {
    pub(crate) line: usize,
    /// Lower-case hexadecimal digest.
    pub(crate) digest: String,
    /// Path inside the bag, percent-decoded.
    pub(crate) path: String,
    /// The path as written, where decoding changed it.
    pub(crate) raw_path: Option<String>,
}

/// Which files a manifest may list.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Scope {
    Payload,
    Tags,
}

/// A manifest's name taken apart; `None` for a file that is no manifest. The second part is the algorithm's name.
pub(crate) fn manifest_name(path: &str) -> Option<(Scope, &str)> {
    let stem = path.strip_suffix(".txt")?;
    let (scope, algorithm) = match (stem.strip_prefix("manifest-"), stem.strip_prefix("tagmanifest-")) {
        (Some(algorithm), _) => (Scope::Payload, algorithm),
        (_, Some(algorithm)) => (Scope::Tags, algorithm),
        _ => return None,
    };
    (!algorithm.is_empty() && !algorithm.contains('/')).then_some((scope, algorithm))
}

/// Reads a manifest. Lines that cannot be used are in the second list only.
pub(crate) fn read_manifest(
    text: &str,
    scope: Scope,
    algorithm: Algorithm,
    version: Version,
) -> (Vec<ManifestLine>, Vec<OddLine>) {
    let mut listed = Vec::new();
    let mut odd = Vec::new();
    for (at, text) in lines(text).enumerate() {
        let line = at + 1;
        let mut say = |what: String, wrong: bool| odd.push(OddLine { line, what, wrong });
        if text.trim().is_empty() {
            say("is empty".to_owned(), false);
            continue;
        }
        let Some((digest, path)) = text.split_once([' ', '\t']) else {
            say("has no path after the checksum".to_owned(), true);
            continue;
        };
        if digest.len() != 2 * algorithm.length() || !digest.bytes().all(|byte| byte.is_ascii_hexdigit()) {
            say(
                format!(
                    "has no {} checksum ({} hexadecimal digits)",
                    algorithm.name(),
                    2 * algorithm.length()
                ),
                true,
            );
            continue;
        }
        let path = path.trim_start_matches([' ', '\t']);
        let path = match path.strip_prefix('*') {
            Some(rest) => {
                say("has an asterisk before the path, as md5sum writes it".to_owned(), version.is_strict());
                rest
            }
            None => path,
        };
        match bag_path(path, scope, version) {
            Ok((decoded, note)) => {
                if let Some(note) = note {
                    say(note.to_owned(), false);
                }
                let raw_path = (decoded != path).then(|| path.to_owned());
                listed.push(ManifestLine {
                    line,
                    digest: digest.to_ascii_lowercase(),
                    path: decoded,
                    raw_path,
                });
            }
            Err(what) => say(what, true),
        }
    }
    (listed, odd)
}

/// One line of `fetch.txt`.
#[derive(Debug)]
pub(crate) struct FetchLine {
    pub(crate) line: usize,
    pub(crate) path: String,
}

/// Reads `fetch.txt`. The addresses in it are looked at and never followed.
pub(crate) fn read_fetch(text: &str, version: Version) -> (Vec<FetchLine>, Vec<OddLine>) {
    let mut listed = Vec::new();
    let mut odd = Vec::new();
    for (at, text) in lines(text).enumerate() {
        let line = at + 1;
        let mut say = |what: String, wrong: bool| odd.push(OddLine { line, what, wrong });
        if text.trim().is_empty() {
            say("is empty".to_owned(), false);
            continue;
        }
        let blank = [' ', '\t'];
        let parts = text.split_once(blank).and_then(|(address, rest)| {
            let (length, path) = rest.trim_start_matches(blank).split_once(blank)?;
            Some((address, length, path.trim_start_matches(blank)))
        });
        let Some((address, length, path)) = parts else {
            say("has not the three parts address, length, path".to_owned(), true);
            continue;
        };
        if !is_absolute_uri(address) {
            say("does not begin with an absolute address".to_owned(), true);
        }
        let is_number = !length.is_empty() && length.bytes().all(|byte| byte.is_ascii_digit());
        if length != "-" && !is_number {
            say("has no length (a number or `-`)".to_owned(), true);
        }
        match bag_path(path, Scope::Payload, version) {
            Ok((path, _)) => listed.push(FetchLine { line, path }),
            Err(what) => say(what, true),
        }
    }
    (listed, odd)
}

fn is_absolute_uri(text: &str) -> bool {
    text.split_once(':').is_some_and(|(scheme, rest)| {
        scheme.starts_with(|c: char| c.is_ascii_alphabetic())
            && scheme.bytes().all(|byte| byte.is_ascii_alphanumeric() || matches!(byte, b'+' | b'-' | b'.'))
            && !rest.is_empty()
    })
}

/// A path from a bag's own lists: decoded, and refused when it could lead out of the bag or to the wrong kind of file.
fn bag_path(raw: &str, scope: Scope, version: Version) -> Result<(String, Option<&'static str>), String> {
    let mut path = decoded(raw, version);
    let shown = crate::names::shown(raw);
    if path.is_empty() {
        return Err("has no path".to_owned());
    }
    let mut note = None;
    if let Some(rest) = path.strip_prefix("./")
        && !version.is_strict()
    {
        path = rest.to_owned();
        note = Some("begins its path with `./`, which is needless and not allowed since BagIt 1.0");
    }
    let drive = matches!(path.as_bytes(), [letter, b':', ..] if letter.is_ascii_alphabetic());
    let leaves = path.starts_with(['/', '~'])
        || drive
        || path.contains(['\\', '\0'])
        || path.split('/').any(|part| matches!(part, ".." | "." | ""));
    if leaves {
        return Err(format!("names `{shown}`, which is not a plain path inside the bag"));
    }
    let in_payload = path.starts_with("data/");
    match scope {
        Scope::Payload if !in_payload => Err(format!("names `{shown}`, which is not below data/")),
        Scope::Tags if in_payload => Err(format!("names `{shown}`, but a tag manifest lists no payload")),
        _ => Ok((path, note)),
    }
}

/// Undoes the percent-encoding of CR, LF and (since 1.0) `%`, and of nothing else.
fn decoded(raw: &str, version: Version) -> String {
    let mut text = String::with_capacity(raw.len());
    let mut rest = raw;
    while let Some(at) = rest.find('%') {
        let (before, tail) = rest.split_at(at);
        text.push_str(before);
        let code = tail.get(1..3).map(str::to_ascii_uppercase);
        let plain = match code.as_deref() {
            Some("0A") => Some('\n'),
            Some("0D") => Some('\r'),
            Some("25") if version.is_strict() => Some('%'),
            _ => None,
        };
        match plain {
            Some(c) => {
                text.push(c);
                rest = tail.get(3..).unwrap_or_default();
            }
            None => {
                text.push('%');
                rest = tail.get(1..).unwrap_or_default();
            }
        }
    }
    text.push_str(rest);
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_three_escapes_are_decoded() {
        assert_eq!(decoded("a%0ab%0Dc%25d%20e%", Version::ONE), "a\nb\rc%d%20e%");
        assert_eq!(decoded("%2525", Version::ONE), "%25");
        assert_eq!(decoded("%25%é", Version { major: 0, minor: 97 }), "%25%é");
    }

    #[test]
    fn manifests_are_known_by_their_names() {
        assert_eq!(manifest_name("manifest-sha256.txt"), Some((Scope::Payload, "sha256")));
        assert_eq!(manifest_name("tagmanifest-md5.txt"), Some((Scope::Tags, "md5")));
        assert_eq!(manifest_name("data/manifest-md5.txt"), None);
        assert_eq!(manifest_name("manifest-.txt"), None);
    }
}
