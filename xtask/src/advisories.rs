//! Known weaknesses of the packages that reach the program, from a copy of the public RustSec database.
//!
//! The copy lies beside the repository (`../shared/external/advisory-db.tar.xz`), since CI can fetch none. A hit that
//! does not reach us stands in deny.toml under `[advisories] ignore`, with its reason; one that hits no more is a
//! finding too, so that the list does not grow old.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::process::Command;

use semver::{Version, VersionReq};
use serde_json::Value;

use crate::finding::{Answer, Finding, Report, line_of};
use crate::licences::lock_line;
use crate::tree::{Tree, list, text};

/// Where the copy lies, from the top of the repository.
const DATABASE: &str = "../shared/external/advisory-db.tar.xz";

/// Matches the packages of normal and build dependencies against the database.
pub(crate) fn run(tree: &Tree, _: &[String]) -> Answer {
    let archive = tree.root.join(DATABASE);
    if !archive.is_file() {
        return Ok(Report::sound(format!("NOT CHECKED: no copy of the advisory database at {DATABASE}")));
    }
    let folder = tree.target()?.join("advisory-db");
    unpack(tree, &archive, &folder)?;

    let settings = tree.read("deny.toml")?;
    let excused = excused(&settings)?;
    let lock = tree.read("Cargo.lock")?;
    let shipped = shipped(tree.metadata()?);
    let mut findings = Vec::new();
    let mut hit = BTreeSet::new();
    let mut known = 0;
    for (name, version) in &shipped {
        for advisory in advisories_of(&folder, name)? {
            known += 1;
            if !advisory.applies(version) {
                continue;
            }
            hit.insert(advisory.id.clone());
            if !excused.contains_key(&advisory.id) {
                let message = format!(
                    "{name} {version}: {} ({}) {}; update it, or give the reason why it does not reach us in deny.toml",
                    advisory.id, advisory.kind, advisory.title
                );
                findings.push(Finding::new(
                    "Cargo.lock",
                    lock_line(&lock, name, &version.to_string()),
                    message,
                ));
            }
        }
    }
    for (id, reason) in &excused {
        let line = settings.lines().position(|line| line.contains(id.as_str())).map_or(1, |index| index + 1);
        if !hit.contains(id) {
            findings.push(Finding::new(
                "deny.toml",
                line,
                format!("{id} hits no package any more: remove it"),
            ));
        } else if reason.trim().is_empty() {
            findings.push(Finding::new("deny.toml", line, format!("{id} is ignored without a reason")));
        }
    }
    findings.sort();
    let summary = format!(
        "{} packages against {known} advisories that name them, {} hits, {} of them ignored with a reason",
        shipped.len(),
        hit.len(),
        hit.iter().filter(|id| excused.contains_key(*id)).count()
    );
    Ok(Report { findings, summary })
}

/// Unpacks the database anew with the system's tar, or with Python where tar knows no xz.
fn unpack(tree: &Tree, archive: &Path, folder: &Path) -> Result<(), String> {
    if folder.exists() {
        std::fs::remove_dir_all(folder).map_err(|error| format!("{}: {error}", folder.display()))?;
    }
    std::fs::create_dir_all(folder).map_err(|error| format!("{}: {error}", folder.display()))?;
    let succeeds = |command: &mut Command| command.output().is_ok_and(|output| output.status.success());
    if succeeds(tree.command("tar").arg("-xJf").arg(archive).arg("-C").arg(folder)) {
        return Ok(());
    }
    let script = "import sys, tarfile; tarfile.open(sys.argv[1], 'r:xz').extractall(sys.argv[2])";
    for python in ["python3", "python"] {
        if succeeds(tree.command(python).args(["-c", script]).arg(archive).arg(folder)) {
            return Ok(());
        }
    }
    Err(format!("{DATABASE} can't be unpacked: it needs tar with xz, or Python with lzma"))
}

/// Advisories that deny.toml ignores, with their reasons.
fn excused(settings: &str) -> Result<BTreeMap<String, String>, String> {
    let table: toml::Table = toml::from_str(settings).map_err(|error| format!("deny.toml: {error}"))?;
    let ignored =
        table.get("advisories").and_then(|table| table.get("ignore")).and_then(toml::Value::as_array);
    let mut excused = BTreeMap::new();
    for entry in ignored.into_iter().flatten() {
        let word = |key| entry.get(key).and_then(toml::Value::as_str);
        let id = entry.as_str().or_else(|| word("id"));
        let id = id.ok_or_else(|| {
            format!("deny.toml:{}: an ignored advisory needs an `id`", line_of(settings, "ignore"))
        })?;
        excused.insert(id.to_owned(), word("reason").unwrap_or_default().to_owned());
    }
    Ok(excused)
}

/// Name and version of each outside package that a build of ours uses, on any platform, tests left out.
fn shipped(metadata: &Value) -> BTreeSet<(String, Version)> {
    let nodes: BTreeMap<&str, &Value> =
        list(&metadata["resolve"]["nodes"]).map(|node| (text(&node["id"]), node)).collect();
    let mut todo: Vec<&str> = list(&metadata["workspace_members"]).map(text).collect();
    let mut reached: BTreeSet<&str> = todo.iter().copied().collect();
    while let Some(id) = todo.pop() {
        let Some(node) = nodes.get(id) else { continue };
        for dependency in list(&node["deps"]) {
            let for_tests_only = list(&dependency["dep_kinds"]).all(|kind| kind["kind"] == "dev");
            let id = text(&dependency["pkg"]);
            if !for_tests_only && reached.insert(id) {
                todo.push(id);
            }
        }
    }
    list(&metadata["packages"])
        .filter(|package| reached.contains(text(&package["id"])) && !package["source"].is_null())
        .filter_map(|package| {
            Some((text(&package["name"]).to_owned(), Version::parse(text(&package["version"])).ok()?))
        })
        .collect()
}

/// What one file of the database says.
struct Advisory {
    id: String,
    /// `vulnerability`, or the database's word for a mere notice: unmaintained, unsound, notice.
    kind: String,
    title: String,
    patched: Vec<VersionReq>,
    unaffected: Vec<VersionReq>,
    withdrawn: bool,
}

impl Advisory {
    /// RustSec's rule: every version is affected, save those that `patched` or `unaffected` name.
    fn applies(&self, version: &Version) -> bool {
        !self.withdrawn && !self.patched.iter().chain(&self.unaffected).any(|range| range.matches(version))
    }

    /// Reads one file: a TOML block between fences, then Markdown whose first heading is the title.
    fn read(text: &str) -> Result<Self, String> {
        let (front, rest) = text
            .trim_start()
            .strip_prefix("```toml")
            .and_then(|text| text.split_once("\n```"))
            .ok_or("no TOML block at the start")?;
        let table: toml::Table = toml::from_str(front).map_err(|error| error.message().to_owned())?;
        let advisory = table.get("advisory").ok_or("no [advisory]")?;
        let word = |key| advisory.get(key).and_then(toml::Value::as_str);
        let ranges = |key| -> Result<Vec<VersionReq>, String> {
            let items =
                table.get("versions").and_then(|versions| versions.get(key)).and_then(toml::Value::as_array);
            let items = items.into_iter().flatten().filter_map(toml::Value::as_str);
            items
                .map(|range| VersionReq::parse(range).map_err(|error| format!("`{range}`: {error}")))
                .collect()
        };
        Ok(Self {
            id: word("id").ok_or("no id")?.to_owned(),
            kind: word("informational").unwrap_or("vulnerability").to_owned(),
            title: rest
                .lines()
                .find_map(|line| line.strip_prefix("# "))
                .unwrap_or_default()
                .trim()
                .to_owned(),
            patched: ranges("patched")?,
            unaffected: ranges("unaffected")?,
            withdrawn: advisory.get("withdrawn").is_some(),
        })
    }
}

/// Every advisory about a package.
fn advisories_of(database: &Path, package: &str) -> Result<Vec<Advisory>, String> {
    let folder: PathBuf = database.join("crates").join(package);
    let Ok(entries) = std::fs::read_dir(&folder) else { return Ok(Vec::new()) };
    let mut files: Vec<PathBuf> = entries.flatten().map(|entry| entry.path()).collect();
    files.sort();
    let read = |file: PathBuf| {
        let text = std::fs::read_to_string(&file).map_err(|error| error.to_string());
        text.and_then(|text| Advisory::read(&text)).map_err(|error| format!("{}: {error}", file.display()))
    };
    files.into_iter().map(read).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    // Form as in the RustSec database of 2026-08-21; the package is invented.
    const FILE: &str = "```toml\n[advisory]\nid = \"RUSTSEC-0000-0001\"\npackage = \"reed\"\ndate = \"2026-01-01\"\n\n\
        [versions]\npatched = [\"^1.2.5\", \">= 2.1.0\"]\nunaffected = [\"< 1.0.0\"]\n```\n\n# Reed bends\n\nText.\n";

    fn applies(text: &str, version: &str) -> bool {
        Advisory::read(text).unwrap().applies(&Version::parse(version).unwrap())
    }

    #[test]
    fn an_advisory_hits_what_is_neither_patched_nor_unaffected() {
        let advisory = Advisory::read(FILE).unwrap();
        assert_eq!((advisory.title.as_str(), advisory.kind.as_str()), ("Reed bends", "vulnerability"));
        for (version, hit) in [
            ("0.9.9", false),
            ("1.0.0", true),
            ("1.2.4", true),
            ("1.2.5", false),
            ("2.0.9", true),
            ("2.1.0", false),
        ] {
            assert_eq!(applies(FILE, version), hit, "{version}");
        }
    }

    #[test]
    fn without_ranges_every_version_is_hit_unless_withdrawn() {
        let none = FILE.replace("[\"^1.2.5\", \">= 2.1.0\"]", "[]").replace("[\"< 1.0.0\"]", "[]");
        assert!(applies(&none, "9.0.0"));
        assert!(!applies(&none.replace("date =", "withdrawn = \"2026-02-01\"\ndate ="), "9.0.0"));
    }

    #[test]
    fn packages_of_tests_alone_are_left_out() {
        let metadata = json!({
            "workspace_members": ["ours"],
            "packages": [
                {"id": "ours", "name": "ours", "version": "0.1.0", "source": null},
                {"id": "a", "name": "a", "version": "1.0.0", "source": "registry"},
                {"id": "b", "name": "b", "version": "1.0.0", "source": "registry"},
                {"id": "c", "name": "c", "version": "1.0.0", "source": "registry"},
            ],
            "resolve": {"nodes": [
                {"id": "ours", "deps": [
                    {"pkg": "a", "dep_kinds": [{"kind": null}]},
                    {"pkg": "b", "dep_kinds": [{"kind": "dev"}]},
                ]},
                {"id": "a", "deps": [{"pkg": "c", "dep_kinds": [{"kind": "build"}, {"kind": "dev"}]}]},
                {"id": "b", "deps": []},
                {"id": "c", "deps": []},
            ]},
        });
        let names: Vec<String> = shipped(&metadata).into_iter().map(|(name, _)| name).collect();
        assert_eq!(names, ["a", "c"]);
    }

    #[test]
    fn ignored_advisories_carry_their_reasons() {
        let settings =
            "[advisories]\nignore = [\n    { id = \"RUSTSEC-0000-0001\", reason = \"never called\" },\n]\n";
        assert_eq!(excused(settings).unwrap()["RUSTSEC-0000-0001"], "never called");
        assert!(excused("[advisories]\nignore = [{ reason = \"x\" }]\n").is_err());
    }
}
