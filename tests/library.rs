//! Another program on top of the engine: the example that the README shows, run on the demonstration jobs.
#![allow(clippy::unwrap_used, reason = "a test that can not go on has failed")]

#[path = "../crates/cli/examples/convert_and_assess.rs"]
mod example;

use std::path::Path;

#[test]
fn another_program_converts_and_assesses() {
    let top = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let out = tempfile::tempdir().unwrap();
    let mut verdicts = example::convert_and_assess(&top.join("tests/demo"), out.path()).unwrap();
    verdicts.sort();
    verdicts.retain(|(name, _)| name.starts_with("lock-gate"));
    let found: Vec<(&str, &str)> =
        verdicts.iter().map(|(name, verdict)| (name.as_str(), verdict.unwrap().as_str())).collect();
    // What tests/demo was made to show.
    assert_eq!(found, [("lock-gate", "fail"), ("lock-gate-settled", "pass")]);
    for name in ["lock-gate.xml", "lock-gate.results.csv"] {
        assert!(out.path().join("lock-gate").join(name).is_file(), "{name}");
    }
}

#[test]
fn the_readme_shows_what_is_run() {
    let top = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let read = |path: &str| std::fs::read_to_string(top.join(path)).unwrap();
    let code = read("crates/cli/examples/convert_and_assess.rs");
    let between = |text: &str, from: &str, to: &str| {
        text.split(from).nth(1).unwrap().split(to).next().unwrap().to_owned()
    };
    let run: Vec<String> = between(&code, "// README begins\n", "    // README ends")
        .lines()
        .map(|line| line.strip_prefix("    ").unwrap_or(line).to_owned())
        .collect();
    let shown: Vec<String> =
        between(&read("README.md"), "```rust\n", "```").lines().map(str::to_owned).collect();
    assert_eq!(shown, run);
}
