//! Finds the codes of findings in what the program prints.

use std::collections::BTreeSet;

/// How grave a finding is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Severity {
    Error,
    Warning,
    Note,
}

/// Every finding printed: as `error[plugin/name]`, `warning[...]` or `note[...]` at the start of a line, behind the
/// place in the short form, as an object in the JSON form.
pub(crate) fn raised(printed: &str, form: &str) -> BTreeSet<(Severity, String)> {
    let find = match form {
        "short" => behind_place,
        "json" => object,
        _ => one,
    };
    printed.lines().filter_map(find).collect()
}

/// `file:row:column: severity[code]: message`, whatever characters the place holds.
fn behind_place(line: &str) -> Option<(Severity, String)> {
    line.match_indices(": ").find_map(|(at, between)| one(line.get(at + between.len()..)?))
}

fn object(line: &str) -> Option<(Severity, String)> {
    let value: serde_json::Value = serde_json::from_str(line).ok()?;
    let word = |key: &str| value.get(key).and_then(serde_json::Value::as_str);
    one(&format!("{}[{}]:", word("severity")?, word("code")?))
}

fn one(line: &str) -> Option<(Severity, String)> {
    let (word, rest) = line.split_once('[')?;
    let severity = match word {
        "error" => Severity::Error,
        "warning" => Severity::Warning,
        "note" => Severity::Note,
        _ => return None,
    };
    let (code, rest) = rest.split_once(']')?;
    let (plugin, name) = code.split_once('/')?;
    let is_word = |word: &str| {
        !word.is_empty()
            && word.bytes().all(|byte| byte.is_ascii_lowercase() || byte.is_ascii_digit() || byte == b'-')
    };
    (is_word(plugin) && is_word(name) && rest.starts_with(':')).then(|| (severity, code.to_owned()))
}
