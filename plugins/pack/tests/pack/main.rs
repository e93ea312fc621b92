//! Packs written and verified, held against outside material and outside judges.

// Test code may panic, and says what it skipped.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

mod conformance;
mod flips;
mod folder;
mod job;
mod judges;
mod properties;
mod reference;
mod samples;
mod signatures;
mod time_stamps;
mod writing;
