//! What can be said to the commands that work for other programs: filter, watch, register, settings.

use crate::making::{AtATime, Making};
use clap::{Args, Subcommand, ValueEnum};
use std::path::PathBuf;
use std::time::Duration;

/// One path a line: a folder with a job.toml, or a single log, record or pack. The outputs go to a folder below DIR
/// that has the job's path, so that many of these commands can share one list of jobs and one DIR. Every line gets
/// its line; findings are in it. The exit code is 0 when every line was answered, whatever the answers say: programs
/// that spread work over machines take any other for a reason to run all lines again.
#[derive(Debug, Args)]
pub(crate) struct Filter {
    #[command(flatten)]
    pub(crate) making: Making,
    #[command(flatten)]
    pub(crate) at_a_time: AtATime,
    /// Overwrite outputs that exist and differ
    #[arg(long)]
    pub(crate) replace: bool,
}

/// Each file or folder in DROP is one job. It is taken when it is whole: when nothing in it has changed for some time,
/// or when an empty file NAME.ready lies beside it. Names that begin with a dot or end in .part, .partial, .filepart,
/// .crdownload, .tmp or .temp are left alone: rename them when they are whole. What was taken gets a number, its
/// outputs in OUT/NUMBER-NAME, one line in OUT/results.jsonl, and then moves to DROP/done or DROP/refused. The watch
/// may be stopped or killed at any moment; started again it goes on, and no line is lost or doubled.
#[derive(Debug, Args)]
pub(crate) struct Watch {
    /// Folder to watch
    #[arg(value_name = "DROP")]
    pub(crate) drop: PathBuf,
    #[command(flatten)]
    pub(crate) making: Making,
    #[command(flatten)]
    pub(crate) at_a_time: AtATime,
    /// When an input is whole
    #[arg(long, value_enum, default_value_t = Whole::Settled, value_name = "RULE")]
    pub(crate) whole: Whole,
    /// With `settled`: for so many seconds nothing in it has changed
    #[arg(long, default_value = "10", value_name = "SECONDS", value_parser = seconds)]
    pub(crate) settle: Duration,
    /// Look every so many seconds, instead of waiting for the system's word: for network shares
    #[arg(long, value_name = "SECONDS", value_parser = seconds)]
    pub(crate) poll: Option<Duration>,
    /// Seconds after which what could not be written is tried again
    #[arg(long, default_value = "30", value_name = "SECONDS", value_parser = seconds)]
    pub(crate) retry: Duration,
    /// End when nothing waits any more: for programs that start others at set times
    #[arg(long)]
    pub(crate) once: bool,
}

/// When an input of a drop folder is whole.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Whole {
    /// When nothing in it has changed for the time of --settle, or its marker is there
    Settled,
    /// Only when its marker is there: an empty file NAME.ready beside it
    Marked,
}

fn seconds(text: &str) -> Result<Duration, String> {
    let seconds = text.parse::<f64>().ok().filter(|s| (0.01..=86_400.0).contains(s));
    seconds.map(Duration::from_secs_f64).ok_or_else(|| "a number of seconds from 0.01 to 86400".to_owned())
}

/// What to do with a register.
#[derive(Debug, Subcommand)]
pub(crate) enum Register {
    /// Find records: all that is said must hold
    Find(RegisterFind),
}

#[derive(Clone, Debug, Args)]
pub(crate) struct RegisterFind {
    /// The register
    #[arg(value_name = "FILE")]
    pub(crate) file: PathBuf,
    /// Part of the item's name or type, whatever its case
    #[arg(long, value_name = "TEXT")]
    pub(crate) item: Option<String>,
    /// The item's serial number
    #[arg(long, value_name = "SERIAL")]
    pub(crate) serial: Option<String>,
    /// Id of the standard
    #[arg(long, value_name = "ID")]
    pub(crate) standard: Option<String>,
    /// Verdict
    #[arg(long, value_name = "VERDICT", value_parser = ["pass", "fail", "undetermined"])]
    pub(crate) verdict: Option<String>,
    /// Inventory name or serial number of equipment that was used
    #[arg(long, value_name = "ID")]
    pub(crate) equipment: Option<String>,
    /// Only work that ended on this day or later, such as 2026-03-12
    #[arg(long, value_name = "DATE", value_parser = day)]
    pub(crate) from: Option<String>,
    /// Only work that began on this day or earlier
    #[arg(long, value_name = "DATE", value_parser = day)]
    pub(crate) to: Option<String>,
    /// An order, sample or other reference of the client or the records system
    #[arg(long, value_name = "TEXT")]
    pub(crate) reference: Option<String>,
    /// Print one JSON object a record
    #[arg(long)]
    pub(crate) json: bool,
}

fn day(text: &str) -> Result<String, String> {
    match text.parse::<record::Date>() {
        Ok(day) => Ok(day.to_string()),
        Err(_) => Err("a day such as 2026-03-12".to_owned()),
    }
}

/// What to do with settings.
#[derive(Debug, Subcommand)]
pub(crate) enum SettingsCommand {
    /// Show every setting, its value, and the file and row it comes from
    Show(SettingsShow),
}

#[derive(Debug, Args)]
pub(crate) struct SettingsShow {
    /// Print one JSON object a setting
    #[arg(long)]
    pub(crate) json: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Completions {
    /// Which shell
    #[arg(value_name = "SHELL")]
    pub(crate) shell: clap_complete::Shell,
}

#[derive(Debug, Args)]
pub(crate) struct Man {
    /// Write the pages of all commands there
    #[arg(long, value_name = "DIR")]
    pub(crate) out: Option<PathBuf>,
    /// Overwrite pages that exist and differ
    #[arg(long, requires = "out")]
    pub(crate) replace: bool,
}
