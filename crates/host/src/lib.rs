//! The engine: finds inputs, detects formats, runs readers, checks, assesses, runs writers, and puts what
//! they made on disk whole or not at all.
//!
//! The only crate that touches files, clock, environment and processes. It knows the contract of plug-ins
//! and no plug-in: the program hands it the list.
//!
//! Another program may do the same: [`Plugins`] with the formats it wants, [`Standards::built_in`],
//! [`ConvertRequest::new`], [`find_jobs`], and [`convert_job`] for each; or [`read_job`] alone, and
//! `assess::assess` on the record. `crates/cli/examples/convert_and_assess.rs` is such a program, and short.
#![forbid(unsafe_code)]

mod amended;
mod batch;
mod bench_server;
mod certificate;
mod clock;
mod codes;
mod convert;
mod error;
mod folder;
mod input;
mod itself;
mod job_file;
mod job_files;
mod job_schema;
mod journal;
mod listed;
mod log_match;
mod mapping;
mod merge;
mod original;
mod output;
mod outside;
mod physical_rows;
mod plugins;
mod read_job;
mod result_line;
mod row_account;
mod set_aside;
mod settings;
mod standards;
mod threads;
mod toml_place;
mod watch;
mod whole_lines;

pub use amended::OlderPack;
pub use batch::{convert_jobs, output_folders};
pub use bench_server::{
    BenchPage, BenchServer, JournalFile, JournalProblem, Torn, address_in_network, kept_token,
};
pub use clock::{now, now_text, seconds_of};
pub use codes::{BAD_SETTING, CODES, UNKNOWN_SETTING};
pub use convert::{
    ConvertRequest, JobResult, JobStatus, Made, Outcome, convert_job, convert_job_to_bytes,
    convert_job_to_file, write_documents,
};
pub use error::HostError;
pub use folder::{FolderTree, Found};
pub use input::{IGNORE_FILE, JobInput, find_jobs, find_jobs_and_logs};
pub use itself::{program_sha256, write_files};
pub use job_schema::job_schema;
pub(crate) use journal::JournalLock;
pub use journal::{FOLDER as JOURNAL_FOLDER, Journal};
pub use listed::convert_listed;
pub use mapping::{Mapping, mapping_schema};
pub use original::Originals;
pub use output::{WholeFile, Written};
pub use outside::{
    Identity, Kind, Manifest, OutsidePlugin, PLUGIN_CODES, PLUGIN_FILE, Pool, Standing, Tried, Trusted,
    TrustedPlugins, try_plugin,
};
pub use plugins::Plugins;
pub use read_job::{
    JobVerification, JobVerifications, NOT_OF_ORIGINALS, ReadJob, ReadSettings, draft_mapping,
    job_verifications, read_again, read_job, read_loose,
};
pub use result_line::{RESULT_LINE, result_line, result_line_schema, result_line_with_findings};
pub use row_account::row_account_to_value;
pub use settings::{PROJECT_SETTINGS, Setting, read_settings, settings_files, user_settings};
pub use standards::{KnownStandard, Standards};
pub use watch::{Keep, WatchCounts, WatchRequest, Watched, WholeRule, watch};
