//! Findings that the engine raises about jobs, files and plug-ins.

use record::CodeDoc;

pub(crate) const BROKEN_JOB_FILE: &str = "job/broken-toml";
pub(crate) const BROKEN_MAPPING: &str = "job/broken-mapping";
pub(crate) const NO_FILE_MATCHES: &str = "job/no-file-matches";
pub(crate) const FILE_NAMED_TWICE: &str = "job/file-named-twice";
pub(crate) const UNREAD_FILE: &str = "job/file-not-named";
pub(crate) const UNKNOWN_READER: &str = "job/unknown-reader";
pub(crate) const NO_READER: &str = "job/no-reader";
pub(crate) const TWO_READERS: &str = "job/two-readers";
pub(crate) const CANT_READ: &str = "job/cant-read";
pub(crate) const ROWS_DO_NOT_BALANCE: &str = "job/rows-do-not-balance";
pub(crate) const UNKNOWN_STANDARD: &str = "job/unknown-standard";
pub(crate) const PLUGIN_BROKE: &str = "job/plugin-broke";
pub(crate) const OWN_STANDARD: &str = "job/standard-came-with-record";
pub(crate) const SAME_NAME: &str = "job/same-name";
pub(crate) const CERTIFICATE_DIFFERS: &str = "job/certificate-differs";
pub(crate) const NO_JOB_PATH: &str = "job/no-job-path";
pub(crate) const BROKEN_SETTINGS: &str = "settings/broken";
/// A key of a settings file that is no setting.
pub const UNKNOWN_SETTING: &str = "settings/unknown-key";
/// A value that a setting does not take.
pub const BAD_SETTING: &str = "settings/bad-value";
pub(crate) const FORM_DIFFERS: &str = "job/form-differs";
pub(crate) const STATED_TWICE: &str = "job/stated-twice";
pub(crate) const EARLIER_COPY: &str = "job/earlier-copy";
pub(crate) const FORMS_PARTED: &str = "job/forms-parted";
pub(crate) const LOG_HELD: &str = "job/log-held-against-forms";
pub(crate) const LOG_CONTRADICTS: &str = "job/log-contradicts-form";
pub(crate) const LOG_SHOWS_FEWER: &str = "job/log-shows-fewer";
pub(crate) const LOG_SHOWS_MORE: &str = "job/log-shows-more";
pub(crate) const LOG_ALONE: &str = "job/log-row-alone";
pub(crate) const LOG_SHORT: &str = "job/log-does-not-tell";
pub(crate) const NO_COMMON_CLOCK: &str = "job/no-common-clock";
pub(crate) const COUNTED_TWICE: &str = "job/counted-twice";
pub(crate) const AMENDED_BY_NUMBER: &str = "job/amended-by-number";
pub(crate) const AMENDED_NOT_AT_HAND: &str = "job/amended-not-at-hand";

/// Every code with its explanation.
pub const CODES: &[CodeDoc] = &[
    CodeDoc {
        code: CERTIFICATE_DIFFERS,
        means: "job.toml and a calibration certificate say different things of a piece of equipment.",
        matters: "A verdict rests on the calibration. The certificate is the document, so its value holds; both are shown.",
        example: "calibrated_on = 2025-11-20 in job.toml, and 2025-11-02 in the certificate",
        remedy: "Mend job.toml, or name the right certificate.",
    },
    CodeDoc {
        code: LOG_HELD,
        means: "The generator's own log was held against the filled forms: how many series agree, and how the two clocks were brought together.",
        matters: "Two records of one discharge that were made apart support each other. The form stays the record; rows that agree are named at their series.",
        example: "72 of 72 series agree; the generator's clock is 41 s ahead, estimated from 72 series",
        remedy: "Nothing; state clock_ahead_s where the estimate is wrong.",
    },
    CodeDoc {
        code: LOG_CONTRADICTS,
        means: "At the time of a series the generator's log has discharges with other settings than the form, and none with the form's.",
        matters: "What was applied is not known: the verdict is open until a named person rules on the row.",
        example: "the form says +8 kV, the log \u{2212}8 kV",
        remedy: "Find out which is right: mend the form by a correction, or rule on the log's row under [[rulings]].",
    },
    CodeDoc {
        code: LOG_SHOWS_FEWER,
        means: "The generator's log has fewer discharges of a series than the form, or none, though it reaches over that time.",
        matters: "The series may be short: the verdict is open until a named person rules on the form's row.",
        example: "ten in the form, seven in the log",
        remedy: "Repeat the series, correct its count, or rule on the row under [[rulings]].",
    },
    CodeDoc {
        code: LOG_SHOWS_MORE,
        means: "The generator's log has more discharges of a series than the form.",
        matters: "The item got more than the record says: it counts in favour of nothing, and may explain an effect.",
        example: "ten in the form, eleven in the log",
        remedy: "Ask whether the series was begun twice.",
    },
    CodeDoc {
        code: LOG_ALONE,
        means: "Rows of the generator's log belong to no series of the forms.",
        matters: "Discharges were made that the record of the test does not have.",
        example: "five discharges before the first series: a check of the spark",
        remedy: "Ask what they were for, and state it as a remark; a series that was forgotten is added in the form.",
    },
    CodeDoc {
        code: LOG_SHORT,
        means: "The generator's log can't support a series: it does not reach to that time, or air approaches without a spark left no row.",
        matters: "Nothing speaks against the form; nothing independent speaks for it.",
        example: "the generator keeps the last 500 discharges only",
        remedy: "Fetch the log before it is overwritten.",
    },
    CodeDoc {
        code: NO_COMMON_CLOCK,
        means: "The times of the generator's log and of the forms can't be brought together, or in more than one way.",
        matters: "Rows would be given to series by guess.",
        example: "a log of the day before; two series only",
        remedy: "Say by how many seconds the generator's clock is ahead: clock_ahead_s = 0 where both agree.",
    },
    CodeDoc {
        code: COUNTED_TWICE,
        means: "A log and a filled form of a job hold series with the same point and settings at the same time.",
        matters: "They count as two: a short series could look complete.",
        example: "the generator's own log under [[logs]], without beside = \"forms\"",
        remedy: "Say beside = \"forms\" in the [[logs]] entry, or take one of the two out.",
    },
    CodeDoc {
        code: BROKEN_SETTINGS,
        means: "A settings file is not valid TOML, or can't be read.",
        matters: "Half of the settings would make other outputs than those that were agreed.",
        example: "lang = de",
        remedy: "Mend the line, or move the file away; `fulgurite settings show` says where each setting comes from.",
    },
    CodeDoc {
        code: UNKNOWN_SETTING,
        means: "A key of a settings file is no setting.",
        matters: "A mistyped key would be without effect, and nobody would see it.",
        example: "language = \"de\" where the key is `lang`",
        remedy: "Correct the key; the message names the nearest one.",
    },
    CodeDoc {
        code: BAD_SETTING,
        means: "A setting has a value that its option does not take.",
        matters: "Another value would be used in its place.",
        example: "fail_on = \"bad\"",
        remedy: "Use what the message names.",
    },
    CodeDoc {
        code: NO_JOB_PATH,
        means: "A line that `filter` was given is not the path of a job.",
        matters: "Every line gets its own line of results: this one has nothing to convert.",
        example: "a blank line, or ../other/job",
        remedy: "Write one path a line, from the folder where `filter` runs or from the root, without `..`.",
    },
    CodeDoc {
        code: AMENDED_BY_NUMBER,
        means: "The report amends another one that is named by its number only, though its pack is at hand.",
        matters: "A number can be given twice; the identity of the pack says beyond doubt what is amended, and lets anyone follow the chain.",
        example: "amends = \"OPL-26-0117\" without amends_pack, and --older with the pack of that report",
        remedy: "Write the identity that the message shows into job.toml, under [report].",
    },
    CodeDoc {
        code: AMENDED_NOT_AT_HAND,
        means: "The report amends one whose pack was not given.",
        matters: "Papers and pack then hold the reason of the amendment, and not what differs in facts and results.",
        example: "amends_pack = \"9c1f...\" in job.toml, and no --older",
        remedy: "Name the pack's file with --older where it is at hand.",
    },
    CodeDoc {
        code: FORM_DIFFERS,
        means: "A fact of the job is not what it was when a filled form was made.",
        matters: "The work was done under the plan and facts that the form showed.",
        example: "a form made for 8 kV, and a job.toml that says 6 kV since",
        remedy: "See which of the two holds for the work that was done, and mend job.toml if it is not the job's.",
    },
    CodeDoc {
        code: STATED_TWICE,
        means: "Two files of a job state one fact differently.",
        matters: "One of them is wrong. What was seen at the bench holds over the job file; between two forms the first holds, and the verdict is open until a named person rules. Both are shown.",
        example: "network_pf = 150 in job.toml and 330 in the filled form",
        remedy: "Find out which is right and correct the other where it was written.",
    },
    CodeDoc {
        code: EARLIER_COPY,
        means: "A filled form is an earlier copy of another one that the job holds.",
        matters: "What stands in both counts once: only the later copy is used.",
        example: "a form saved at noon and again in the evening",
        remedy: "Nothing; or leave the earlier copy out.",
    },
    CodeDoc {
        code: FORMS_PARTED,
        means: "Two filled forms have the same beginning and went on separately.",
        matters: "Both were counted in: what was done on both devices stands in the record.",
        example: "a form loaded into a second tablet while the first one went on",
        remedy: "See that nothing was written down twice.",
    },
    CodeDoc {
        code: BROKEN_MAPPING,
        means: "A mapping file is not valid TOML, or no text in UTF-8.",
        matters: "It says which column is what: half of it would read a log as another one.",
        example: "a header's text without its closing quote",
        remedy: "Mend the line that the message names; `fulgurite mapping draft LOG` writes one to begin with.",
    },
    CodeDoc {
        code: BROKEN_JOB_FILE,
        means: "job.toml is not valid TOML.",
        matters: "Nothing can be taken from a file that can't be read with certainty.",
        example: "a string without its closing quote",
        remedy: "Mend the line that the message names.",
    },
    CodeDoc {
        code: NO_FILE_MATCHES,
        means: "A pattern under `files` matches no file of the job folder.",
        matters: "A log that is not read is a log that is lost: the job is refused.",
        example: "files = \"logs/contakt.csv\" when the file is logs/contact.csv",
        remedy: "Correct the pattern, or add the missing file.",
    },
    CodeDoc {
        code: FILE_NAMED_TWICE,
        means: "Two entries of job.toml claim the same file.",
        matters: "Its discharges would count twice.",
        example: "two [[logs]] entries whose patterns both match logs/air.csv",
        remedy: "Let each file belong to one entry.",
    },
    CodeDoc {
        code: UNREAD_FILE,
        means: "A file in the job folder is named by no entry of job.toml.",
        matters: "It may be a log that was forgotten.",
        example: "logs/air-2.csv beside a pattern that matches logs/air.csv only",
        remedy: "Name it under [[logs]], [[verifications]] or [[attachments]], or list it under `ignore`.",
    },
    CodeDoc {
        code: UNKNOWN_READER,
        means: "job.toml or --from names a reader that does not exist.",
        matters: "The file can't be read without it.",
        example: "reader = \"cvs\"",
        remedy: "Use one of the readers that the message lists; `fulgurite formats` explains them.",
    },
    CodeDoc {
        code: NO_READER,
        means: "No reader recognises the file.",
        matters: "The file can't be read.",
        example: "a photo under [[logs]]",
        remedy: "Name the reader (`reader = ...`), or list the file where it belongs.",
    },
    CodeDoc {
        code: TWO_READERS,
        means: "Two readers recognise the file.",
        matters: "Which one is right decides what the file says; nothing is guessed.",
        example: "a loose CSV file that could be a discharge log or a waveform",
        remedy: "Say which: `reader = ...` in job.toml, or --from on the command line.",
    },
    CodeDoc {
        code: CANT_READ,
        means: "The system refused to open or read the file.",
        matters: "What is in it is not known.",
        example: "no permission, a file that vanished",
        remedy: "Make the file readable and run again.",
    },
    CodeDoc {
        code: ROWS_DO_NOT_BALANCE,
        means: "A reader's account of a file's rows does not add up.",
        matters: "A row may have been lost; the file is refused. This is a fault of the plug-in.",
        example: "100 rows, of which 98 used, 1 set aside, none in preamble or footer",
        remedy: "Report it to whoever maintains the plug-in, with the file.",
    },
    CodeDoc {
        code: UNKNOWN_STANDARD,
        means: "The record names a standard whose data are not at hand.",
        matters: "Without them neither plan nor verdict can be worked out.",
        example: "method.standard = \"iec-61000-4-2-ed9\"",
        remedy: "Use an id that the message lists, or give the laboratory's own file with --standards.",
    },
    CodeDoc {
        code: PLUGIN_BROKE,
        means: "A plug-in stopped in the middle of its work.",
        matters: "Nothing it made can be trusted, so nothing is written for the job.",
        example: "a fault in the plug-in itself",
        remedy: "Report it to whoever maintains the plug-in, with the input.",
    },
    CodeDoc {
        code: OWN_STANDARD,
        means: "The data of the standard came with the record, in its pack, and are not those of this program.",
        matters: "The verdict rests on the data that the laboratory used then; here the same id means something else.",
        example: "converting a pack from before the data of the standard were amended",
        remedy: "Compare the two with `fulgurite verify`, and say in the report which were used.",
    },
    CodeDoc {
        code: SAME_NAME,
        means: "Two jobs of one run would write to the same place.",
        matters: "One would overwrite the other.",
        example: "jobs/lock-gate named twice in one run",
        remedy: "Name each job once. Jobs of one name in different folders are told apart by their paths.",
    },
];
