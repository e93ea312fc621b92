//! Chores that the built program does itself: its schemas, its templates, its own check of its figures.

use std::path::Path;

use crate::finding::{Answer, Finding, Report};
use crate::judges;
use crate::suite::Counts;
use crate::tree::{Tree, run, run_heard, stdout_of};

/// Each schema that the program can print: the word after `schema`, and the file it is kept in.
const SCHEMAS: &[(&str, &str)] = &[
    ("record", "shared/schemas/record-1.schema.json"),
    ("form", "shared/schemas/form-1.schema.json"),
    ("mapping", "shared/schemas/mapping-1.schema.json"),
    ("assessment", "shared/schemas/assessment-1.schema.json"),
    ("changes", "shared/schemas/changes-1.schema.json"),
    ("job", "shared/schemas/job-1.schema.json"),
    ("result", "shared/schemas/result-1.schema.json"),
    ("register", "shared/schemas/register-1.sql"),
    ("plugin-lines", "shared/schemas/plugin-lines-1.schema.json"),
];

/// Writes the schemas, or with `--check` compares them and writes nothing.
pub(crate) fn schemas(tree: &Tree, arguments: &[String]) -> Answer {
    let check = match arguments {
        [] => false,
        [word] if word == "--check" => true,
        _ => return Err("takes `--check` or nothing".to_owned()),
    };
    let program = tree.program()?.to_path_buf();
    let mut report = Report::default();
    for (name, file) in SCHEMAS {
        let printed = stdout_of(tree.command(&program).args(["schema", name]))?;
        let path = tree.root.join(file);
        if check {
            let kept = std::fs::read_to_string(&path).unwrap_or_default();
            if let Some(line) = first_difference(&kept, &printed) {
                report.findings.push(Finding::new(*file, line, "is stale: run `cargo xtask schemas`"));
            }
        } else {
            let written = std::fs::create_dir_all(path.parent().unwrap_or(Path::new(".")))
                .and_then(|()| std::fs::write(&path, &printed));
            written.map_err(|error| format!("{file}: {error}"))?;
        }
    }
    report.summary = format!("{} {}", SCHEMAS.len(), if check { "compared" } else { "written" });
    Ok(report)
}

/// Line (from 1) at which two texts begin to differ.
fn first_difference(kept: &str, printed: &str) -> Option<usize> {
    if kept == printed {
        return None;
    }
    let same = kept.lines().zip(printed.lines()).take_while(|(a, b)| a == b).count();
    Some(same + 1)
}

/// Lets the program check every template.
pub(crate) fn check_templates(tree: &Tree, _: &[String]) -> Answer {
    let program = tree.program()?.to_path_buf();
    run(tree.command(program).args(["template", "check", "--all", "tests/demo"]))?;
    Ok(Report::default())
}

/// Lets the program check its own figures, then runs the tests that hold outside reference cases: those with
/// `reference` in their name.
pub(crate) fn reference_cases(tree: &Tree, _: &[String]) -> Answer {
    let program = tree.program()?.to_path_buf();
    let (heard, sound) = run_heard(tree.command(program).arg("self-check"))?;
    let own = own_checks(&heard).filter(|_| sound);
    let own = own.ok_or("`self-check` failed, or did not end with `N checks, 0 failed`")?;
    let mut cargo = tree.cargo();
    cargo.args(["test", "--workspace", "--no-fail-fast", "--", "reference"]);
    judges::hand_over(tree, &mut cargo)?;
    let (heard, sound) = run_heard(&mut cargo)?;
    let tests = Counts::of(&heard);
    match (sound && tests.failed == 0, tests.passed) {
        (false, _) => Err(format!("reference tests: {tests}")),
        (true, 0) => Err("no test has `reference` in its name".to_owned()),
        (true, passed) => Ok(Report::sound(format!("{} checks", own + passed))),
    }
}

/// N of the closing line `N checks, 0 failed`.
fn own_checks(heard: &str) -> Option<usize> {
    let line = heard.lines().rev().find(|line| !line.trim().is_empty())?;
    let (checks, failed) = line.trim().split_once(" checks, ")?;
    if failed != "0 failed" {
        return None;
    }
    checks.parse().ok().filter(|&count| count > 0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_closing_line_is_read_and_nothing_else() {
        assert_eq!(own_checks("peak: ok\n19 checks, 0 failed\n\n"), Some(19));
        assert_eq!(own_checks("19 checks, 1 failed\n"), None);
        assert_eq!(own_checks("0 checks, 0 failed\n"), None);
        assert_eq!(own_checks("done\n"), None);
    }

    #[test]
    fn the_first_line_that_differs_is_named() {
        assert_eq!(first_difference("a\nb\n", "a\nb\n"), None);
        assert_eq!(first_difference("a\nb\n", "a\nc\n"), Some(2));
        assert_eq!(first_difference("", "a\n"), Some(1));
        assert_eq!(first_difference("a\n", "a"), Some(2));
    }
}
