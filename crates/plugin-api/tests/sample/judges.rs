//! Outside judges: Python packages in the virtual environment that `FULGURITE_JUDGES` names, and programs.
#![allow(clippy::disallowed_methods, reason = "only tests use it, and they ask other programs")]

use std::ffi::OsStr;
use std::path::PathBuf;
use std::process::Command;

/// The Python of the judges; none where the variable names no environment.
pub(crate) fn python() -> Option<PathBuf> {
    let judges = PathBuf::from(std::env::var_os("FULGURITE_JUDGES")?);
    ["bin/python", "Scripts/python.exe"].into_iter().map(|inside| judges.join(inside)).find(|p| p.exists())
}

/// Whether a program starts.
pub(crate) fn starts(program: &str) -> bool {
    Command::new(program).arg("--version").output().is_ok()
}

/// Runs a program: whether it ended well, and all that it said.
pub(crate) fn ask<A: AsRef<OsStr>>(program: impl AsRef<OsStr>, arguments: &[A]) -> (bool, String) {
    let output = Command::new(program).args(arguments).output().unwrap();
    let said = [output.stdout, output.stderr].concat();
    (output.status.success(), String::from_utf8_lossy(&said).into_owned())
}
