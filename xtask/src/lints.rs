//! The checks that cargo's own tools make: format, warnings, documentation.

use crate::finding::{Answer, Report};
use crate::tree::{Tree, run};

/// Every file is formatted as rustfmt.toml says.
pub(crate) fn fmt(tree: &Tree, _: &[String]) -> Answer {
    run(tree.cargo().args(["fmt", "--all", "--check"]))?;
    Ok(Report::default())
}

/// No warning of the compiler or of clippy, tests and benches included.
pub(crate) fn clippy(tree: &Tree, _: &[String]) -> Answer {
    run(tree.cargo().args(["clippy", "--workspace", "--all-targets", "--", "-D", "warnings"]))?;
    Ok(Report::default())
}

/// No warning of rustdoc: broken links, bare addresses.
pub(crate) fn doc(tree: &Tree, _: &[String]) -> Answer {
    run(tree.cargo().args(["doc", "--workspace", "--no-deps"]).env("RUSTDOCFLAGS", "-D warnings"))?;
    Ok(Report::default())
}
