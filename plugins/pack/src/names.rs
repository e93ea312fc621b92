//! File names inside a pack: made safe for every common file system, and judged when somebody else wrote them.

use std::collections::{BTreeMap, BTreeSet};
use unicode_normalization::UnicodeNormalization as _;

/// Longest segment that we write, in bytes: room for a distinguishing suffix below the 255 that file systems take.
const LONGEST_SEGMENT: usize = 120;
/// Most folders that we write below `data/<folder>/`; those further down are left out of the name (the table of
/// contents keeps the whole original).
const DEEPEST: usize = 8;

/// Two names with the same key cannot live in one folder on some common system.
///
/// Canonical composition plus an approximation of full case folding (upper, then lower): it may call two names equal
/// that a given system tells apart, never the reverse for letters that have case.
pub(crate) fn collision_key(name: &str) -> String {
    let upper: String = name.nfd().flat_map(char::to_uppercase).collect();
    upper.nfd().flat_map(char::to_lowercase).nfc().collect()
}

/// A name as it may be shown on a terminal: control and direction characters escaped, long names cut.
pub(crate) fn shown(name: &str) -> String {
    const LONGEST: usize = 160;
    let mut text = String::new();
    for (count, c) in name.chars().enumerate() {
        if count == LONGEST {
            text.push('…');
            break;
        }
        if c.is_control() || turns_direction(c) || is_invisible(c) {
            text.extend(c.escape_unicode());
        } else {
            text.push(c);
        }
    }
    text
}

/// Characters that make a name look like another one by turning the direction of its text.
fn turns_direction(c: char) -> bool {
    matches!(c, '\u{202A}'..='\u{202E}' | '\u{2066}'..='\u{2069}')
}

fn is_invisible(c: char) -> bool {
    matches!(c, '\u{00AD}' | '\u{200B}'..='\u{200F}' | '\u{2028}' | '\u{2029}' | '\u{2060}'..='\u{2064}' | '\u{FEFF}')
}

/// Windows keeps these names for devices, with any extension (RFC 8493 section 6.1.3; the superscript digits and
/// the console names are from memory of Microsoft's "Naming Files, Paths, and Namespaces").
fn is_device(segment: &str) -> bool {
    let stem = segment.split('.').next().unwrap_or(segment).trim_end_matches(' ').to_uppercase();
    if matches!(stem.as_str(), "CON" | "PRN" | "AUX" | "NUL" | "CONIN$" | "CONOUT$") {
        return true;
    }
    let Some(rest) = stem.strip_prefix("COM").or_else(|| stem.strip_prefix("LPT")) else {
        return false;
    };
    let mut digits = rest.chars();
    let digit = digits.next().is_some_and(|c| c.is_ascii_digit() || matches!(c, '¹' | '²' | '³'));
    digit && digits.next().is_none()
}

/// Bounds on the names that are accepted from outside.
#[derive(Clone, Copy, Debug)]
pub(crate) struct NameBounds {
    pub(crate) path: usize,
    pub(crate) segment: usize,
    pub(crate) depth: usize,
}

/// Why a name from outside must not be trusted with a file system; `None` when nothing speaks against it.
///
/// `path` has no trailing slash.
pub(crate) fn refusal(path: &str, bounds: NameBounds) -> Option<String> {
    if path.is_empty() {
        return Some("the name is empty".to_owned());
    }
    if path.len() > bounds.path {
        return Some(format!("the name has {} bytes, the limit is {}", path.len(), bounds.path));
    }
    if path.contains('\0') {
        return Some("the name holds a NUL character".to_owned());
    }
    if path.chars().any(char::is_control) {
        return Some("the name holds control characters".to_owned());
    }
    if path.chars().any(turns_direction) {
        return Some("the name holds characters that turn the direction of its text".to_owned());
    }
    if path.contains('\\') {
        return Some("the name holds a backslash, which some systems take for a folder separator".to_owned());
    }
    if path.starts_with('/') {
        return Some("the name is an absolute path".to_owned());
    }
    let mut depth = 0;
    for segment in path.split('/') {
        depth += 1;
        if depth > bounds.depth {
            return Some(format!("the name is nested more than {} folders deep", bounds.depth));
        }
        match segment {
            "" => return Some("the name has an empty part (`//`)".to_owned()),
            "." => return Some("the name has a part `.`".to_owned()),
            ".." => return Some("the name has a part `..`, which would leave the folder".to_owned()),
            _ => {}
        }
        if segment.len() > bounds.segment {
            return Some(format!(
                "a part of the name has {} bytes, the limit is {}",
                segment.len(),
                bounds.segment
            ));
        }
        if has_drive(segment) {
            return Some("the name starts with a drive letter".to_owned());
        }
    }
    None
}

fn has_drive(segment: &str) -> bool {
    let bytes = segment.as_bytes();
    matches!((bytes.first(), bytes.get(1)), (Some(letter), Some(b':')) if letter.is_ascii_alphabetic())
}

/// What would go wrong with a harmless name on some common system; `None` for a portable one.
pub(crate) fn portability(path: &str) -> Option<&'static str> {
    for segment in path.split('/') {
        if is_device(segment) {
            return Some("is a device name on Windows");
        }
        if segment.ends_with(['.', ' ']) {
            return Some("ends with a dot or space, which Windows drops");
        }
        if segment.contains([':', '*', '?', '"', '<', '>', '|']) {
            return Some("holds a character that Windows does not take");
        }
        if segment.chars().any(is_invisible) {
            return Some("holds invisible characters");
        }
    }
    None
}

/// One segment made safe: no separator, control, invisible or reserved character, no `%` (BagIt tools disagree on
/// its escaping), nothing that Windows or a shell takes for something else. Never empty.
pub(crate) fn safe_segment(original: &str) -> String {
    let mut safe: String = original
        .nfc()
        .map(|c| match c {
            '/' | '\\' | '%' | ':' | '*' | '?' | '"' | '<' | '>' | '|' => '_',
            c if c.is_control() || turns_direction(c) || is_invisible(c) => '_',
            c => c,
        })
        .collect();
    safe = shortened(&safe);
    let end = safe.trim_end_matches(['.', ' ']).len();
    if end < safe.len() {
        safe.truncate(end);
        safe.push('_');
    }
    if safe.starts_with([' ', '~']) {
        safe.replace_range(..1, "_");
    }
    if is_device(&safe) {
        safe.insert(0, '_');
    }
    if safe.is_empty() {
        safe.push('_');
    }
    safe
}

/// Cuts a long segment in its middle, so that the extension survives.
fn shortened(segment: &str) -> String {
    if segment.len() <= LONGEST_SEGMENT {
        return segment.to_owned();
    }
    let (stem, extension) = split_extension(segment);
    let room = LONGEST_SEGMENT.saturating_sub(extension.len());
    let mut end = room.min(stem.len());
    while end > 0 && !stem.is_char_boundary(end) {
        end -= 1;
    }
    format!("{}{extension}", stem.get(..end).unwrap_or_default())
}

/// Splits before the last dot, when what follows looks like an extension; a leading dot starts no extension.
fn split_extension(segment: &str) -> (&str, &str) {
    match segment.rfind('.') {
        Some(at) if at > 0 && segment.len() - at <= 12 => segment.split_at(at),
        _ => (segment, ""),
    }
}

/// Gives out names below one folder so that no two of them collide on any common system.
#[derive(Default)]
pub(crate) struct NameBook {
    /// Spelling given to a folder, by parent (as spelled) and original segment.
    folders: BTreeMap<(String, String), String>,
    /// Collision keys taken, by parent (as spelled).
    taken: BTreeSet<(String, String)>,
}

impl NameBook {
    /// A safe path below `folder` for the file that was called `original` (separators `/` or `\`).
    ///
    /// Each call takes a name of its own, also for an original that was given before.
    pub(crate) fn place(&mut self, folder: &str, original: &str) -> String {
        let segments: Vec<&str> =
            original.split(['/', '\\']).filter(|part| !matches!(*part, "" | "." | "..")).collect();
        let (file, parents) = segments.split_last().unwrap_or((&"", &[]));
        let mut parent = folder.to_owned();
        for segment in parents.iter().take(DEEPEST) {
            let place = (parent.clone(), (*segment).to_owned());
            let spelled = match self.folders.get(&place) {
                Some(known) => known.clone(),
                None => {
                    let fresh = self.take(&parent, &safe_segment(segment));
                    self.folders.insert(place, fresh.clone());
                    fresh
                }
            };
            parent = format!("{parent}/{spelled}");
        }
        let spelled = self.take(&parent, &safe_segment(file));
        format!("{parent}/{spelled}")
    }

    fn take(&mut self, parent: &str, wanted: &str) -> String {
        let (stem, extension) = split_extension(wanted);
        let mut spelled = wanted.to_owned();
        let mut number = 2_u64;
        while !self.taken.insert((parent.to_owned(), collision_key(&spelled))) {
            spelled = format!("{stem}-{number}{extension}");
            number += 1;
        }
        spelled
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const BOUNDS: NameBounds = NameBounds { path: 1024, segment: 255, depth: 32 };

    #[test]
    fn unsafe_names_are_made_safe_and_stay_readable() {
        for (original, safe) in [
            ("run 1.csv", "run 1.csv"),
            ("100% done.csv", "100_ done.csv"),
            ("a\r\nb", "a__b"),
            ("C:\\x", "C__x"),
            ("nul.txt", "_nul.txt"),
            ("COM1", "_COM1"),
            ("com¹.log", "_com¹.log"),
            ("command.txt", "command.txt"),
            ("trail. . ", "trail_"),
            ("...", "_"),
            ("", "_"),
            ("~root", "_root"),
            ("é\u{202E}gpj.exe", "é_gpj.exe"),
            ("e\u{301}.csv", "é.csv"),
        ] {
            assert_eq!(safe_segment(original), safe, "{original:?}");
            assert_eq!(refusal(&safe_segment(original), BOUNDS), None);
            assert_eq!(portability(&safe_segment(original)), None);
        }
    }

    #[test]
    fn names_that_would_collide_get_a_suffix() {
        let mut book = NameBook::default();
        let placed: Vec<String> = [
            "a.csv",
            "A.CSV",
            "a.csv",
            "é.csv",
            "e\u{301}.csv",
            "x/a.csv",
            "X/a.csv",
            "x",
            "straße",
            "STRASSE",
        ]
        .map(|name| book.place("data/sources", name))
        .to_vec();
        assert_eq!(
            placed,
            [
                "data/sources/a.csv",
                "data/sources/A-2.CSV",
                "data/sources/a-3.csv",
                "data/sources/é.csv",
                "data/sources/é-2.csv",
                "data/sources/x/a.csv",
                "data/sources/X-2/a.csv",
                "data/sources/x-3",
                "data/sources/straße",
                "data/sources/STRASSE-2",
            ]
        );
    }

    #[test]
    fn a_long_name_keeps_its_extension() {
        let long = format!("{}.csv", "é".repeat(300));
        let safe = safe_segment(&long);
        assert!(safe.len() <= LONGEST_SEGMENT && safe.ends_with(".csv"), "{safe}");
    }

    #[test]
    fn hostile_names_are_refused() {
        for bad in [
            "",
            "/etc/x",
            "a//b",
            "a/../b",
            "..",
            "./a",
            "C:\\x",
            "c:x",
            "a\\b",
            "a\0b",
            "a\nb",
            "a\u{202E}b",
        ] {
            assert!(refusal(bad, BOUNDS).is_some(), "{bad:?}");
        }
        for fine in ["a", "bag/data/12:30.txt", "bag/data/~x", "bag/data/nul"] {
            assert_eq!(refusal(fine, BOUNDS), None, "{fine:?}");
        }
    }
}
