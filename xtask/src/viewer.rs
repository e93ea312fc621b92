//! Joins the parts of the viewer of packs into the one page that is published and put into packs.

use std::collections::BTreeSet;
use std::path::{Component, Path, PathBuf};

use crate::finding::{Answer, Finding, Report};
use crate::tree::Tree;

const FOLDER: &str = "plugins/pack/viewer";
const PAGE: &str = "plugins/pack/viewer/viewer.html";
/// Parts of others, with the licence that goes with them: the heading in the page, and the file.
const LICENCES: [(&str, &str); 2] =
    [("fflate 0.8.3", "vendor/fflate/LICENSE"), ("smol-toml 1.9.1", "vendor/smol-toml/LICENSE")];

/// `viewer`: writes the page. `viewer --check` compares and writes nothing.
pub(crate) fn run(tree: &Tree, arguments: &[String]) -> Answer {
    let page = page(tree)?;
    let same = tree.read(PAGE).is_ok_and(|found| found == page);
    let mut findings = Vec::new();
    if !same && arguments.iter().any(|argument| argument == "--check") {
        findings.push(Finding::new(PAGE, 1, "is not what `cargo xtask viewer` makes of its parts"));
    } else if !same {
        std::fs::write(tree.root.join(PAGE), &page).map_err(|error| format!("{PAGE}: {error}"))?;
    }
    Ok(Report { findings, summary: format!("{PAGE}, {} bytes", page.len()) })
}

fn page(tree: &Tree) -> Result<String, String> {
    let mut script = String::new();
    join(tree, Path::new("page/main.js"), &mut BTreeSet::new(), &mut script)?;
    let mut licences = String::new();
    for (part, file) in LICENCES {
        licences.push_str(&format!("{part}\n\n{}\n", read(tree, Path::new(file))?.trim_end()));
    }
    let escaped = licences.replace('&', "&amp;").replace('<', "&lt;");
    if script.contains("</script") || script.contains("<!--") {
        return Err("a part holds `</script` or `<!--`, which would end the page's script early".to_owned());
    }
    let mut page = read(tree, Path::new("page/page.html"))?;
    for (mark, text) in [
        ("/*STYLE*/", read(tree, Path::new("page/style.css"))?.trim_end()),
        ("<!--LICENCES-->", escaped.trim_end()),
        ("/*SCRIPT*/", script.trim_end()),
    ] {
        let place = page.find(mark).ok_or_else(|| format!("page.html has no {mark}"))?;
        page.replace_range(place..place + mark.len(), text);
    }
    Ok(page)
}

fn read(tree: &Tree, file: &Path) -> Result<String, String> {
    tree.read(Path::new(FOLDER).join(file))
}

/// Appends a part after those that it imports, each once. All of them share one scope, so no two may give one name to
/// different things: the script would not load, which the tests see.
fn join(tree: &Tree, file: &Path, seen: &mut BTreeSet<PathBuf>, script: &mut String) -> Result<(), String> {
    if !seen.insert(file.to_owned()) {
        return Ok(());
    }
    let text = read(tree, file)?;
    let mut own = String::new();
    for line in text.lines() {
        let Some(import) = line.strip_prefix("import ") else {
            own.push_str(line.strip_prefix("export ").unwrap_or(line));
            own.push('\n');
            continue;
        };
        let parts = import.strip_suffix("\";").and_then(|import| import.split_once(" from \""));
        let (names, from) = parts.ok_or_else(|| format!("{}: not on one line: {line}", file.display()))?;
        if names.contains(" as ") {
            return Err(format!("{}: no other name can be given to an import: {line}", file.display()));
        }
        let from = resolved(file, from);
        if from.extension().is_some_and(|ending| ending == "cjs") {
            if seen.insert(from.clone()) {
                let text = read(tree, &from)?;
                script.push_str(&format!(
                    "// {}\nconst {names} = ((module) => {{\nconst exports = module.exports;\n{}\nreturn module.exports;\n}})({{ exports: {{}} }});\n",
                    from.display(),
                    text.trim_end(),
                ));
            }
        } else {
            join(tree, &from, seen, script)?;
        }
    }
    script.push_str(&format!("\n// {}\n{}", file.display(), own));
    Ok(())
}

/// The file that a relative import means.
fn resolved(from: &Path, import: &str) -> PathBuf {
    let mut path = from.parent().unwrap_or(Path::new("")).to_owned();
    for part in Path::new(import).components() {
        match part {
            Component::ParentDir => {
                path.pop();
            }
            Component::Normal(name) => path.push(name),
            _ => {}
        }
    }
    path
}
