//! The commands.

pub(crate) mod affected;
pub(crate) mod assess;
pub(crate) mod compare;
pub(crate) mod convert;
pub(crate) mod explain;
pub(crate) mod filter;
pub(crate) mod form;
pub(crate) mod formats;
pub(crate) mod health;
mod job_list;
mod making;
pub(crate) mod mapping;
mod outcome;
pub(crate) mod plan;
pub(crate) mod preview;
pub(crate) mod register;
pub(crate) mod schema;
pub(crate) mod self_check;
mod serve;
pub(crate) mod settings;
pub(crate) mod shell;
pub(crate) mod sign;
pub(crate) mod standards;
pub(crate) mod template;
pub(crate) mod trace;
pub(crate) mod verify;
pub(crate) mod watch;
