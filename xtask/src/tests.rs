//! Runs every test of the workspace, after setting up what the tests ask.

use crate::finding::{Answer, Report};
use crate::judges;
use crate::tree::{Tree, run};

/// Sets up the judges, then runs `cargo test --workspace` with the arguments given.
///
/// A judge that is missing is named and its tests are shown as ignored; under CI that is a failure.
pub(crate) fn run_all(tree: &Tree, arguments: &[String]) -> Answer {
    let missing = judges::set_up(tree)?;
    for judge in &missing {
        println!("not asked: {judge}");
    }
    if tree.ci && !missing.is_empty() {
        return Err(format!("{} judges are missing, and CI asks them all", missing.len()));
    }
    let mut cargo = tree.cargo();
    cargo.args(["test", "--workspace", "--no-fail-fast"]).args(arguments);
    judges::hand_over(tree, &mut cargo)?;
    run(&mut cargo)?;
    let skipped = if missing.is_empty() {
        "no judge missing".to_owned()
    } else {
        format!("not asked: {}", missing.join("; "))
    };
    Ok(Report::sound(format!("all passed, {skipped}")))
}
