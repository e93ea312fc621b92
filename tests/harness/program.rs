//! The built program, called once.

use std::path::Path;
use std::process::{Command, Output};

/// A path as an argument.
pub(crate) fn text(path: &Path) -> &str {
    path.to_str().expect("a path of a test is text")
}

/// Runs the program.
pub(crate) fn run(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_fulgurite")).args(arguments).output().expect("the program is built")
}

/// What it said.
pub(crate) fn told(output: &Output) -> String {
    format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr))
}
