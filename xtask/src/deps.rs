//! Who may use whom: the rooms of the workspace, what each may use of ours and from outside, and how its manifest reads.

use std::path::{Path, PathBuf};

use serde_json::Value;

use crate::finding::{Answer, Finding, Report, line_of};
use crate::tree::{Tree, list, text};

/// What a room may use from outside.
enum Outside {
    /// These packages and no other.
    Only(&'static [&'static str]),
    /// Anything but these.
    AnyBut(&'static [&'static str]),
}

/// One room: a package, or all plug-ins.
struct Room {
    ours: &'static [&'static str],
    outside: Outside,
    /// Holds no file access, environment, clock, process or printing.
    pure: bool,
}

/// What belongs to the program alone: terminal, arguments, files, threads.
const MACHINE: &[&str] = &["anstream", "anstyle", "clap", "indicatif", "rayon", "tempfile", "walkdir"];

/// What belongs to formats, and hence to plug-ins, beside what belongs to the program.
const MACHINE_AND_FORMATS: &[&str] = &[
    "anstream",
    "anstyle",
    "clap",
    "indicatif",
    "rayon",
    "tempfile",
    "walkdir",
    "csv",
    "genpdf",
    "krilla",
    "quick-xml",
    "zip",
];

/// The rule for a package of ours; `None` for a package that the design does not know.
fn room(package: &str) -> Option<Room> {
    let room = match package {
        "record" => Room { ours: &[], outside: Outside::Only(&["ecow", "jiff", "rust_decimal"]), pure: true },
        "assess" => Room {
            ours: &["record"],
            outside: Outside::Only(&["jiff", "libm", "rust_decimal", "serde", "toml"]),
            pure: true,
        },
        "plugin-api" => {
            Room { ours: &["record", "assess"], outside: Outside::AnyBut(MACHINE_AND_FORMATS), pure: true }
        }
        "pages" => Room { ours: &["record", "assess"], outside: Outside::AnyBut(MACHINE), pure: true },
        "host" => Room {
            ours: &["record", "assess", "plugin-api"],
            outside: Outside::AnyBut(&["clap", "indicatif"]),
            pure: false,
        },
        "register" => Room {
            ours: &["record", "assess", "plugin-api"],
            outside: Outside::Only(&["rusqlite", "sha2"]),
            pure: false,
        },
        "cli" => Room { ours: &["*"], outside: Outside::AnyBut(&[]), pure: false },
        "xtask" => Room { ours: &[], outside: Outside::AnyBut(&[]), pure: false },
        plugin if plugin.starts_with("plugin-") => Room {
            ours: &["record", "assess", "plugin-api", "pages"],
            outside: Outside::AnyBut(MACHINE),
            pure: true,
        },
        _ => return None,
    };
    Some(room)
}

/// Checks every package of the workspace.
pub(crate) fn run(tree: &Tree, _: &[String]) -> Answer {
    let members = tree.members()?;
    let ours: Vec<&str> = members.iter().map(|member| text(&member["name"])).collect();
    let mut findings = Vec::new();
    for member in &members {
        let path = PathBuf::from(text(&member["manifest_path"]));
        let manifest = tree.read(&path)?;
        let file = tree.relative(&path);
        findings.extend(uses(member, &ours, &file, &manifest));
        findings.extend(manifest_rules(&file, &manifest));
        if room(text(&member["name"])).is_some_and(|room| room.pure) {
            let folder = file.parent().unwrap_or(Path::new("")).join("src");
            findings.extend(purity(tree, &folder)?);
        }
    }
    findings.sort();
    Ok(Report { findings, summary: format!("{} packages of ours looked at", members.len()) })
}

/// What one package uses, against its room.
fn uses(member: &Value, ours: &[&str], file: &Path, manifest: &str) -> Vec<Finding> {
    let name = text(&member["name"]);
    let Some(room) = room(name) else {
        let message = format!("package `{name}` has no room: name it in xtask/src/deps.rs and in the design");
        return vec![Finding::new(file, line_of(manifest, "name"), message)];
    };
    let mut findings = Vec::new();
    let folder = file.parent().unwrap_or(Path::new(""));
    let wanted = match name.strip_prefix("plugin-") {
        Some(format) if name != "plugin-api" => Path::new("plugins").join(format),
        _ if name == "xtask" => PathBuf::from("xtask"),
        _ => Path::new("crates").join(name),
    };
    if folder != wanted {
        let message = format!("package `{name}` belongs in {}", wanted.display());
        findings.push(Finding::new(file, line_of(manifest, "name"), message));
    }
    for dependency in list(&member["dependencies"]) {
        let used = text(&dependency["name"]);
        let line = line_of(manifest, used);
        let for_tests = dependency["kind"] == "dev";
        if ours.contains(&used) {
            let allowed = match room.ours {
                ["*"] => used != "xtask",
                some => some.contains(&used),
            };
            if !allowed {
                let whom =
                    if room.ours.is_empty() { "nothing of ours".to_owned() } else { room.ours.join(", ") };
                let message = format!("`{name}` may not use `{used}`{}: it may use {whom}", dev(for_tests));
                findings.push(Finding::new(file, line, message));
            }
            continue;
        }
        // Tests may bring what they like from outside: nothing of it reaches the program.
        if for_tests {
            continue;
        }
        let refused = match room.outside {
            Outside::Only(some) => !some.contains(&used),
            Outside::AnyBut(some) => some.contains(&used),
        };
        if refused {
            let message =
                format!("`{name}` may not use `{used}` from outside (xtask/src/deps.rs says what it may)");
            findings.push(Finding::new(file, line, message));
        }
    }
    findings
}

fn dev(for_tests: bool) -> &'static str {
    if for_tests { " even in its tests" } else { "" }
}

/// How each manifest reads: versions and lints from the workspace, never published, no code at build time.
fn manifest_rules(file: &Path, manifest: &str) -> Vec<Finding> {
    let table: toml::Table = match toml::from_str(manifest) {
        Ok(table) => table,
        Err(error) => return vec![Finding::new(file, 1, error.message().to_owned())],
    };
    let mut findings = Vec::new();
    let package = table.get("package");
    for key in ["version", "edition", "rust-version", "license"] {
        if package.and_then(|package| package.get(key)).is_none_or(|value| !from_workspace(value)) {
            findings.push(Finding::new(
                file,
                line_of(manifest, key),
                format!("write `{key}.workspace = true`"),
            ));
        }
    }
    // The workspace says `publish = false`; a package may say so itself.
    let publish = package.and_then(|package| package.get("publish"));
    if publish.is_none_or(|value| value.as_bool() != Some(false) && !from_workspace(value)) {
        findings.push(Finding::new(file, line_of(manifest, "publish"), "write `publish.workspace = true`"));
    }
    if !table.get("lints").is_some_and(from_workspace) {
        findings.push(Finding::new(file, 1, "write `[lints]` with `workspace = true`"));
    }
    if package.is_some_and(|package| package.get("build").is_some()) {
        findings.push(Finding::new(file, line_of(manifest, "build"), "no build script of our own"));
    }
    let targets =
        table.get("target").and_then(toml::Value::as_table).into_iter().flat_map(toml::Table::values);
    for place in std::iter::once(&toml::Value::Table(table.clone())).chain(targets) {
        for kind in ["dependencies", "dev-dependencies", "build-dependencies"] {
            let Some(dependencies) = place.get(kind).and_then(toml::Value::as_table) else { continue };
            for (name, value) in dependencies {
                if !from_workspace(value) {
                    let message = format!(
                        "`{name}`: versions stand in the top Cargo.toml; write `{name}.workspace = true`"
                    );
                    findings.push(Finding::new(file, line_of(manifest, name), message));
                }
            }
        }
    }
    findings
}

fn from_workspace(value: &toml::Value) -> bool {
    value.get("workspace").and_then(toml::Value::as_bool) == Some(true)
}

/// What a pure room may not name. Clippy knows single functions; this list knows whole modules of std.
const IMPURE: &[&str] = &[
    "std::fs",
    "std::env",
    "std::process",
    "std::net",
    "std::time",
    "std::io::stdout",
    "std::io::stderr",
    "std::io::stdin",
    "Zoned::now(",
    "Timestamp::now(",
];

/// Looks for what a pure room may not hold, outside its tests, in all files below `folder`.
fn purity(tree: &Tree, folder: &Path) -> Result<Vec<Finding>, String> {
    let mut findings = Vec::new();
    let library = folder.join("lib.rs");
    if !tree.read(&library)?.contains("#![warn(clippy::disallowed_methods") {
        findings.push(Finding::new(library, 1, "a pure room says `#![warn(clippy::disallowed_methods)]`"));
    }
    let mut folders = vec![folder.to_path_buf()];
    while let Some(folder) = folders.pop() {
        let entries = std::fs::read_dir(tree.root.join(&folder));
        for entry in entries.map_err(|error| format!("{}: {error}", folder.display()))?.flatten() {
            let file = folder.join(entry.file_name());
            let is_rust = file.extension().is_some_and(|extension| extension == "rs");
            if entry.path().is_dir() {
                folders.push(file);
            } else if is_rust
                && !file.file_stem().is_some_and(|stem| stem.to_string_lossy().ends_with("tests"))
            {
                findings.extend(impure_lines(&file, &tree.read(&file)?));
            }
        }
    }
    Ok(findings)
}

fn impure_lines(file: &Path, text: &str) -> Vec<Finding> {
    // Tests stand at the end of a file, as everywhere in this workspace.
    let code = text.lines().enumerate().take_while(|(_, line)| line.trim() != "#[cfg(test)]");
    let mut findings = Vec::new();
    for (index, line) in code {
        if line.trim_start().starts_with("//") {
            continue;
        }
        if let Some(word) = IMPURE.iter().find(|word| line.contains(**word)) {
            let message =
                format!("`{word}` in a pure room: only host touches files, clock, environment and processes");
            findings.push(Finding::new(file, index + 1, message));
        }
    }
    findings
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn found(name: &str, dependencies: Value) -> Vec<String> {
        let member = json!({ "name": name, "dependencies": dependencies });
        let ours =
            ["record", "assess", "plugin-api", "pages", "host", "cli", "xtask", "plugin-csv", "plugin-pdf"];
        let folder = match name.strip_prefix("plugin-") {
            Some(format) if name != "plugin-api" => format!("plugins/{format}"),
            _ => format!("crates/{name}"),
        };
        let file = Path::new(&folder).join("Cargo.toml");
        uses(&member, &ours, &file, "").into_iter().map(|finding| finding.message).collect()
    }

    #[test]
    fn a_plug_in_may_use_the_interface_and_no_other_plug_in() {
        assert!(
            found(
                "plugin-pdf",
                json!([{"name": "plugin-api", "kind": null}, {"name": "krilla", "kind": null}])
            )
            .is_empty()
        );
        assert_eq!(found("plugin-pdf", json!([{"name": "plugin-csv", "kind": null}])).len(), 1);
        assert_eq!(found("plugin-pdf", json!([{"name": "plugin-csv", "kind": "dev"}])).len(), 1);
        assert_eq!(found("plugin-pdf", json!([{"name": "host", "kind": null}])).len(), 1);
        assert_eq!(found("plugin-pdf", json!([{"name": "clap", "kind": null}])).len(), 1);
    }

    #[test]
    fn the_record_uses_nothing_of_ours_and_no_serialiser() {
        assert!(
            found(
                "record",
                json!([{"name": "rust_decimal", "kind": null}, {"name": "serde", "kind": "dev"}])
            )
            .is_empty()
        );
        assert_eq!(found("record", json!([{"name": "serde", "kind": null}])).len(), 1);
        assert_eq!(found("record", json!([{"name": "assess", "kind": null}])).len(), 1);
    }

    #[test]
    fn only_the_program_names_plug_ins() {
        assert_eq!(found("host", json!([{"name": "plugin-csv", "kind": null}])).len(), 1);
        assert!(found("cli", json!([{"name": "plugin-csv", "kind": null}])).is_empty());
        assert_eq!(found("cli", json!([{"name": "xtask", "kind": null}])).len(), 1);
        assert_eq!(found("surprise", json!([])).len(), 1);
    }

    #[test]
    fn a_manifest_takes_versions_from_the_workspace() {
        let sound = "[package]\nname = \"record\"\nversion.workspace = true\nedition.workspace = true\n\
             rust-version.workspace = true\nlicense.workspace = true\npublish = false\n\
             [dependencies]\njiff.workspace = true\n[lints]\nworkspace = true\n";
        let file = Path::new("crates/record/Cargo.toml");
        assert_eq!(manifest_rules(file, sound), []);
        let own_version = sound.replace("jiff.workspace = true", "jiff = \"1\"");
        let findings = manifest_rules(file, &own_version);
        assert_eq!((findings.len(), findings[0].line), (1, 9));
        assert_eq!(manifest_rules(file, &sound.replace("publish = false", "publish.workspace = true")), []);
        assert_eq!(manifest_rules(file, &sound.replace("publish = false\n", "")).len(), 1);
        assert_eq!(manifest_rules(file, &sound.replace("[lints]\nworkspace = true\n", "")).len(), 1);
    }

    #[test]
    fn a_pure_room_names_no_file_access_outside_its_tests() {
        let text =
            "use std::fmt;\nlet x = std::fs::read(p);\n// std::env is not here\n#[cfg(test)]\nuse std::fs;\n";
        let findings = impure_lines(Path::new("a.rs"), text);
        assert_eq!(findings.iter().map(|finding| finding.line).collect::<Vec<_>>(), [2]);
    }
}
