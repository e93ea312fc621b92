//! Finds the codes of findings in what the program prints.

use std::collections::BTreeSet;

/// How grave a finding is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Severity {
    Error,
    Warning,
    Note,
}

/// Every finding printed as `error[plugin/name]`, `warning[...]` or `note[...]` at the start of a line.
pub(crate) fn raised(printed: &str) -> BTreeSet<(Severity, String)> {
    printed.lines().filter_map(one).collect()
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
