//! What no compiler says: first lines, blanks, sizes, stubs, paths of one machine, names that say nothing, the top level.

use std::collections::BTreeSet;
use std::path::{Component, Path, PathBuf};

use crate::finding::{Answer, Finding, Report};
use crate::tree::{Tree, stdout_of};

/// What the top level holds, beside dot files: all of it, and nothing else.
const TOP: &[&str] = &[
    "CHANGELOG.md",
    "Cargo.lock",
    "Cargo.toml",
    "DEVELOPERS.md",
    "LICENSE-APACHE",
    "LICENSE-MIT",
    "README.md",
    "clippy.toml",
    "crates",
    "deny.toml",
    "plugins",
    "rustfmt.toml",
    "shared",
    "templates",
    "tests",
    "xtask",
];

/// Endings of files that people write by hand, and so keep free of trailing blanks.
const WRITTEN: &[&str] = &["css", "hbs", "js", "md", "mjs", "py", "rs", "sh", "toml"];

/// Endings of source, which stays small.
const SOURCE: &[&str] = &["css", "hbs", "js", "mjs", "py", "rs"];

/// A source file is one room: larger ones are split.
const LARGEST: usize = 40_000;

/// Starts of paths that exist on one machine only. Put together here, so that this file does not find itself.
const MACHINE_PATHS: &[&str] =
    &[concat!("/", "work/"), concat!("/", "home/"), concat!("/", "root/"), concat!("/", "tmp/target")];

/// Unfinished work in Rust code.
const STUBS: &[&str] = &[concat!("todo", "!("), concat!("unimplemented", "!("), concat!("#[", "ignore")];

/// Names of files that do not say what the file holds.
const EMPTY_NAMES: &[&str] = &["common", "helper", "helpers", "manager", "misc", "util", "utils"];

/// Checks every file that git knows or would take.
pub(crate) fn run(tree: &Tree, _: &[String]) -> Answer {
    let listed = stdout_of(tree.command("git").args([
        "ls-files",
        "-z",
        "--cached",
        "--others",
        "--exclude-standard",
    ]))?;
    let files: BTreeSet<PathBuf> =
        listed.split('\0').filter(|name| !name.is_empty()).map(PathBuf::from).collect();
    let files: Vec<PathBuf> = files.into_iter().filter(|file| tree.root.join(file).exists()).collect();
    let mut findings = top_level(&files);
    for file in &files {
        let bytes =
            std::fs::read(tree.root.join(file)).map_err(|error| format!("{}: {error}", file.display()))?;
        findings.extend(one(file, &bytes));
    }
    findings.sort();
    Ok(Report { findings, summary: format!("{} files looked at", files.len()) })
}

/// The top level holds exactly what the README says.
fn top_level(files: &[PathBuf]) -> Vec<Finding> {
    let first = |file: &PathBuf| match file.components().next() {
        Some(Component::Normal(name)) => name.to_string_lossy().into_owned(),
        _ => String::new(),
    };
    let held: BTreeSet<String> = files.iter().map(first).filter(|name| !name.starts_with('.')).collect();
    let extra = held.iter().filter(|name| !TOP.contains(&name.as_str()));
    let extra = extra.map(|name| Finding::new(name, 1, "does not belong at the top level"));
    let missing = TOP.iter().filter(|name| !held.contains(**name));
    let missing = missing.map(|name| Finding::new(name, 1, "is missing from the top level"));
    extra.chain(missing).collect()
}

/// Is the file material of a test, read byte for byte?
fn is_fixture(file: &Path) -> bool {
    let parts: Vec<_> = file.iter().map(|part| part.to_string_lossy()).collect();
    let parts: Vec<&str> = parts.iter().map(AsRef::as_ref).collect();
    matches!(
        parts.as_slice(),
        ["tests", "cases", _, _, "input" | "expected", ..]
            | ["tests", "demo", ..]
            | ["plugins", _, "fixtures", ..]
            | ["shared", "reference", ..]
    )
}

/// Checks one file.
fn one(file: &Path, bytes: &[u8]) -> Vec<Finding> {
    let mut findings = Vec::new();
    let mut find = |line: usize, message: &str| findings.push(Finding::new(file, line, message));
    let ending = file.extension().map(|ending| ending.to_string_lossy().into_owned()).unwrap_or_default();
    let is = |list: &[&str]| list.contains(&ending.as_str());
    let stem = file.file_stem().map(|stem| stem.to_string_lossy().to_lowercase()).unwrap_or_default();
    if is(SOURCE) && EMPTY_NAMES.contains(&stem.as_str()) {
        find(1, "the name does not say what the file holds");
    }
    let fixture = is_fixture(file);
    if is(SOURCE) && !fixture && bytes.len() > LARGEST {
        find(1, &format!("{} bytes: split it, a source file stays under {LARGEST}", bytes.len()));
    }
    let Ok(text) = std::str::from_utf8(bytes) else { return findings };
    let rust = ending == "rs" && !fixture;
    let opening = text.lines().next().and_then(|line| line.strip_prefix("//! "));
    if rust && opening.is_none_or(|line| line.trim().is_empty()) {
        find(1, "the first line says in one sentence what the file is for (`//! ...`)");
    }
    for (index, line) in text.lines().enumerate() {
        if is(WRITTEN) && !fixture && line.ends_with([' ', '\t']) {
            find(index + 1, "trailing blanks");
        }
        if let Some(path) = machine_path(line) {
            find(index + 1, &format!("`{path}`: a path of one machine"));
        }
        if rust && let Some(stub) = STUBS.iter().find(|stub| line.contains(**stub)) {
            find(index + 1, &format!("`{stub}`: unfinished work"));
        }
    }
    // A part of a template is put into the middle of a line: its own line must not end.
    let part = is(&["hbs"]);
    if is(WRITTEN) && !fixture && !part && !text.is_empty() && !text.ends_with('\n') {
        find(text.lines().count(), "the last line does not end");
    }
    findings
}

/// The start of an absolute path of one machine in a line. A longer path or an address that only holds the same
/// words further on, as in `place/of/work/`, does not count.
fn machine_path(line: &str) -> Option<&'static str> {
    MACHINE_PATHS.iter().copied().find(|path| {
        line.match_indices(path).any(|(place, _)| {
            let before = line.get(..place).and_then(|text| text.chars().next_back());
            before.is_none_or(|letter| !letter.is_alphanumeric() && !"._-]})*".contains(letter))
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn messages(file: &str, text: &str) -> Vec<(usize, String)> {
        one(Path::new(file), text.as_bytes())
            .into_iter()
            .map(|finding| (finding.line, finding.message))
            .collect()
    }

    #[test]
    fn a_rust_file_opens_with_what_it_is_for() {
        assert_eq!(messages("crates/a/src/b.rs", "//! Holds b.\n"), []);
        assert_eq!(messages("crates/a/src/b.rs", "use c;\n")[0].0, 1);
        assert_eq!(messages("crates/a/src/b.rs", "//!\n").len(), 1);
    }

    #[test]
    fn blanks_count_in_written_files_and_not_in_fixtures() {
        assert_eq!(messages("README.md", "a \nb\n"), [(1, "trailing blanks".to_owned())]);
        assert_eq!(messages("tests/cases/csv/ok-a/input/job.toml", "a \nb"), []);
        assert_eq!(messages("plugins/csv/fixtures/a.md", "a \n"), []);
    }

    #[test]
    fn stubs_sizes_and_empty_names_are_found() {
        let stub = format!("//! A.\nfn a() {{ {}) }}\n", STUBS[0]);
        assert_eq!(messages("crates/a/src/b.rs", &stub)[0].0, 2);
        assert_eq!(messages("crates/a/src/utils.rs", "//! A.\n").len(), 1);
        assert_eq!(messages("crates/a/src/b.rs", &format!("//! A.\n{}", "// x\n".repeat(9_000))).len(), 1);
    }

    #[test]
    fn a_path_of_one_machine_is_not_an_address_or_a_longer_path() {
        let path = |rest: &str| format!("see {}{rest}", MACHINE_PATHS[0]);
        assert!(machine_path(&path("main")).is_some());
        assert!(machine_path(&format!("\"{}x\"", MACHINE_PATHS[2])).is_some());
        assert!(machine_path("place/of/work/here").is_none());
        assert!(machine_path("the work/life").is_none());
    }

    #[test]
    fn the_top_level_holds_neither_more_nor_less() {
        let mut files: Vec<PathBuf> = TOP.iter().map(PathBuf::from).collect();
        files.push(PathBuf::from(".gitignore"));
        assert_eq!(top_level(&files), []);
        files.push(PathBuf::from("notes/a.md"));
        files.retain(|file| file != Path::new("README.md"));
        let findings = top_level(&files);
        let names: Vec<_> = findings.iter().map(|finding| finding.file.display().to_string()).collect();
        assert_eq!(names, ["notes", "README.md"]);
    }
}
