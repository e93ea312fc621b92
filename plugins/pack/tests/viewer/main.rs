//! The viewer of packs: its own tests in node, and its verdicts against ours on many random records.
#![allow(clippy::unwrap_used, clippy::print_stderr, reason = "a test that can not go on has failed")]

mod agreement;
mod browser;
mod chance;
mod forgeries;
mod node;
mod packed;
mod random_discharges;
mod random_record;
mod random_standard;
