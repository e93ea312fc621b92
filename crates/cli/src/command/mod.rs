//! The commands.

pub(crate) mod assess;
pub(crate) mod convert;
pub(crate) mod explain;
pub(crate) mod formats;
mod job_list;
mod outcome;
pub(crate) mod schema;
pub(crate) mod self_check;
mod standards;
pub(crate) mod template;
pub(crate) mod trace;
pub(crate) mod verify;
