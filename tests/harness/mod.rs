//! The parts of the case harness.

pub(crate) mod actor;
pub(crate) mod case;
pub(crate) mod codes;
pub(crate) mod coverage;
pub(crate) mod description;
pub(crate) mod entries;
pub(crate) mod expected;
pub(crate) mod figures;
mod folder;
pub(crate) mod folders;
pub(crate) mod process;
pub(crate) mod round_trip;
pub(crate) mod self_test;
pub(crate) mod workplace;
