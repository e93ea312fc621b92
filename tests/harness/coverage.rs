//! Every finding code that the program knows occurs in some case, or stands with a reason in `tests/cases/uncovered.toml`.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use super::case::{Program, description};
use super::folders::Case;
use super::process::ask;

/// The file of codes that no case raises: `"plugin/name" = "why not"`.
pub(crate) const UNCOVERED: &str = "uncovered.toml";

/// Compares the program's list with what the cases declare; each case checks by itself that it raises what it declares.
pub(crate) fn check(cases: &[Case], tests: &Path, program: &Program) -> Result<(), String> {
    let listed = ask(program, &["explain", "--list"])?;
    let known: BTreeSet<&str> = listed.lines().filter_map(|line| line.split_whitespace().next()).collect();
    // Plug-ins of the tests have codes of their own, which the program alone does not know.
    let plugins = tests.join("plugins");
    let own = |code: &String| {
        let plugin = code.split('/').next().filter(|name| !name.is_empty());
        plugin.is_some_and(|name| plugins.join(name).is_dir())
    };
    let mut declared = BTreeSet::new();
    for case in cases {
        declared.extend(description(case)?.codes.into_iter().filter(|code| !own(code)));
    }
    let path = tests.join("cases").join(UNCOVERED);
    let excused: BTreeMap<String, String> = match std::fs::read_to_string(&path) {
        Ok(text) => toml::from_str(&text).map_err(|error| format!("{UNCOVERED}: {error}"))?,
        Err(_) => BTreeMap::new(),
    };
    let wrong = compare(&known, &declared, &excused);
    if wrong.is_empty() { Ok(()) } else { Err(wrong.join("\n")) }
}

/// What is wrong with a set of codes, one line each.
pub(crate) fn compare(
    known: &BTreeSet<&str>,
    declared: &BTreeSet<String>,
    excused: &BTreeMap<String, String>,
) -> Vec<String> {
    let mut wrong = Vec::new();
    if known.is_empty() {
        wrong.push("the program lists no codes".to_owned());
    }
    for code in known {
        if !declared.contains(*code) && !excused.contains_key(*code) {
            wrong.push(format!("{code}: no case raises it, and {UNCOVERED} gives no reason"));
        }
    }
    for code in declared.iter().filter(|code| !known.contains(code.as_str())) {
        wrong.push(format!("{code}: a case raises it, and `explain --list` does not know it"));
    }
    for (code, reason) in excused {
        if declared.contains(code) {
            wrong.push(format!("{code}: a case raises it, so {UNCOVERED} need not name it"));
        } else if !known.contains(code.as_str()) {
            wrong.push(format!("{code}: {UNCOVERED} names it, and the program does not know it"));
        } else if reason.trim().is_empty() {
            wrong.push(format!("{code}: {UNCOVERED} gives no reason"));
        }
    }
    wrong
}
