//! What can be said on the command line.

use clap::{Args, Parser, Subcommand, ValueEnum};
use std::path::PathBuf;

/// Reads the records of electrostatic-discharge immunity tests as a bench leaves them, keeps the origin of
/// every value, computes coverage and verdict, and writes what each reader needs.
///
/// A job is a folder with a job.toml (facts, plan, and which files are logs). Start with
/// `fulgurite assess FOLDER` to see the verdict and what is missing, then
/// `fulgurite convert FOLDER --to pdf,xml,pack --out OUT`.
#[derive(Debug, Parser)]
#[command(name = "fulgurite", version, max_term_width = 100, after_help = EXIT_CODES)]
pub(crate) struct Arguments {
    #[command(flatten)]
    pub(crate) common: Common,
    #[command(subcommand)]
    pub(crate) command: Command,
}

const EXIT_CODES: &str = "\
Exit codes:
  0  done; a verdict of fail is a result, not an error (see --fail-on)
  1  the data have errors: something was refused, or set aside and the rest written
  2  could not run: arguments, settings, files
  3  a plug-in broke

High voltage: this program records tests, it does not make them safe.
Local rules, the standard itself and trained staff come first.";

/// Options of every command.
#[derive(Debug, Args)]
pub(crate) struct Common {
    /// How findings are printed on standard error
    #[arg(long, global = true, value_enum, default_value_t = MessageFormat::Full, value_name = "FORM")]
    pub(crate) message_format: MessageFormat,
    /// Say less: no summary, no progress
    #[arg(long, short, global = true)]
    pub(crate) quiet: bool,
}

/// How findings are printed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum MessageFormat {
    /// Several lines each: what, where, why, what to do
    Full,
    /// One line each, file:row:column first
    Short,
    /// One JSON object a line; what became of each job too
    Json,
}

/// What to do.
#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Read jobs and write them in other forms: papers, summary, pack
    Convert(Convert),
    /// Show the verdict with its reasons, and what would settle it
    Assess(Assess),
    /// Figures of generator waveforms against the standard's limits: the quick look before a test
    Trace(Trace),
    /// Check an evidence pack, as a zip or unpacked: structure and every checksum
    Verify(Verify),
    /// List what can be read and written
    Formats,
    /// Explain a finding's code
    Explain(Explain),
    /// Check the templates that papers are made of
    #[command(subcommand)]
    Template(Template),
    /// Run the program's own reference cases: published figures against what it computes
    SelfCheck(SelfCheck),
    /// Print a schema (`record`: the canonical JSON)
    #[command(hide = true)]
    Schema(Schema),
}

/// Where the data of standards come from.
#[derive(Debug, Args)]
pub(crate) struct StandardsFrom {
    /// A file or folder with the laboratory's own standards' data, over those built in
    #[arg(long, value_name = "PATH")]
    pub(crate) standards: Vec<PathBuf>,
}

#[derive(Debug, Args)]
pub(crate) struct Convert {
    /// Job folders, folders that hold job folders, single logs or records
    #[arg(required = true, value_name = "INPUT")]
    pub(crate) inputs: Vec<PathBuf>,
    /// Formats to write, separated by commas; `fulgurite formats` lists them
    #[arg(long, required = true, value_delimiter = ',', value_name = "FORMATS")]
    pub(crate) to: Vec<String>,
    /// Folder to write to; with several jobs, each gets a folder in it
    #[arg(long, value_name = "DIR")]
    pub(crate) out: PathBuf,
    /// Overwrite outputs that exist and differ
    #[arg(long)]
    pub(crate) replace: bool,
    /// Reader for loose files, where two recognise them
    #[arg(long, value_name = "READER")]
    pub(crate) from: Option<String>,
    /// Language of the papers
    #[arg(long, default_value = "en", value_name = "LANG")]
    pub(crate) lang: String,
    /// Folder with a laboratory's own template files, laid over the built-in ones
    #[arg(long, value_name = "DIR")]
    pub(crate) template: Option<PathBuf>,
    /// Verdicts that end in exit code 1, for scripts: fail, or fail,undetermined
    #[arg(long, value_delimiter = ',', value_enum, value_name = "VERDICTS")]
    pub(crate) fail_on: Vec<FailOn>,
    /// Show which jobs there are and where each would go; read and write nothing
    #[arg(long)]
    pub(crate) dry_run: bool,
    /// List the jobs with verdict, rows and outputs in a file: CSV if its name ends so, else JSON lines
    #[arg(long, value_name = "FILE")]
    pub(crate) summary: Option<PathBuf>,
    /// With several jobs: do all of them again, also those that an earlier run has done and that have not
    /// changed (the journal in OUT/.fulgurite says which)
    #[arg(long)]
    pub(crate) afresh: bool,
    #[command(flatten)]
    pub(crate) standards: StandardsFrom,
}

/// A verdict that a script wants to stop at.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum FailOn {
    /// Not met
    Fail,
    /// Can't be said
    Undetermined,
}

#[derive(Debug, Args)]
pub(crate) struct Assess {
    /// Job folders, folders that hold job folders, single logs or records
    #[arg(required = true, value_name = "INPUT")]
    pub(crate) inputs: Vec<PathBuf>,
    /// Print the assessment as JSON, one object per job
    #[arg(long)]
    pub(crate) json: bool,
    /// Reader for loose files, where two recognise them
    #[arg(long, value_name = "READER")]
    pub(crate) from: Option<String>,
    /// Verdicts that end in exit code 1, for scripts: fail, or fail,undetermined
    #[arg(long, value_delimiter = ',', value_enum, value_name = "VERDICTS")]
    pub(crate) fail_on: Vec<FailOn>,
    #[command(flatten)]
    pub(crate) standards: StandardsFrom,
}

#[derive(Debug, Args)]
pub(crate) struct Trace {
    /// Oscilloscope files
    #[arg(required = true, value_name = "FILE")]
    pub(crate) files: Vec<PathBuf>,
    /// Magnitude of the charge voltage, in kilovolts
    #[arg(long, value_name = "KV")]
    pub(crate) charge_kv: Option<String>,
    /// Standard whose limits are used
    #[arg(long, default_value = "iec-61000-4-2-ed2", value_name = "ID")]
    pub(crate) standard: String,
    /// Conversion of target, attenuator and cable, for records in volts
    #[arg(long, value_name = "A/V")]
    pub(crate) scale_a_per_v: Option<String>,
    /// Analogue bandwidth of the measuring chain, in gigahertz
    #[arg(long, value_name = "GHZ")]
    pub(crate) bandwidth_ghz: Option<String>,
    /// A setting of the reader, as KEY=VALUE (`fulgurite formats` lists them)
    #[arg(long = "set", value_name = "KEY=VALUE")]
    pub(crate) set: Vec<String>,
    /// Print one JSON object per waveform
    #[arg(long)]
    pub(crate) json: bool,
    #[command(flatten)]
    pub(crate) standards: StandardsFrom,
}

#[derive(Debug, Args)]
pub(crate) struct Verify {
    /// The pack: a zip, or the folder that it was unpacked into
    #[arg(value_name = "PACK")]
    pub(crate) pack: PathBuf,
    /// Print the checks as JSON
    #[arg(long)]
    pub(crate) json: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Explain {
    /// A code, as printed in brackets behind `error`, `warning` or `note`
    #[arg(value_name = "CODE", required_unless_present = "list")]
    pub(crate) code: Option<String>,
    /// Print every code, one a line
    #[arg(long)]
    pub(crate) list: bool,
}

/// What to do with templates.
#[derive(Debug, Subcommand)]
pub(crate) enum Template {
    /// Render every template in every language over an empty record and the jobs given
    Check(TemplateCheck),
}

#[derive(Debug, Args)]
pub(crate) struct TemplateCheck {
    /// Jobs to render
    #[arg(value_name = "INPUT")]
    pub(crate) inputs: Vec<PathBuf>,
    /// Check every template that comes with the program
    #[arg(long, required_unless_present = "template")]
    pub(crate) all: bool,
    /// Folder with a laboratory's own template files, laid over the report's
    #[arg(long, value_name = "DIR")]
    pub(crate) template: Option<PathBuf>,
}

#[derive(Debug, Args)]
pub(crate) struct SelfCheck {
    /// Name the sources that each function is held against
    #[arg(long)]
    pub(crate) list: bool,
    /// Write a validation paper there, `self-check.html`: every figure beside its source (for ISO/IEC 17025 7.11.2)
    #[arg(long, value_name = "DIR")]
    pub(crate) out: Option<PathBuf>,
    /// Overwrite a paper that exists and differs
    #[arg(long, requires = "out")]
    pub(crate) replace: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Schema {
    /// Which one
    #[arg(value_parser = ["record"], value_name = "NAME")]
    pub(crate) name: String,
}
