//! The table from what an input may be like to the fixtures that hold it: written from the fixtures, and checked against them.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use serde::Deserialize;

use crate::finding::{Answer, Finding, Report, line_of};
use crate::tree::Tree;

/// Every trait in its order: a group has a title and traits, a trait a name, what it `is`, and where it is said
/// `sign` (text that each of its fixtures must hold) and `tests` (`file#function`, for what no folder can hold).
const LIST: &str = "tests/traits.toml";
/// The table for people, written from the list and the fixtures.
const TABLE: &str = "tests/traits.md";

/// Folders of fixtures: where they are, the short name in the table, and the file in each fixture that says why it
/// is there and names its traits. Each fixture names at least one.
const FIXTURES: &[(&str, &str, &str)] = &[
    ("plugins/csv/fixtures", "csv", "why.md"),
    ("plugins/csv/workbooks", "workbook", "why.md"),
    ("plugins/trace/fixtures", "trace", "expected.json"),
    ("plugins/json/fixtures", "json", "why.md"),
];
const CASES: &str = "tests/cases";
/// Groups of cases about inputs that have no fixtures of their own: each case names at least one trait. Cases of
/// other groups may name some.
const CASES_WITH_TRAITS: &[&str] = &["batch", "json-log", "mapping", "xlsx"];

/// One trait of the list.
#[derive(Debug)]
struct Trait {
    name: String,
    is: String,
    /// Any of these stands in a file, or in the name of a file, of each fixture that names the trait.
    signs: Vec<String>,
    tests: Vec<String>,
}

/// A group of traits under its title.
#[derive(Debug)]
struct Group {
    title: String,
    traits: Vec<Trait>,
}

/// A fixture: its folder from the top of the repository, its short name, the file that names its traits, and them.
#[derive(Debug)]
struct Fixture {
    folder: PathBuf,
    short: String,
    says: PathBuf,
    traits: Vec<String>,
    must: bool,
}

/// Writes the table, or with `--check` compares it and writes nothing; both check list and fixtures.
pub(crate) fn run(tree: &Tree, arguments: &[String]) -> Answer {
    let check = match arguments {
        [] => false,
        [word] if word == "--check" => true,
        _ => return Err("takes `--check` or nothing".to_owned()),
    };
    let read = |file: &str| {
        std::fs::read_to_string(tree.root.join(file)).map_err(|error| format!("{file}: {error}"))
    };
    let text = read(LIST)?;
    let groups = list(&text)?;
    let fixtures = fixtures(&tree.root)?;
    let mut findings = unsound(&text, &groups, &fixtures);
    findings.extend(untested(&tree.root, &text, &groups));
    findings.extend(without_sign(&tree.root, &groups, &fixtures)?);
    let table = table(&groups, &fixtures);
    if check {
        let kept = std::fs::read_to_string(tree.root.join(TABLE)).unwrap_or_default();
        if kept != table {
            let line = kept.lines().zip(table.lines()).take_while(|(a, b)| a == b).count() + 1;
            findings.push(Finding::new(TABLE, line, "is stale: run `cargo xtask traits`"));
        }
    } else {
        std::fs::write(tree.root.join(TABLE), &table).map_err(|error| format!("{TABLE}: {error}"))?;
    }
    let count = groups.iter().map(|group| group.traits.len()).sum::<usize>();
    Ok(Report { findings, summary: format!("{count} traits, {} fixtures", fixtures.len()) })
}

/// Reads the list.
fn list(text: &str) -> Result<Vec<Group>, String> {
    let whole: toml::Table = toml::from_str(text).map_err(|error| format!("{LIST}: {error}"))?;
    let texts = |value: Option<&toml::Value>| match value {
        None => Some(Vec::new()),
        Some(toml::Value::String(one)) => Some(vec![one.clone()]),
        Some(toml::Value::Array(many)) => many.iter().map(|one| Some(one.as_str()?.to_owned())).collect(),
        Some(_) => None,
    };
    let one = |entry: &toml::Value| {
        let entry = entry.as_table()?;
        let known = ["name", "is", "sign", "tests"];
        Some(Trait {
            name: entry.get("name")?.as_str()?.to_owned(),
            is: entry.get("is")?.as_str()?.to_owned(),
            signs: texts(entry.get("sign"))?,
            tests: texts(entry.get("tests"))?,
        })
        .filter(|_| entry.keys().all(|key| known.contains(&key.as_str())))
    };
    let group = |entry: &toml::Value| {
        let title = entry.get("title")?.as_str()?.to_owned();
        let traits = entry.get("traits")?.as_array()?.iter();
        let traits = traits.map(|entry| one(entry).ok_or_else(|| format!("{LIST}: no trait: {entry}")));
        Some(traits.collect::<Result<Vec<_>, _>>().map(|traits| Group { title, traits }))
    };
    let groups = whole.get("group").and_then(toml::Value::as_array).ok_or(format!("{LIST}: no [[group]]"))?;
    groups.iter().map(|entry| group(entry).unwrap_or_else(|| Err(format!("{LIST}: no group")))).collect()
}

/// The folders below `root/below`, by name; none where it is not there.
fn folders(root: &Path, below: &str) -> Result<Vec<PathBuf>, String> {
    let top = root.join(below);
    let say = |error: std::io::Error| format!("{below}: {error}");
    let mut found = Vec::new();
    for entry in std::fs::read_dir(&top).map_err(say)? {
        let path = entry.map_err(say)?.path();
        if path.is_dir() {
            found.push(Path::new(below).join(path.file_name().unwrap_or_default()));
        }
    }
    found.sort();
    Ok(found)
}

/// Every fixture, and every case that names traits or must.
fn fixtures(root: &Path) -> Result<Vec<Fixture>, String> {
    let mut found = Vec::new();
    let mut add = |folder: PathBuf, group: &str, file: &str, must: bool| -> Result<(), String> {
        let says = folder.join(file);
        let text = std::fs::read_to_string(root.join(&says)).unwrap_or_default();
        let traits = named(&text, file).map_err(|error| format!("{}: {error}", says.display()))?;
        if must || !traits.is_empty() {
            let name = folder.file_name().unwrap_or_default().to_string_lossy();
            found.push(Fixture { short: format!("{group}/{name}"), folder, says, traits, must });
        }
        Ok(())
    };
    for (below, group, file) in FIXTURES {
        for folder in folders(root, below)? {
            add(folder, group, file, true)?;
        }
    }
    for group in folders(root, CASES)? {
        let name = group.file_name().unwrap_or_default().to_string_lossy().into_owned();
        for folder in folders(root, &group.to_string_lossy())? {
            let must = CASES_WITH_TRAITS.contains(&name.as_str());
            add(folder, &format!("cases/{name}"), "case.toml", must)?;
        }
    }
    Ok(found)
}

/// What of a fixture's own file names its traits.
#[derive(Deserialize)]
struct Listed {
    #[serde(default)]
    traits: Vec<String>,
}

/// The traits that a fixture's own file names: the line `Traits: a, b` of a text, the list `traits` of JSON or TOML.
fn named(text: &str, file: &str) -> Result<Vec<String>, String> {
    let listed: Listed = if file.ends_with(".json") {
        serde_json::from_str(text).map_err(|error| error.to_string())?
    } else if file.ends_with(".toml") {
        toml::from_str(text).map_err(|error| error.to_string())?
    } else {
        let lines = text.lines().filter_map(|line| line.strip_prefix("Traits: "));
        Listed {
            traits: lines.flat_map(|line| line.split(", ")).map(|name| name.trim().to_owned()).collect(),
        }
    };
    Ok(listed.traits)
}

/// Names that occur twice or are not in the list, fixtures that name none, traits that nothing holds.
fn unsound(text: &str, groups: &[Group], fixtures: &[Fixture]) -> Vec<Finding> {
    let mut findings = Vec::new();
    let mut known = BTreeSet::new();
    for one in groups.iter().flat_map(|group| &group.traits) {
        if !known.insert(one.name.as_str()) {
            findings.push(Finding::new(LIST, line_of_trait(text, one), format!("`{}` twice", one.name)));
        }
    }
    let mut held = BTreeSet::new();
    for Fixture { says, traits, must, .. } in fixtures {
        if *must && traits.is_empty() {
            findings.push(Finding::new(says, 1, format!("names no trait of {LIST}")));
        }
        for name in traits {
            if !known.contains(name.as_str()) {
                findings.push(Finding::new(says, 1, format!("`{name}` is no trait of {LIST}")));
            }
            held.insert(name.as_str());
        }
    }
    for one in groups.iter().flat_map(|group| &group.traits) {
        if one.tests.is_empty() && !held.contains(one.name.as_str()) {
            let message = format!("no fixture has `{}`: write one", one.name);
            findings.push(Finding::new(LIST, line_of_trait(text, one), message));
        }
    }
    findings
}

fn line_of_trait(text: &str, one: &Trait) -> usize {
    line_of(text, &format!("{{ name = \"{}\"", one.name))
}

/// Tests named in the list that are not where it says.
fn untested(root: &Path, text: &str, groups: &[Group]) -> Vec<Finding> {
    let mut findings = Vec::new();
    for one in groups.iter().flat_map(|group| &group.traits) {
        for test in &one.tests {
            let there = test.split_once('#').is_some_and(|(file, function)| {
                let source = std::fs::read_to_string(root.join(file)).unwrap_or_default();
                source.contains(&format!("fn {function}("))
            });
            if !there {
                findings.push(Finding::new(LIST, line_of_trait(text, one), format!("no test `{test}`")));
            }
        }
    }
    findings
}

/// Fixtures that name a trait and hold none of its signs: the name and what the folder holds have come apart.
fn without_sign(root: &Path, groups: &[Group], fixtures: &[Fixture]) -> Result<Vec<Finding>, String> {
    let signs: BTreeMap<&str, &[String]> = groups
        .iter()
        .flat_map(|group| &group.traits)
        .filter(|one| !one.signs.is_empty())
        .map(|one| (one.name.as_str(), one.signs.as_slice()))
        .collect();
    let mut findings = Vec::new();
    for fixture in fixtures {
        let wanted: Vec<_> =
            fixture.traits.iter().filter_map(|name| signs.get_key_value(name.as_str())).collect();
        if wanted.is_empty() {
            continue;
        }
        let held = contents(&root.join(&fixture.folder))?;
        for (name, signs) in wanted {
            let found = signs.iter().any(|sign| {
                held.iter().any(|(file, bytes)| file.contains(sign.as_str()) || holds(bytes, sign.as_bytes()))
            });
            if !found {
                let message = format!("is said to be `{name}`, and no file of it holds {signs:?}");
                findings.push(Finding::new(&fixture.says, 1, message));
            }
        }
    }
    Ok(findings)
}

/// Name and bytes of every file below a folder, other than the words about why it is there.
fn contents(folder: &Path) -> Result<Vec<(String, Vec<u8>)>, String> {
    let say = |error: std::io::Error| format!("{}: {error}", folder.display());
    let mut found = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(say)? {
        let path = entry.map_err(say)?.path();
        let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        if path.is_dir() {
            found.extend(contents(&path)?);
        } else if name != "why.md" {
            let bytes = std::fs::read(&path).map_err(say)?;
            found.push((name, bytes));
        }
    }
    Ok(found)
}

fn holds(bytes: &[u8], sign: &[u8]) -> bool {
    !sign.is_empty() && bytes.windows(sign.len()).any(|window| window == sign)
}

/// The table for people.
fn table(groups: &[Group], fixtures: &[Fixture]) -> String {
    let mut text = String::from(
        "# What inputs may be like, and the fixture that holds it\n\n\
         Written by `cargo xtask traits` from `traits.toml` and from what each fixture names as its traits; change it there.\n\
         A name that begins with `ok-` is read whole, `part-` has rows set aside, `err-` is refused.\n",
    );
    for Group { title, traits } in groups {
        text.push_str(&format!("\n## {title}\n\n| trait | what it is | held by |\n|---|---|---|\n"));
        for one in traits {
            let of_it = fixtures.iter().filter(|fixture| fixture.traits.contains(&one.name));
            let folders = of_it.map(|fixture| link(&fixture.short, &fixture.folder.to_string_lossy()));
            let tests = one.tests.iter().map(|test| {
                let (file, function) = test.split_once('#').unwrap_or((test, ""));
                link(function, file)
            });
            let held: Vec<String> = folders.chain(tests).collect();
            text.push_str(&format!("| `{}` | {} | {} |\n", one.name, one.is, held.join(", ")));
        }
    }
    text
}

/// A link from the table to a path from the top of the repository.
fn link(shown: &str, path: &str) -> String {
    let path = path.replace('\\', "/");
    let path = path.strip_prefix("tests/").map_or_else(|| format!("../{path}"), str::to_owned);
    format!("[{shown}]({path})")
}

#[cfg(test)]
mod tests {
    use super::*;

    const SAMPLE: &str = "[[group]]\ntitle = \"Bytes\"\ntraits = [\n  { name = \"cr\", is = \"old line ends\", sign = \"CR only\" },\n  { name = \"large\", is = \"size\", tests = \"xtask/src/traits.rs#a_table_is_written\" },\n]\n";

    fn fixture(traits: &[&str]) -> Fixture {
        Fixture {
            folder: PathBuf::from("plugins/csv/fixtures/ok-a"),
            short: "csv/ok-a".to_owned(),
            says: PathBuf::from("why.md"),
            traits: traits.iter().map(|&name| name.to_owned()).collect(),
            must: true,
        }
    }

    #[test]
    fn a_table_is_written() {
        let table = table(&list(SAMPLE).unwrap(), &[fixture(&["cr"])]);
        assert!(
            table.contains("| `cr` | old line ends | [csv/ok-a](../plugins/csv/fixtures/ok-a) |\n"),
            "{table}"
        );
        assert!(table.contains("[a_table_is_written](../xtask/src/traits.rs) |\n"), "{table}");
    }

    #[test]
    fn what_is_unknown_or_held_by_nothing_is_found() {
        let groups = list(SAMPLE).unwrap();
        let messages = |traits: &[&str]| -> Vec<String> {
            unsound(SAMPLE, &groups, &[fixture(traits)]).into_iter().map(|found| found.message).collect()
        };
        assert_eq!(messages(&["cr"]), Vec::<String>::new());
        assert_eq!(messages(&["cr", "lf"]), ["`lf` is no trait of tests/traits.toml"]);
        assert_eq!(messages(&[]).len(), 2);
        let twice = SAMPLE.replace("large", "cr");
        let twice = unsound(&twice, &list(&twice).unwrap(), &[fixture(&["cr"])]);
        assert_eq!((twice[0].line, twice[0].message.as_str()), (4, "`cr` twice"));
        let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
        assert_eq!(untested(&root, SAMPLE, &groups), []);
        let gone = SAMPLE.replace("a_table_is_written", "no_such_test");
        assert_eq!(untested(&root, &gone, &list(&gone).unwrap()).len(), 1);
    }

    #[test]
    fn a_list_that_is_none_is_refused() {
        for wrong in [
            "",
            "group = 1",
            "[[group]]\ntitle = \"a\"",
            "[[group]]\ntitle = \"a\"\ntraits = [{ name = \"a\" }]",
        ] {
            assert!(list(wrong).is_err(), "{wrong}");
        }
        assert!(list(&SAMPLE.replace("sign =", "sing =")).is_err());
    }

    #[test]
    fn traits_are_named_in_three_ways() {
        assert_eq!(named("Why.\n\nTraits: a, b\n", "why.md").unwrap(), ["a", "b"]);
        assert_eq!(named("{\"traits\": [\"a\"]}", "expected.json").unwrap(), ["a"]);
        assert_eq!(named("about = \"x\"\ntraits = [\"a\"]\n", "case.toml").unwrap(), ["a"]);
        assert!(named("{", "expected.json").is_err());
    }

    #[test]
    fn a_sign_is_looked_for_in_bytes() {
        assert!(holds(b"\xff line ends: CR\n", b"line ends: CR\n"));
        assert!(!holds(b"line ends: CRLF\n", b"line ends: CR\n"));
        assert!(!holds(b"", b"a"));
    }
}
