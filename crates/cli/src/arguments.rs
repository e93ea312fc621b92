//! What can be said on the command line.

use crate::making::Making;
use crate::unattended::{Completions, Filter, Man, Register, SettingsCommand, Watch};
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
    /// A plug-in outside the program, by its folder; it must be trusted (`fulgurite plugin trust DIR`)
    #[arg(long, global = true, value_name = "DIR")]
    pub(crate) plugin: Vec<PathBuf>,
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
    /// The test plan: series in order, positions, time at the bench; or what is owed for another standard
    Plan(Plan),
    /// Which verdicts stand when a piece of equipment was found wrong afterwards
    Affected(Affected),
    /// Figures of generator waveforms against the standard's limits: the quick look before a test
    Trace(Trace),
    /// A generator's figures over months, from the verifications in jobs: control chart, trend, when it leaves its limits
    Health(Health),
    /// Make the form for the bench: one page from facts and plan, to be filled without a network
    Form(Form),
    /// Check an evidence pack, as a zip or unpacked: every checksum, and whether its verdict follows from its evidence
    Verify(Verify),
    /// Look at the data of test standards: levels, counts, limits, each with clause, source and status
    #[command(subcommand)]
    Standards(StandardsCommand),
    /// Sign an evidence pack that is in order
    Sign(Sign),
    /// Show what differs between two jobs or packs: facts, results, levels gained or lost
    Compare(Compare),
    /// Mapping files: write a first one from a log, or see row by row what one makes of a log
    #[command(subcommand)]
    Mapping(MappingCommand),
    /// Convert the job that each line of standard input names, and answer each with a line of JSON, in their order
    Filter(Filter),
    /// Watch a folder into which others drop jobs: each is converted once, and moved to done or refused
    Watch(Watch),
    /// Look into a register: one SQLite file with a row for each record, series, finding, and use of equipment
    #[command(subcommand)]
    Register(Register),
    /// The program's settings, and where each comes from
    #[command(subcommand)]
    Settings(SettingsCommand),
    /// Print the completions of a shell
    Completions(Completions),
    /// Print the manual page, or write those of all commands into a folder
    Man(Man),
    /// List what can be read and written
    Formats,
    /// Plug-ins outside the program: programs of your own, in any language, that read or write a format
    #[command(subcommand)]
    Plugin(PluginCommand),
    /// Explain a finding's code
    Explain(Explain),
    /// Check the templates that papers are made of
    #[command(subcommand)]
    Template(Template),
    /// Run the program's own reference cases: published figures against what it computes
    SelfCheck(SelfCheck),
    /// Print a schema: JSON Schema of record, assessment, comparison, form, mapping, job file, plug-in lines and result line; SQL of the register
    Schema(Schema),
}

/// What to do with the data of standards.
#[derive(Debug, Subcommand)]
pub(crate) enum StandardsCommand {
    /// List the standards at hand
    List(StandardsList),
    /// Show one standard's values, what a test needs first
    Show(StandardsShow),
}

#[derive(Debug, Args)]
pub(crate) struct StandardsList {
    /// Print JSON
    #[arg(long)]
    pub(crate) json: bool,
    #[command(flatten)]
    pub(crate) standards: StandardsFrom,
}

#[derive(Debug, Args)]
pub(crate) struct StandardsShow {
    /// Id, as `fulgurite standards list` prints it
    #[arg(value_name = "ID")]
    pub(crate) id: String,
    /// Print clause, source and status under each value
    #[arg(long)]
    pub(crate) sources: bool,
    /// Print the data as one TOML text that stands by itself
    #[arg(long)]
    pub(crate) toml: bool,
    #[command(flatten)]
    pub(crate) standards: StandardsFrom,
}

/// What to do with a mapping file.
#[derive(Debug, Subcommand)]
pub(crate) enum MappingCommand {
    /// Write a mapping from what a log shows, with the reason beside each line; what only the laboratory can
    /// know is left open in it
    Draft(MappingDraft),
    /// Show row by row what a mapping makes of a log: what is read, and what is refused and why
    Check(MappingCheck),
}

#[derive(Debug, Args)]
pub(crate) struct MappingDraft {
    /// Log to look at
    #[arg(value_name = "LOG")]
    pub(crate) log: PathBuf,
    /// File to write; standard output where none is named
    #[arg(long, value_name = "FILE")]
    pub(crate) out: Option<PathBuf>,
    /// Overwrite a file that exists and differs
    #[arg(long)]
    pub(crate) replace: bool,
    /// Reader for the log, where two recognise it
    #[arg(long, value_name = "READER")]
    pub(crate) from: Option<String>,
}

#[derive(Debug, Args)]
pub(crate) struct MappingCheck {
    /// Mapping file
    #[arg(value_name = "MAPPING")]
    pub(crate) mapping: PathBuf,
    /// Log to read with it
    #[arg(value_name = "LOG")]
    pub(crate) log: PathBuf,
    /// So many rows are shown, and beyond them every row that is refused; `all` shows every row
    #[arg(long, default_value = "40", value_name = "N|all", value_parser = row_limit)]
    pub(crate) rows: usize,
}

/// A number of rows, or all of them.
fn row_limit(text: &str) -> Result<usize, String> {
    match text {
        "all" => Ok(usize::MAX),
        _ => text.parse().map_err(|_| "a number, or `all`".to_owned()),
    }
}

/// What to do with plug-ins outside the program.
#[derive(Debug, Subcommand)]
pub(crate) enum PluginCommand {
    /// List those named with --plugin, and those that are trusted; starts none
    List(PluginList),
    /// Show what a plug-in says of itself, its checksums, and whether it is trusted; does not start it
    Show(PluginFolder),
    /// Try a plug-in: its own fixtures, then rude inputs and a rude host. This runs the program: read it first
    Check(PluginCheck),
    /// Make the beginning of a plug-in: a reader that works, with a fixture
    New(PluginNew),
    /// Trust a plug-in as it stands: it may run with your rights from now on, until one of its files changes
    Trust(PluginFolder),
}

#[derive(Debug, Args)]
pub(crate) struct PluginList {
    /// Print JSON
    #[arg(long)]
    pub(crate) json: bool,
}

#[derive(Debug, Args)]
pub(crate) struct PluginCheck {
    /// Folder with the plug-in's plugin.toml
    #[arg(value_name = "DIR")]
    pub(crate) folder: PathBuf,
    /// Write down what its fixtures come to now, as what is expected from now on; read it then
    #[arg(long)]
    pub(crate) bless: bool,
}

#[derive(Debug, Args)]
pub(crate) struct PluginNew {
    /// Name of the format: letters in lower case, digits, hyphens
    #[arg(value_name = "NAME")]
    pub(crate) name: String,
    /// Language of the program
    #[arg(long, value_enum, value_name = "LANGUAGE")]
    pub(crate) language: PluginLanguage,
    /// Folder to make it in
    #[arg(long, value_name = "DIR")]
    pub(crate) out: PathBuf,
}

/// A language that `plugin new` has a beginning for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum PluginLanguage {
    /// Python 3, its own library alone
    Python,
    /// A POSIX shell with sed and awk
    Shell,
    /// Rust, the standard library alone; to be built first
    Rust,
}

#[derive(Debug, Args)]
pub(crate) struct PluginFolder {
    /// Folder with the plug-in's plugin.toml
    #[arg(value_name = "DIR")]
    pub(crate) folder: PathBuf,
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
    #[command(flatten)]
    pub(crate) making: Making,
    /// Overwrite outputs that exist and differ
    #[arg(long)]
    pub(crate) replace: bool,
    /// Packs of reports that the jobs amend: papers and pack then show what differs, for the job whose
    /// job.toml names the pack's identity (report.amends_pack)
    #[arg(long, value_name = "PACK")]
    pub(crate) older: Vec<PathBuf>,
    /// Verdicts that end in exit code 1, for scripts: fail, or fail,undetermined
    #[arg(long, value_delimiter = ',', value_enum, value_name = "VERDICTS")]
    pub(crate) fail_on: Vec<FailOn>,
    /// Below folders, take every file that lies in no job folder as a job by itself: logs without a job.toml
    #[arg(long)]
    pub(crate) loose: bool,
    /// Show which jobs there are and where each would go, with the rule; read and write nothing. A file
    /// .fulgurite-ignore in an input folder names, a pattern a line, what is passed over below it
    #[arg(long)]
    pub(crate) dry_run: bool,
    /// List the jobs with verdict, rows and outputs in a file: CSV if its name ends so, else JSON lines
    #[arg(long, value_name = "FILE")]
    pub(crate) summary: Option<PathBuf>,
    /// With several jobs: do all of them again, also those that an earlier run has done and that have not
    /// changed (the journal in OUT/.fulgurite says which); so it is with --register in any case
    #[arg(long)]
    pub(crate) afresh: bool,
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
pub(crate) struct Form {
    /// Job folder
    #[arg(value_name = "JOB")]
    pub(crate) job: PathBuf,
    /// File to write
    #[arg(long, value_name = "FILE", required_unless_present = "serve", conflicts_with = "serve")]
    pub(crate) out: Option<PathBuf>,
    /// Serve the form to a browser that can't keep a record itself (a tablet), and keep its journal in a file of the
    /// job folder: what the page shows as taken is on this PC's disk. On this machine only, unless --listen opens it
    #[arg(long)]
    pub(crate) serve: bool,
    /// Open the served form to the network at this address of this machine (0.0.0.0 for all), with a port or
    /// without. Plain HTTP, not encrypted: for a local network whose users you trust. The address then holds a token.
    /// It keeps out who can only reach the port; it does not keep out who can listen on the network, and whoever
    /// sees the address can read and write the record
    #[arg(long, value_name = "ADDRESS[:PORT]", requires = "serve")]
    pub(crate) listen: Option<String>,
    /// Where a served form keeps its journal; in the job folder where not given
    #[arg(long, value_name = "FILE", requires = "serve")]
    pub(crate) journal: Option<PathBuf>,
    /// Overwrite a file that exists and differs
    #[arg(long)]
    pub(crate) replace: bool,
    #[command(flatten)]
    pub(crate) standards: StandardsFrom,
}

#[derive(Debug, Args)]
pub(crate) struct Assess {
    /// Job folders, folders that hold job folders, single logs or records
    #[arg(required = true, value_name = "INPUT")]
    pub(crate) inputs: Vec<PathBuf>,
    /// Print the assessment as JSON, one object per job
    #[arg(long)]
    pub(crate) json: bool,
    /// Print what plan, records and report must hold: stated, missing, or not applicable and why
    #[arg(long)]
    pub(crate) completeness: bool,
    /// Reader for loose files, where two recognise them
    #[arg(long, value_name = "READER")]
    pub(crate) from: Option<String>,
    /// Mapping file for loose logs: which column is what, and how its values are read
    /// (`fulgurite mapping draft LOG` writes one)
    #[arg(long, value_name = "FILE")]
    pub(crate) mapping: Option<PathBuf>,
    /// Verdicts that end in exit code 1, for scripts: fail, or fail,undetermined
    #[arg(long, value_delimiter = ',', value_enum, value_name = "VERDICTS")]
    pub(crate) fail_on: Vec<FailOn>,
    #[command(flatten)]
    pub(crate) standards: StandardsFrom,
}

#[derive(Debug, Args)]
pub(crate) struct Plan {
    /// A job whose facts make the plan: folder, record or pack
    #[arg(value_name = "JOB", required_unless_present_any = ["standard", "owed"], conflicts_with = "owed")]
    pub(crate) job: Option<PathBuf>,
    /// Only what is still owed: the job that was tested
    #[arg(long, value_name = "RECORD", requires = "standard")]
    pub(crate) owed: Option<PathBuf>,
    /// Standard, by its id; with a job, in place of the job's own
    #[arg(long, value_name = "ID")]
    pub(crate) standard: Option<String>,
    /// Level of the standard, in place of the job's own
    #[arg(long, value_name = "LEVEL")]
    pub(crate) level: Option<String>,
    /// Accepted outcomes in the words of the standard, with --owed, in place of the record's
    #[arg(long, value_delimiter = ',', value_name = "WORDS")]
    pub(crate) accept: Vec<String>,
    /// Without a job: how many points get contact discharge
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub(crate) contact_points: u16,
    /// Without a job: how many points get air discharge
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub(crate) air_points: u16,
    /// Without a job: no discharges to coupling planes
    #[arg(long)]
    pub(crate) no_planes: bool,
    /// Without a job: the item's length, width and height in millimetres
    #[arg(long, value_name = "LxWxH")]
    pub(crate) size: Option<String>,
    /// Without a job: the item stands on the floor
    #[arg(long)]
    pub(crate) floor_standing: bool,
    /// Without a job: the item is not earthed
    #[arg(long)]
    pub(crate) unearthed: bool,
    /// Without a job: polarities
    #[arg(long, value_name = "WORD", default_value = "both", value_parser = ["both", "positive", "negative"])]
    pub(crate) polarity: String,
    /// Network as PF/OHM, where the standard leaves several to choose from
    #[arg(long, value_name = "PF/OHM")]
    pub(crate) network: Option<String>,
    /// Seconds of hand work, such as point=30 (tip, setting, point, plane, approach, charge, look)
    #[arg(long, value_name = "WHAT=SECONDS", value_delimiter = ',')]
    pub(crate) hand: Vec<String>,
    /// Print JSON
    #[arg(long, conflicts_with = "csv")]
    pub(crate) json: bool,
    /// Print CSV, one row for each series
    #[arg(long)]
    pub(crate) csv: bool,
    #[command(flatten)]
    pub(crate) standards: StandardsFrom,
}

#[derive(Debug, Args)]
pub(crate) struct Affected {
    /// Job folders, folders that hold job folders, records
    #[arg(required = true, value_name = "INPUT")]
    pub(crate) inputs: Vec<PathBuf>,
    /// Inventory name of the equipment
    #[arg(long, value_name = "ID")]
    pub(crate) equipment: String,
    /// First day on which it is in doubt, such as 2026-03-12
    #[arg(long, value_name = "DATE")]
    pub(crate) from: String,
    /// For a generator: how far its charge voltage was off, such as "low by 7 %"
    #[arg(long, value_name = "WORDS", allow_hyphen_values = true)]
    pub(crate) found: Option<String>,
    /// Print one JSON object a record
    #[arg(long)]
    pub(crate) json: bool,
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
    /// Standard whose limits are used; iec-61000-4-2-ed2 where neither this nor the job names one
    #[arg(long, value_name = "ID")]
    pub(crate) standard: Option<String>,
    /// Job folder whose verification states what is not said here: charge voltage, network, bandwidth, measuring
    /// chain, settings of the reader
    #[arg(long, value_name = "JOB")]
    pub(crate) job: Option<PathBuf>,
    /// Which verification of the job, for files that belong to none of them
    #[arg(long, value_name = "ID", requires = "job")]
    pub(crate) verification: Option<String>,
    /// Transfer impedance of the target, in volts for each ampere, for records in volts
    #[arg(long, value_name = "V/A", conflicts_with = "job")]
    pub(crate) transfer_v_per_a: Option<String>,
    /// Attenuation of one element behind the target, in decibels; once for each
    #[arg(long, value_name = "DB", requires = "transfer_v_per_a")]
    pub(crate) attenuation_db: Vec<String>,
    /// The same as a ratio of voltages
    #[arg(long, value_name = "RATIO", requires = "transfer_v_per_a")]
    pub(crate) attenuation_ratio: Vec<String>,
    /// Conversion of target, attenuator and cable together, for records in volts
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
pub(crate) struct Health {
    /// Job folders, or folders that hold job folders
    #[arg(required = true, value_name = "INPUT")]
    pub(crate) inputs: Vec<PathBuf>,
    /// Only this generator, by its inventory name
    #[arg(long, value_name = "ID")]
    pub(crate) equipment: Option<String>,
    /// Print one JSON object per figure
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
    /// How deep to look
    #[arg(long, value_enum, default_value_t = VerifyDepth::ReDerive, value_name = "DEPTH")]
    pub(crate) depth: VerifyDepth,
    /// The laboratory's list of signers, in the form that ssh-keygen reads; from another place than the pack
    #[arg(long, value_name = "FILE")]
    pub(crate) signers: Option<PathBuf>,
    /// Signatures that must be there, separated by commas
    #[arg(long, value_delimiter = ',', value_enum, requires = "signers", value_name = "ROLES")]
    pub(crate) signed_as: Vec<SignRole>,
    /// Day for which the signers' keys must be valid, instead of today
    #[arg(long, requires = "signers", value_name = "YYYY-MM-DD")]
    pub(crate) on: Option<String>,
    /// Certificates of time stamp authorities that you trust (PEM or DER; an authority's own, or one above it); from
    /// another place than the pack
    #[arg(long, value_name = "FILE")]
    pub(crate) tsa_cert: Option<PathBuf>,
    /// A time stamp (RFC 3161) that lies beside the pack; those inside are found
    #[arg(long, value_name = "FILE")]
    pub(crate) time_stamp: Vec<PathBuf>,
    /// Packs that this one amends or replaces, to follow the chain and to check the changes that it states. With
    /// --signers each of them must be signed by somebody in the list, too; the time that counts for their keys is
    /// the same. An older pack that was never signed fails then: leave out --signers to follow the chain alone
    #[arg(long, value_name = "PACK")]
    pub(crate) older: Vec<PathBuf>,
    /// Print the checks as JSON
    #[arg(long)]
    pub(crate) json: bool,
}

impl From<SignRole> for plugin_pack::SignedAs {
    fn from(role: SignRole) -> Self {
        match role {
            SignRole::Tested => Self::Tested,
            SignRole::Checked => Self::Checked,
            SignRole::Authorised => Self::Authorised,
        }
    }
}

/// How deep a verification looks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum VerifyDepth {
    /// Structure, names, numbers, and the checksums of the bag's own files
    Quick,
    /// Also the checksum of every file, and signatures
    Full,
    /// Also whether the verdict follows from the record, and the record and papers from the original files
    ReDerive,
}

/// As what somebody signs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum SignRole {
    /// Carried out the test
    Tested,
    /// Checked the results
    Checked,
    /// Authorised the report
    Authorised,
}

/// A signature says that its owner stands for the pack as it is: keep private keys off shared machines.
#[derive(Debug, Args)]
pub(crate) struct Sign {
    /// The pack
    #[arg(value_name = "PACK")]
    pub(crate) pack: PathBuf,
    /// Private key in OpenSSH's form, without a passphrase (Ed25519, or ECDSA P-256)
    #[arg(long, value_name = "FILE", required_unless_present_any = ["attach", "time_stamp"], conflicts_with = "attach")]
    pub(crate) key: Option<PathBuf>,
    /// A signature made elsewhere: `ssh-keygen -Y sign -n fulgurite-pack-ROLE` over tagmanifest-sha256.txt of the pack
    #[arg(long, value_name = "FILE")]
    pub(crate) attach: Option<PathBuf>,
    /// An authority's time stamp (RFC 3161) over tagmanifest-sha256.txt of the pack, to be put in
    #[arg(long, value_name = "FILE", conflicts_with_all = ["key", "attach", "role"])]
    pub(crate) time_stamp: Option<PathBuf>,
    /// As what
    #[arg(long, value_enum, value_name = "ROLE", required_unless_present = "time_stamp")]
    pub(crate) role: Option<SignRole>,
    /// Where the signed pack goes
    #[arg(long, value_name = "FILE", conflicts_with = "in_place")]
    pub(crate) out: Option<PathBuf>,
    /// Put the signed pack in the place of the other, whole or not at all
    #[arg(long)]
    pub(crate) in_place: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Compare {
    /// The earlier job folder, record or pack
    #[arg(value_name = "OLD")]
    pub(crate) old: PathBuf,
    /// The later one
    #[arg(value_name = "NEW")]
    pub(crate) new: PathBuf,
    /// Print the comparison as JSON
    #[arg(long)]
    pub(crate) json: bool,
    /// Write it as a page for any browser, too
    #[arg(long, value_name = "FILE")]
    pub(crate) html: Option<PathBuf>,
    /// Overwrite a page that exists
    #[arg(long, requires = "html")]
    pub(crate) replace: bool,
    /// Language of the page (`fulgurite template list` lists them)
    #[arg(long, default_value = "en", value_name = "LANG")]
    pub(crate) lang: String,
    #[command(flatten)]
    pub(crate) standards: StandardsFrom,
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
    /// List the templates that come with the program, and the languages they have words for
    List,
    /// Render every template in every language over an empty record and the jobs given
    Check(TemplateCheck),
    /// Make the PDF and the page of a job, and make them again whenever a file of the template changes
    Preview(TemplatePreview),
}

#[derive(Debug, Args)]
pub(crate) struct TemplatePreview {
    /// The job whose papers are made
    #[arg(value_name = "INPUT")]
    pub(crate) input: PathBuf,
    /// The template: a name, or a folder with a laboratory's own files
    #[arg(long, value_name = "NAME|DIR")]
    pub(crate) template: PathBuf,
    /// Language of the papers
    #[arg(long, value_name = "LANGUAGE", default_value = "en")]
    pub(crate) lang: String,
    /// Folder for the papers, which are replaced each time
    #[arg(long, value_name = "DIR")]
    pub(crate) out: PathBuf,
    /// Stop after making the papers this often, instead of waiting for Ctrl-C
    #[arg(long, value_name = "N")]
    pub(crate) times: Option<u32>,
}

#[derive(Debug, Args)]
pub(crate) struct TemplateCheck {
    /// Jobs to render
    #[arg(value_name = "INPUT")]
    pub(crate) inputs: Vec<PathBuf>,
    /// Check every template that comes with the program
    #[arg(long, required_unless_present = "template")]
    pub(crate) all: bool,
    /// One template: its name, or a folder with a laboratory's own files
    #[arg(long, value_name = "NAME|DIR")]
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
    #[arg(value_parser = clap::builder::PossibleValuesParser::new(crate::command::schema::NAMES), value_name = "NAME")]
    pub(crate) name: String,
}
