//! Runs the viewer's JavaScript outside a browser.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// The viewer's folder.
pub(crate) fn viewer() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("viewer")
}

/// What node answers; `None`, said aloud, where there is no node. Under CI that is a failure.
pub(crate) fn node(arguments: &[&str]) -> Option<Output> {
    match Command::new("node").current_dir(viewer()).args(arguments).output() {
        Ok(output) => Some(output),
        Err(error) if std::env::var_os("CI").is_none() => {
            eprintln!("skipped: node can't be started ({error})");
            None
        }
        Err(error) => panic!("CI needs node: {error}"),
    }
}

/// Both streams of what it said.
pub(crate) fn told(output: &Output) -> String {
    format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr))
}

#[test]
fn its_own_tests_pass() {
    let Some(output) = node(&["--test", "tests"]) else { return };
    assert!(output.status.success(), "{}", told(&output));
}
