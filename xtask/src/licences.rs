//! Licence and source of every package in Cargo.lock, against the lists in deny.toml.

use std::collections::BTreeSet;

use crate::finding::{Answer, Finding, Report};
use crate::tree::{Tree, list, text};

/// Checks each package that any platform's build, tests included, may use.
pub(crate) fn run(tree: &Tree, _: &[String]) -> Answer {
    let settings: toml::Table =
        toml::from_str(&tree.read("deny.toml")?).map_err(|error| format!("deny.toml: {error}"))?;
    let allowed = allowed(&settings);
    let lock = tree.read("Cargo.lock")?;
    let mut findings = Vec::new();
    let mut looked_at = 0;
    let mut seen = BTreeSet::new();
    for package in list(&tree.metadata()?["packages"]) {
        let (name, version) = (text(&package["name"]), text(&package["version"]));
        looked_at += 1;
        let line = lock_line(&lock, name, version);
        let licence = text(&package["license"]);
        let excused =
            allowed.excused.iter().filter(|(excused, _)| excused == name).map(|(_, id)| id.as_str());
        let fine: Vec<&str> = allowed.everywhere.iter().map(String::as_str).chain(excused).collect();
        match permitted(licence, &fine) {
            Some(true) => {
                seen.insert(licence.to_owned());
            }
            Some(false) => {
                let message =
                    format!("{name} {version} is under `{licence}`, which deny.toml does not allow");
                findings.push(Finding::new("Cargo.lock", line, message));
            }
            None => {
                let message = format!("{name} {version} states no licence that can be read: `{licence}`");
                findings.push(Finding::new("Cargo.lock", line, message));
            }
        }
        // A package without a source is ours.
        let source = text(&package["source"]);
        let from_crates_io = source.starts_with("registry+") && source.ends_with("/crates.io-index");
        if !source.is_empty() && !from_crates_io {
            let message = format!("{name} {version} comes from `{source}`; only crates.io is allowed");
            findings.push(Finding::new("Cargo.lock", line, message));
        }
    }
    findings.sort();
    Ok(Report { findings, summary: format!("{looked_at} packages, {} kinds of licence", seen.len()) })
}

/// What deny.toml allows.
struct Allowed {
    everywhere: Vec<String>,
    /// Package and licence.
    excused: Vec<(String, String)>,
}

fn allowed(settings: &toml::Table) -> Allowed {
    let licences = settings.get("licenses");
    let names = |value: Option<&toml::Value>| -> Vec<String> {
        let items = value.and_then(toml::Value::as_array).into_iter().flatten();
        items.filter_map(toml::Value::as_str).map(str::to_owned).collect()
    };
    let mut excused = Vec::new();
    let exceptions = licences.and_then(|table| table.get("exceptions")).and_then(toml::Value::as_array);
    for exception in exceptions.into_iter().flatten() {
        let package = exception.get("crate").and_then(toml::Value::as_str).unwrap_or_default();
        for licence in names(exception.get("allow")) {
            excused.push((package.to_owned(), licence));
        }
    }
    Allowed { everywhere: names(licences.and_then(|table| table.get("allow"))), excused }
}

/// Line of a package in Cargo.lock, from 1; two versions of a package stand apart.
pub(crate) fn lock_line(lock: &str, name: &str, version: &str) -> usize {
    let wanted = (format!("name = \"{name}\""), format!("version = \"{version}\""));
    let lines: Vec<&str> = lock.lines().collect();
    let place = lines.windows(2).position(|pair| matches!(pair, [a, b] if *a == wanted.0 && *b == wanted.1));
    place.map_or(1, |index| index + 1)
}

/// Does an SPDX expression leave a choice that is allowed? `None` when it can't be read.
///
/// `/` between names is the older way to write OR.
fn permitted(expression: &str, allowed: &[&str]) -> Option<bool> {
    let spaced = expression.replace('(', " ( ").replace(')', " ) ").replace('/', " OR ");
    let words: Vec<&str> = spaced.split_whitespace().collect();
    let mut place = 0;
    let answer = any_of(&words, &mut place, allowed)?;
    (place == words.len()).then_some(answer)
}

fn any_of(words: &[&str], place: &mut usize, allowed: &[&str]) -> Option<bool> {
    let mut answer = all_of(words, place, allowed)?;
    while words.get(*place) == Some(&"OR") {
        *place += 1;
        answer |= all_of(words, place, allowed)?;
    }
    Some(answer)
}

fn all_of(words: &[&str], place: &mut usize, allowed: &[&str]) -> Option<bool> {
    let mut answer = one(words, place, allowed)?;
    while words.get(*place) == Some(&"AND") {
        *place += 1;
        answer &= one(words, place, allowed)?;
    }
    Some(answer)
}

fn one(words: &[&str], place: &mut usize, allowed: &[&str]) -> Option<bool> {
    let word = *words.get(*place)?;
    *place += 1;
    match word {
        "(" => {
            let answer = any_of(words, place, allowed)?;
            (words.get(*place) == Some(&")")).then(|| *place += 1)?;
            Some(answer)
        }
        ")" | "AND" | "OR" | "WITH" => None,
        name if words.get(*place) == Some(&"WITH") => {
            let exception = words.get(*place + 1)?;
            *place += 2;
            Some(allowed.contains(&format!("{name} WITH {exception}").as_str()))
        }
        name => Some(allowed.contains(&name)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // The grammar is that of SPDX specification 2.3, annex D: AND binds tighter than OR, WITH tightest.
    #[test]
    fn an_expression_is_permitted_when_some_choice_is() {
        let allowed = ["MIT", "Apache-2.0", "Apache-2.0 WITH LLVM-exception", "Unicode-3.0"];
        let check = |expression| permitted(expression, &allowed);
        assert_eq!(check("MIT"), Some(true));
        assert_eq!(check("MIT/GPL-3.0"), Some(true));
        assert_eq!(check("GPL-3.0-only OR MIT"), Some(true));
        assert_eq!(check("(MIT OR GPL-2.0-only) AND Unicode-3.0"), Some(true));
        assert_eq!(check("MIT OR GPL-2.0-only AND GPL-3.0-only"), Some(true));
        assert_eq!(check("MIT AND GPL-3.0-only"), Some(false));
        assert_eq!(check("Apache-2.0 WITH LLVM-exception OR GPL-3.0-only"), Some(true));
        assert_eq!(check("MIT WITH LLVM-exception"), Some(false));
        assert_eq!(check("GPL-3.0-only"), Some(false));
    }

    #[test]
    fn what_cannot_be_read_is_not_permitted() {
        for expression in ["", "MIT OR", "(MIT", "MIT MIT", "AND MIT"] {
            assert_eq!(permitted(expression, &["MIT"]), None, "{expression}");
        }
    }

    #[test]
    fn two_versions_of_a_package_have_two_lines() {
        let lock = "[[package]]\nname = \"a\"\nversion = \"1.0.0\"\n\n[[package]]\nname = \"a\"\nversion = \"2.0.0\"\n";
        assert_eq!((lock_line(lock, "a", "1.0.0"), lock_line(lock, "a", "2.0.0")), (2, 6));
    }
}
